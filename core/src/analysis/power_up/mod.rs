//! First power-up, one circuit at a time: what to close and switch, what a meter shows, the supply's settings, what
//! else is live, which motors run.
//!
//! A bench supply replaces the battery, every switch is at rest, every breaker and fuse is out and the starter's
//! cable is disconnected. Limiters and in-line fuses stay in, because nobody pulls those.

mod card;
mod lines;
mod measure;
mod pulled;

pub use self::card::{Live, Pin, PowerUp, Step};

use petgraph::graph::EdgeIndex;

use self::{
    card::end,
    measure::Bench,
    pulled::{Pulled, protectors},
};
use crate::{
    document::{Document, End},
    ids::WireId,
    netlist::Netlist,
    solve::{Simulator, Ways},
};

/// Allowed difference from a computed voltage before work stops, V (common practice, no source).
pub const OFF_V: f64 = 0.5;

/// Allowed difference from a computed current before work stops, as a share of it and at least [`OFF_A`] (common
/// practice, no source).
pub const OFF_SHARE: f64 = 0.2;
/// See [`OFF_SHARE`], A.
pub const OFF_A: f64 = 0.1;

/// True if a current differs too much from the one on the card.
pub fn is_off_a(read_a: f64, printed_a: f64) -> bool {
    (read_a - printed_a).abs() > OFF_A.max(OFF_SHARE * printed_a)
}

/// A load of this current with its own supply may crank an engine, A (reasoned: more than any unit that a breaker
/// of a light aircraft feeds).
const CRANKS_FROM_A: f64 = 50.0;

/// The card of a document.
pub fn power_up(document: &Document) -> PowerUp {
    let simulator = Simulator::new(document);
    let circuit = std::sync::Arc::clone(simulator.circuit());
    let netlist = &circuit.netlist;
    let ways = circuit.ways();
    let all = protectors(document, netlist);
    let lifted = starter_cables(document, netlist, ways, &all);
    let mut bench = Bench::new(document, simulator, &all, &lifted);
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
    for battery in netlist.batteries() {
        card.batteries.push(end(netlist, netlist.ends(battery).0));
    }
    for plan in &plans {
        let step = bench.step(plan, &card.live, &card.master);
        card.steps.extend(step);
    }
    card
}

/// The wires of every load that nothing on the card keeps from running, to disconnect at the end away from it, so
/// that the wire is dead. A wire that ends at a splice there is disconnected at the load.
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
