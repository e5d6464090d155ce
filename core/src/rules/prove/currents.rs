//! A fix leaves no protector and no wire with less than what they have to carry.

use std::sync::Arc;

use petgraph::graph::EdgeIndex;

use super::tried::{Side, Tried};
use crate::{
    document::{Device, ElementKind, LoadSort},
    edit::{Key, Record},
    ids::DeviceId,
    netlist::{
        AtNode, EdgeKind, EdgeOf,
        trace::{Feed, SUPPLY},
    },
    rules::Facts,
    solve::OperatingPoint,
    standards::free_air,
    units::Gauge,
};

/// Share of a rating by which a solved current may miss it.
const ROUNDING: f64 = 1e-6;

/// Multiple of its continuous current in free air that a wire withstands while a starter turns (our own choice: at
/// 2.25 times the heat, thirty seconds heat a thick wire to half of what its insulation withstands).
const STARTING: f64 = 1.5;

/// The lowest insulation rating with a current in free air, °C: a fix of a wire whose rating is not set must
/// hold even with this one.
const PLAIN_C: f64 = 105.0;

/// Every protector that the fix changes carries its full current in any phase, peaks, starter and alternator
/// included; and no other is overloaded more than before.
pub(super) fn protectors_carry(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let facts = &tried.after.facts;
    let netlist = facts.netlist();
    netlist.graph.edge_indices().find_map(|edge| {
        let rating_a = rating_a(facts, edge)?;
        let of = netlist.of(edge);
        let carries_a = match was_rated(tried, of) {
            Some(was_a) if was_a.to_bits() == rating_a.to_bits() => {
                let now_a = most_a(facts, edge);
                let before = edge_of(&tried.before.facts, of);
                let was_a = before.map_or(0.0, |edge| most_a(&tried.before.facts, edge));
                if now_a > was_a * (1.0 + ROUNDING) {
                    now_a
                } else {
                    0.0
                }
            }
            _ => must_carry_a(facts, edge),
        };
        (carries_a > rating_a * (1.0 + ROUNDING)).then(|| {
            format!(
                "{} would be {rating_a} A, and it has to carry up to {carries_a:.1} A",
                facts.label(Facts::subject_of(of))
            )
        })
    })
}

/// The rating of a breaker or fuse, A; none if it is not set, which the rules say by name before and after a fix.
fn rating_a(facts: &Facts<'_>, edge: EdgeIndex) -> Option<f64> {
    match facts.netlist().graph[edge].kind {
        EdgeKind::Protector { rating_a, .. } => rating_a,
        _ => None,
    }
}

/// The rating of the same protector before the fix, A.
fn was_rated(tried: &Tried<'_, '_, '_>, of: &EdgeOf) -> Option<f64> {
    rating_a(&tried.before.facts, edge_of(&tried.before.facts, of)?)
}

fn edge_of(facts: &Facts<'_>, of: &EdgeOf) -> Option<EdgeIndex> {
    let netlist = facts.netlist();
    let mut edges = netlist.graph.edge_indices();
    edges.find(|edge| netlist.of(*edge) == of)
}

/// The highest current in an edge in any phase, A.
fn most_a(facts: &Facts<'_>, edge: EdgeIndex) -> f64 {
    let amps = facts.judged().filter_map(|point| point.edge_amps(edge));
    amps.fold(0.0, |most, amps| most.max(amps.abs()))
}

/// The highest current that a protector must carry, A: in any phase, while any load downstream works, the highest
/// current of any of those loads, and the current of an alternator through it into an empty battery.
fn must_carry_a(facts: &Facts<'_>, protector: EdgeIndex) -> f64 {
    let netlist = facts.netlist();
    let mut most = most_a(facts, protector).max(charging_a(facts, protector));
    for (load, figures) in netlist.loads() {
        let feeds = facts.feeds().of_edge(netlist, load);
        if !feeds.iter().any(|feed| feed.path.contains(&protector)) {
            continue;
        }
        let from_battery =
            |it: &&Feed| matches!(netlist.graph[it.source].kind, EdgeKind::Battery { .. });
        // Current on another path from a battery need not go through this one.
        if feeds
            .iter()
            .filter(from_battery)
            .all(|feed| feed.path.contains(&protector))
        {
            let stated = [figures.continuous_a, figures.intermittent_a, figures.peak_a];
            most = stated.into_iter().flatten().fold(most, f64::max);
        }
        if let Some(working) = while_working(facts, load) {
            let amps = working.judged().filter_map(|it| it.edge_amps(protector));
            most = amps.fold(most, |most, amps| most.max(amps.abs()));
        }
    }
    most
}

/// The point while a load works that no phase has on.
fn while_working(facts: &Facts<'_>, load: EdgeIndex) -> Option<Arc<OperatingPoint>> {
    let runs = facts.judged().any(|point| point.lost_to(load).is_some());
    (!runs).then(|| facts.while_working(load)).flatten()
}

/// The current that an alternator may send through a protector that is its only connection to a battery, A.
fn charging_a(facts: &Facts<'_>, protector: EdgeIndex) -> f64 {
    let netlist = facts.netlist();
    let charges = |alternator: EdgeIndex, without: Option<EdgeIndex>| {
        let reach = netlist.reach_by(
            [netlist.ends(alternator).0],
            |edge, forward| Some(edge) != without && SUPPLY.passes(&netlist.graph[edge], forward),
            |node| AtNode::stop_if(facts.returns().has(node)),
        );
        netlist.sources().any(|source| {
            matches!(netlist.graph[source].kind, EdgeKind::Battery { .. })
                && reach.has(netlist.ends(source).0)
        })
    };
    let limits = netlist.sources().filter_map(|source| {
        let EdgeKind::Alternator { limit_a, .. } = netlist.graph[source].kind else {
            return None;
        };
        (charges(source, None) && !charges(source, Some(protector))).then_some(limit_a)
    });
    limits.sum()
}

/// A wire that gets another size withstands its current while anything works that no phase has on: usually the
/// starter, whose circuit the rules for continuous currents ignore.
pub(super) fn wires_start(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let facts = &tried.after.facts;
    let netlist = facts.netlist();
    let mut working = None;
    tried.change.steps().iter().find_map(|(key, step)| {
        let (Key::Wire(id), Some(Record::Wire(now))) = (key, &step.after) else {
            return None;
        };
        if matches!(&step.before, Some(Record::Wire(was)) if was.gauge_awg == now.gauge_awg) {
            return None;
        }
        let edge = netlist.wire(id)?.edge;
        let rare = working.get_or_insert_with(|| {
            let loads = netlist.loads();
            loads
                .filter_map(|(load, _)| while_working(facts, load))
                .collect::<Vec<_>>()
        });
        let points = rare.iter().flat_map(|it| it.judged()).chain(facts.judged());
        let amps = points.filter_map(|point| point.edge_amps(edge));
        let amps = amps.fold(0.0, |most: f64, amps| most.max(amps.abs()));
        let insulation_c = facts.document.insulation_c(now);
        let bears_a = starting_a(insulation_c, now.gauge_awg?)?;
        (amps > bears_a).then(|| {
            let with = match insulation_c {
                Some(c) => format!("{c} °C insulation"),
                None => {
                    format!("{PLAIN_C} °C insulation, the lowest listed, as its rating is not set")
                }
            };
            format!(
                "{} carries up to {amps:.0} A for some seconds, too much for {} with {with}",
                facts.label(id),
                now.size()
            )
        })
    })
}

/// The current that a wire of this size withstands while a starter turns, A; none for a size without a figure.
pub(in crate::rules) fn starting_a(insulation_c: Option<f64>, size: Gauge) -> Option<f64> {
    let alone_a = free_air::amps_max(size, insulation_c.unwrap_or(PLAIN_C))?;
    Some(STARTING * alone_a)
}

/// A protector is not made larger for two devices that must not stop together.
pub(super) fn no_pair_on_one_protector(tried: &Tried<'_, '_, '_>) -> Option<String> {
    let facts = &tried.after.facts;
    let netlist = facts.netlist();
    netlist.graph.edge_indices().find_map(|edge| {
        let (now_a, was_a) = (rating_a(facts, edge)?, was_rated(tried, netlist.of(edge))?);
        if now_a <= was_a {
            return None;
        }
        let on_it = devices_on(tried.after, edge);
        let pair = on_it.iter().enumerate().find_map(|(at, one)| {
            let other = on_it[at + 1..].iter().find(|other| is_pair(*one, **other))?;
            Some([one.1, other.1])
        });
        let [one, other] = pair?;
        Some(format!(
            "it keeps {} and {} on {}, where one failure stops both: move one to a breaker of its own",
            one.tag,
            other.tag,
            facts.label(Facts::subject_of(netlist.of(edge)))
        ))
    })
}

/// Devices whose loads are downstream of a protector.
fn devices_on<'s>(side: &'s Side<'_>, protector: EdgeIndex) -> Vec<(&'s DeviceId, &'s Device)> {
    let netlist = side.facts.netlist();
    let mut all: Vec<(&DeviceId, &Device)> = Vec::new();
    for (load, _) in netlist.loads() {
        let EdgeOf::Element(id, ..) = netlist.of(load) else {
            continue;
        };
        let feeds = side.facts.feeds().of_edge(netlist, load);
        let hangs = feeds
            .iter()
            .any(|feed| feed.protectors.last() == Some(&protector));
        if let (true, Some(device)) = (hangs, side.facts.device(id))
            && all.iter().all(|(other, _)| *other != id)
        {
            all.push((id, device));
        }
    }
    all
}

/// True if two devices are said to be independent, are both critical, or are the same unit twice.
fn is_pair((a_id, a): (&DeviceId, &Device), (b_id, b): (&DeviceId, &Device)) -> bool {
    let is_lamp = |it: &Device| {
        let lamp = |kind: &ElementKind| matches!(kind, ElementKind::Load(load) if load.sort == LoadSort::Lamp);
        it.elements.iter().any(|element| lamp(&element.is))
    };
    let twins = !a.title.is_empty() && a.title == b.title && !is_lamp(a);
    a.independent_of.contains(b_id)
        || b.independent_of.contains(a_id)
        || (a.critical && b.critical)
        || twins
}
