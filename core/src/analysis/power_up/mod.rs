//! First power, one circuit at a time: what to close and set from rest, what a meter shows, what the supply
//! gives, what else is live, which motors run.
//!
//! A bench supply takes the place of the battery, every switch rests, every breaker and fuse is out and the
//! starter's cable is off. Limiters and in-line fuses stay in: nobody pulls those.

mod lines;
mod measure;

use measure::Bench;

use petgraph::graph::EdgeIndex;

use crate::{
    document::{Document, ElementKind, End, ProtectorStyle},
    ids::{DeviceId, ElementId, WireId},
    netlist::{EdgeKind, EdgeOf, Netlist, Point},
    solve::{Operator, Ways, states::BatteryStands},
};

/// How far volts may be from the computed ones before one stops, V (common practice, no source).
pub const OFF_V: f64 = 0.5;

/// Over the computed peak, the supply's limit leaves this share and [`SPARE_A`] (common practice, no source).
const SPARE_SHARE: f64 = 0.1;
/// See [`SPARE_SHARE`], A.
const SPARE_A: f64 = 0.1;

/// A load of this current with a supply of its own may crank an engine, A (reasoned: more than any unit that
/// a breaker of a light aircraft feeds).
const CRANKS_FROM_A: f64 = 50.0;

/// What is measured with the units unplugged.
#[derive(Clone, Debug, PartialEq)]
pub struct Pin {
    /// One lead of the meter.
    pub lead: End,
    /// The other.
    pub other: End,
    /// Between them, V.
    pub volts: f64,
}

/// One line: a breaker or fuse, and switches that must be moved from rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The breaker or fuse that this line is for.
    pub device: DeviceId,
    /// Its element.
    pub element: ElementId,
    /// Its protected side.
    pub load_side: End,
    /// Everything to close: itself, and what its supply comes through.
    pub close: Vec<(DeviceId, ElementId)>,
    /// Switches to move from rest: `DEVICE/ELEMENT` and position.
    pub positions: Vec<(String, usize)>,
    /// What is to be measured.
    pub pins: Vec<Pin>,
    /// Through the breaker with its units plugged in, A: continuous, and at most. None if a load has no
    /// figure.
    pub amps: [Option<f64>; 2],
    /// Where the supply is connected in place of the battery.
    pub supply_at: End,
    /// What the supply is set to, V.
    pub supply_v: f64,
    /// What the supply is limited to, A; none if a load has no figure.
    pub supply_limit_a: Option<f64>,
    /// What else is live, beyond [`PowerUp::live`] and what hangs on this breaker.
    pub live_too: Vec<End>,
    /// Motors that run, by the labels of their devices.
    pub runs: Vec<DeviceId>,
    /// True if a starter would turn, were its cable on.
    pub cranks: bool,
}

/// A terminal that is live with every breaker and fuse out.
#[derive(Clone, Debug, PartialEq)]
pub struct Live {
    /// The terminal.
    pub at: End,
    /// Its volts.
    pub volts: f64,
    /// True if it is live with every switch at rest too.
    pub always: bool,
}

/// The card.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PowerUp {
    /// Its lines, in the order of devices and elements; empty without a battery.
    pub steps: Vec<Step>,
    /// What is live with the master on and every breaker and fuse out.
    pub live: Vec<Live>,
    /// The switches that bring the master on, as in [`Step::positions`].
    pub master: Vec<(String, usize)>,
    /// Wires to lift, and the end at which: those of a starter.
    pub disconnect: Vec<(WireId, End)>,
    /// Batteries that stay disconnected while the supply is at another: their positive terminals.
    pub batteries: Vec<End>,
}

/// The card of a document.
pub fn power_up(document: &Document) -> PowerUp {
    let operator = Operator::new(document);
    let circuit = std::sync::Arc::clone(operator.circuit());
    let netlist = &circuit.netlist;
    let ways = circuit.ways();
    let all = protectors(document, netlist);
    let lifted = starter_cables(document, netlist, ways, &all);
    let mut bench = Bench::new(document, operator, &all, &lifted);
    let plans = lines::plans(netlist, ways, &all);
    let mut card = PowerUp {
        disconnect: (lifted.iter())
            .map(|(wire, end, _)| (wire.clone(), end.clone()))
            .collect(),
        ..PowerUp::default()
    };
    let Some(first) = plans.first() else {
        return card;
    };
    let master = lines::master(&plans);
    card.master = lines::moved(document, &master);
    card.live = bench.live(&card.master, first.source);
    for source in netlist.sources() {
        if matches!(netlist.graph[source].kind, EdgeKind::Battery { .. }) {
            card.batteries.push(end(netlist, netlist.ends(source).0));
        }
    }
    for plan in &plans {
        card.steps.push(bench.step(plan, &card.live));
    }
    card
}

/// A breaker or fuse of the document that a person can pull.
struct Pulled {
    device: DeviceId,
    element: ElementId,
    edge: EdgeIndex,
}

fn protectors(document: &Document, netlist: &Netlist) -> Vec<Pulled> {
    let mut all = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            if let ElementKind::Protector(it) = &element.is
                && it.style != ProtectorStyle::Limiter
                && let Some(edge) = netlist.element_edge(id, &element.id)
            {
                all.push(Pulled {
                    device: id.clone(),
                    element: element.id.clone(),
                    edge,
                });
            }
        }
    }
    all
}

/// The wires of every load that nothing on the card keeps still, to lift at the end away from it: so the
/// wire is dead. A wire that ends at a splice there is lifted at the load.
fn starter_cables(
    document: &Document,
    netlist: &Netlist,
    ways: &Ways,
    all: &[Pulled],
) -> Vec<(WireId, End, EdgeIndex)> {
    let mut lifted = Vec::new();
    for (load, figures) in netlist.loads() {
        let amps = [figures.continuous_a, figures.intermittent_a, figures.peak_a];
        let most_a = amps.into_iter().flatten().fold(0.0, f64::max);
        let (plus, _) = netlist.ends(load);
        let feeds = ways.feeds.of_node(netlist, plus);
        let is_pulled = |edge: &EdgeIndex| all.iter().any(|it| it.edge == *edge);
        let mut feeds = feeds.iter();
        if most_a < CRANKS_FROM_A || !feeds.any(|feed| !feed.protectors.iter().any(is_pulled)) {
            continue;
        }
        let own = end(netlist, plus);
        for (id, wire) in &document.wires {
            let far = match () {
                () if wire.from == own => &wire.to,
                () if wire.to == own => &wire.from,
                () => continue,
            };
            let lift = if matches!(far, End::Terminal(..)) {
                far
            } else {
                &own
            };
            if let Some(at) = netlist.wire(id) {
                lifted.push((id.clone(), lift.clone(), at.edge));
            }
        }
    }
    lifted
}

fn end(netlist: &Netlist, node: petgraph::graph::NodeIndex) -> End {
    match netlist.point(node) {
        Point::Terminal(device, terminal) => End::Terminal(device.clone(), terminal.clone()),
        Point::Structure(place) => End::Structure(place.clone()),
        _ => End::Open,
    }
}

/// The device of an element's edge.
fn device_of(netlist: &Netlist, edge: EdgeIndex) -> Option<&DeviceId> {
    match netlist.of(edge) {
        EdgeOf::Element(device, ..) => Some(device),
        _ => None,
    }
}

/// The supply in place of one battery, every other battery out.
fn supply(netlist: &Netlist, at: EdgeIndex) -> (f64, Vec<BatteryStands>) {
    let mut supply_v = 0.0;
    let stands = netlist.sources().filter_map(|edge| {
        let EdgeKind::Battery { emf_v, .. } = netlist.graph[edge].kind else {
            return None;
        };
        let emf_v = (emf_v * 10.0).round() / 10.0;
        if edge == at {
            supply_v = emf_v;
        }
        Some(BatteryStands {
            edge,
            emf_v,
            ohm: 0.0,
            empty: edge != at,
        })
    });
    let stands = stands.collect();
    (supply_v, stands)
}
