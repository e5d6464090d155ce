//! First power, a circuit at a time: which breaker, which switches, what stands at which pin with the
//! units unplugged, and what the circuit draws once they are plugged in.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    Figures, LIVE_ABOVE_V, Operator, Overrides, failures::usual_state, states::load_amps,
    working::Ways,
};
use crate::{
    document::{Document, ElementKind, End, LoadUse, State},
    ids::{DeviceId, ElementId, StateId},
    netlist::{EdgeKind, EdgeOf, Netlist, Point, Reach},
};

/// What a voltmeter is taken to draw, A: more than it does, and less than any unit (assumed).
const METER_A: f64 = 0.001;

/// One circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The breaker or fuse that is put in.
    pub device: DeviceId,
    /// Its element.
    pub element: ElementId,
    /// Its protected side.
    pub load_side: End,
    /// Switches to set, `DEVICE/ELEMENT` and position; how the usual state has all others.
    pub switches: Vec<(String, usize)>,
    /// Breakers that are in as well, since its supply comes through them.
    pub with: Vec<(DeviceId, ElementId)>,
    /// What is to be measured with the units unplugged: where, and volts.
    pub pins: Vec<(End, f64)>,
    /// What it draws with the units plugged in, A: continuous, and at most.
    pub amps: [Option<f64>; 2],
    /// What is live although its own breaker is out.
    pub live_too: Vec<End>,
}

/// All circuits, in the order of devices and elements; empty without a source.
pub fn power_up(document: &Document) -> Vec<Step> {
    let mut operator = Operator::new(document);
    let circuit = std::sync::Arc::clone(operator.circuit());
    let netlist = &circuit.netlist;
    let Ways { returns, feeds } = circuit.ways();
    let base = usual_state(document)
        .map(|(_, state)| state.clone())
        .unwrap_or_default();
    let all = protectors(document, netlist);
    let loads: Vec<_> = netlist.loads().map(|(load, _)| load).collect();
    // By protector: what hangs on it.
    let downs: Vec<Reach> = (all.iter())
        .map(|(_, _, edge)| netlist.downstream(returns, *edge, netlist.ends(*edge).1))
        .collect();
    let mut steps = Vec::new();
    for (at, (device, element, edge)) in all.iter().enumerate() {
        let path = feeds
            .first_path(netlist, netlist.ends(*edge).0)
            .unwrap_or_default();
        let mut wanted: Vec<EdgeIndex> = path.clone();
        // A contact on the way is closed by its coil, which has a supply of its own.
        for edge in &path {
            if let EdgeKind::Contact {
                coil: Some(coil), ..
            } = netlist.graph[*edge].kind
            {
                let (a, b) = netlist.ends(coil);
                let ways = [a, b]
                    .into_iter()
                    .filter_map(|node| feeds.first_path(netlist, node));
                wanted.extend(ways.flatten());
            }
        }
        let (mut switches, mut with) = (Vec::new(), Vec::new());
        for edge in &wanted {
            if let Some((device, element, _)) = all.iter().find(|it| it.2 == *edge) {
                with.push((device.clone(), element.clone()));
            }
        }
        let down = &downs[at];
        for edge in down.edges.iter().chain(&wanted) {
            let EdgeKind::Switch { made_in, .. } = netlist.graph[*edge].kind else {
                continue;
            };
            let EdgeOf::Element(device, element, _) = netlist.of(*edge) else {
                continue;
            };
            let key = format!("{device}/{element}");
            let stands = base.switches.get(&*key).copied();
            let stands = stands.unwrap_or_else(|| rest(document, device, element));
            let is_made = stands < 64 && (made_in >> stands) & 1 == 1;
            if !is_made && made_in != 0 && !switches.iter().any(|(it, _)| *it == key) {
                switches.push((key, made_in.trailing_zeros() as usize));
            }
        }
        let mut state = State {
            alternators_on: false,
            pulled: Vec::new(),
            ..base.clone()
        };
        for (other_device, other, other_edge) in &all {
            let stays = other_edge == edge
                || with
                    .iter()
                    .any(|it| it.0 == *other_device && it.1 == *other);
            if !stays {
                state.pulled.push(format!("{other_device}/{other}"));
            }
        }
        state.switches.extend(switches.iter().cloned());
        let id = StateId::new("first power");
        let mine = |load: &EdgeIndex| {
            let (a, b) = netlist.ends(*load);
            down.has(a) || down.has(b)
        };
        // The meter is the only load: enough for a diode on the way to conduct.
        let metered = Overrides {
            loads: loads.iter().map(|load| (*load, LoadUse::Off)).collect(),
            amps: loads
                .iter()
                .filter(|it| mine(it))
                .map(|load| (*load, METER_A))
                .collect(),
            ..Overrides::default()
        };
        let point = operator.operate(&id, &state, Figures::Continuous, &metered);
        let volts = |node: NodeIndex| point.node_volts(node).filter(|it| it.abs() > LIVE_ABOVE_V);
        let mut pins: Vec<(End, f64)> = Vec::new();
        let mut live_too: Vec<End> = Vec::new();
        for load in takers(netlist) {
            // Of a motor that turns both ways, the lead that is live now.
            let (a, b) = netlist.ends(load);
            let mut live = [a, b].into_iter().filter(|it| !returns.has(*it));
            let Some((plus, volts)) = live.find_map(|it| Some((it, volts(it)?))) else {
                continue;
            };
            let end = end(netlist, plus);
            if down.has(plus) {
                if !pins.iter().any(|it| it.0 == end) {
                    pins.push((end, volts));
                }
                continue;
            }
            let fed_by_one_in = all.iter().zip(&downs).any(|((device, element, _), down)| {
                down.has(plus) && with.iter().any(|it| it.0 == *device && it.1 == *element)
            });
            if !fed_by_one_in && !live_too.contains(&end) {
                live_too.push(end);
            }
        }
        let load_side = netlist.ends(*edge).1;
        if pins.is_empty() {
            pins.extend(volts(load_side).map(|volts| (end(netlist, load_side), volts)));
        }
        // Most loads take the same all the time: one solution serves both figures.
        let figures = (loads.iter()).filter(|load| mine(load));
        let is_steady = figures.filter_map(|it| netlist.load(*it)).all(|load| {
            let amps = |used, figures| load_amps(load, used, figures);
            amps(LoadUse::Peak, Figures::Peak) == amps(LoadUse::Continuous, Figures::Continuous)
        });
        let mut drawn = |figures| {
            let used = match figures {
                Figures::Continuous => LoadUse::Continuous,
                Figures::Peak => LoadUse::Peak,
            };
            let uses = loads
                .iter()
                .map(|load| (*load, if mine(load) { used } else { LoadUse::Off }));
            let on = Overrides {
                loads: uses.collect(),
                ..Overrides::default()
            };
            let point = operator.operate(&id, &state, figures, &on);
            point.element_amps(device, element).map(f64::abs)
        };
        let continuous = drawn(Figures::Continuous);
        let amps = match is_steady {
            true => [continuous; 2],
            false => [continuous, drawn(Figures::Peak)],
        };
        steps.push(Step {
            device: device.clone(),
            element: element.clone(),
            load_side: end(netlist, load_side),
            switches,
            with,
            pins,
            amps,
            live_too,
        });
    }
    steps
}

fn end(netlist: &Netlist, node: NodeIndex) -> End {
    match netlist.point(node) {
        Point::Terminal(device, terminal) => End::Terminal(device.clone(), terminal.clone()),
        _ => End::Open,
    }
}

fn rest(document: &Document, device: &DeviceId, element: &ElementId) -> usize {
    let found = document
        .devices
        .get(device)
        .and_then(|it| it.element(element));
    match found.map(|it| &it.is) {
        Some(ElementKind::Switch(switch)) => switch.rest,
        _ => 0,
    }
}

/// Every protector of a device that is no limiter: those are never pulled.
fn protectors(document: &Document, netlist: &Netlist) -> Vec<(DeviceId, ElementId, EdgeIndex)> {
    let mut all = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            if let ElementKind::Protector(it) = &element.is
                && it.style != crate::document::ProtectorStyle::Limiter
                && let Some(edge) = netlist.element_edge(id, &element.id)
            {
                all.push((id.clone(), element.id.clone(), edge));
            }
        }
    }
    all
}

/// Loads and coils.
fn takers(netlist: &Netlist) -> impl Iterator<Item = EdgeIndex> {
    netlist.graph.edge_indices().filter(|edge| {
        matches!(
            netlist.graph[*edge].kind,
            EdgeKind::Load | EdgeKind::Coil { .. }
        )
    })
}
