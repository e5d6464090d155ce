//! Which findings follow from another: the cause comes first, and what it brings comes under it.
//!
//! A battery that is reversed or a bus that nothing feeds shows at every load behind it. Each of these findings is
//! true and stays in the list; but whoever mends the cause has mended them too. Nothing is put under a cause that is
//! less serious than itself.

use petgraph::graph::NodeIndex;
use rustc_hash::{FxHashMap, FxHashSet};

use super::{Facts, Finding, power, signal};
use crate::{
    document::ElementKind,
    ids::{DeviceId, ElementId},
    netlist::{AtNode, EdgeKind, EdgeOf, Through},
};

/// What a cause brings.
enum Brings {
    /// Everything that is computed from volts and amps.
    Solved,
    /// What is computed for these records.
    At(FxHashSet<String>),
}

/// Rules of which a finding can follow from volts and amps that are not as they were meant.
const EFFECTS: &[&str] = &[
    power::load_cannot_run::RULE.slug,
    power::load_without_source::RULE.slug,
    power::drop_over_limit::RULE.slug,
    power::wire_over_rating::RULE.slug,
    power::supply_cannot_carry::RULE.slug,
    power::protector_under_load::RULE.slug,
    power::alternator_gives_nothing::RULE.slug,
    power::overloaded_alternator::RULE.slug,
    power::slow_recharge::RULE.slug,
    power::short_endurance::RULE.slug,
    power::bus_without_source::RULE.slug,
    power::short_too_weak::RULE.slug,
    power::switch_over_rating::RULE.slug,
    power::contact_over_rating::RULE.slug,
    power::diode_heat::RULE.slug,
    power::reversed_polarity::RULE.slug,
    signal::motor_one_way::RULE.slug,
];

/// Puts each finding that follows from another directly after it. The findings are in order, worst first.
pub(super) fn fold(facts: &Facts<'_>, findings: &mut Vec<Finding>) {
    let causes: Vec<(usize, Brings)> = (findings.iter().enumerate())
        .filter(|(_, it)| it.accepted.is_none())
        .filter_map(|(at, it)| Some((at, brings(facts, it)?)))
        .collect();
    if causes.is_empty() {
        return;
    }
    let mut cause_of: FxHashMap<usize, usize> = FxHashMap::default();
    for wide in [true, false] {
        for (cause, brings) in &causes {
            if matches!(brings, Brings::Solved) != wide || cause_of.contains_key(cause) {
                continue;
            }
            for (at, finding) in findings.iter().enumerate() {
                let follows = at != *cause
                    && finding.accepted.is_none()
                    && finding.level >= findings[*cause].level
                    && EFFECTS.contains(&finding.rule)
                    // A cause that has effects of its own takes them along only if it is put under nothing.
                    && !cause_of.contains_key(&at)
                    && !cause_of.values().any(|it| *it == at)
                    && match brings {
                        Brings::Solved => !is_source(facts, finding),
                        Brings::At(records) => records.contains(&finding.at[0].key()),
                    };
                if follows {
                    cause_of.insert(at, *cause);
                }
            }
        }
    }
    put_under(findings, &cause_of);
}

/// Brings findings behind their causes.
fn put_under(findings: &mut Vec<Finding>, cause_of: &FxHashMap<usize, usize>) {
    let mut order: Vec<usize> = (0..findings.len()).collect();
    // A cause is before what follows from it: both sort by the place of the cause.
    order.sort_by_key(|at| {
        let cause = cause_of.get(at);
        (cause.copied().unwrap_or(*at), cause.is_some(), *at)
    });
    let mut place = vec![0; findings.len()];
    for (now, was) in order.iter().enumerate() {
        place[*was] = now;
    }
    let mut moved: Vec<Option<Finding>> = std::mem::take(findings).into_iter().map(Some).collect();
    for was in order {
        let Some(mut finding) = moved[was].take() else {
            continue;
        };
        finding.follows = cause_of.get(&was).map(|cause| place[*cause]);
        findings.push(finding);
    }
}

/// What a finding brings, if it is a cause.
fn brings(facts: &Facts<'_>, finding: &Finding) -> Option<Brings> {
    let slug = finding.rule;
    if slug == power::supply_to_return::RULE.slug
        || (slug == power::reversed_polarity::RULE.slug && is_source(facts, finding))
    {
        return Some(Brings::Solved);
    }
    let is_region = [
        power::bus_without_source::RULE.slug,
        power::load_without_source::RULE.slug,
        power::no_return::RULE.slug,
        power::load_cannot_run::RULE.slug,
        power::reversed_polarity::RULE.slug,
    ];
    if !is_region.contains(&slug) {
        return None;
    }
    let first = &finding.at[0];
    let mut records = FxHashSet::from_iter([first.key()]);
    let (id, element) = split(&first.id);
    let device = facts.device(&id)?;
    match first.kind {
        "device" => {
            for element in &device.elements {
                records.insert(format!("element:{id}/{}", element.id));
                if let ElementKind::Bar(bar) = &element.is
                    && slug == power::bus_without_source::RULE.slug
                    && let Some(first) = bar.terminals.first()
                {
                    records.extend(behind(facts, facts.netlist().terminal(&id, first)));
                }
            }
        }
        "element" if slug == power::load_without_source::RULE.slug => {
            let edge = facts.netlist().element_edge(&id, &element?)?;
            let (a, b) = facts.netlist().ends(edge);
            let fed_side = if facts.returns().has(a) { b } else { a };
            records.extend(behind(facts, Some(fed_side)));
        }
        "element" => {
            records.insert(format!("device:{id}"));
        }
        _ => {}
    }
    Some(Brings::At(records))
}

/// The two ids of a part of a device.
fn split(id: &str) -> (DeviceId, Option<ElementId>) {
    match id.split_once('/') {
        Some((device, element)) => (device.into(), Some(element.into())),
        None => (id.into(), None),
    }
}

/// True if a finding is about a battery or an alternator.
fn is_source(facts: &Facts<'_>, finding: &Finding) -> bool {
    let (id, element) = split(&finding.at[0].id);
    let Some(device) = facts.device(&id) else {
        return false;
    };
    let is_it =
        |it: &ElementKind| matches!(it, ElementKind::Battery(_) | ElementKind::Alternator(_));
    let mut elements = device.elements.iter();
    elements.any(|it| element.as_ref().is_none_or(|id| *id == it.id) && is_it(&it.is))
}

/// Loads, coils and buses that hang together with a node on the supply side.
fn behind(facts: &Facts<'_>, from: Option<NodeIndex>) -> Vec<String> {
    let netlist = facts.netlist();
    let through = Through::CLOSABLE
        .and(Through::DIODES)
        .and(Through::RESISTORS);
    let reach = netlist.reach(from, through, |node| {
        AtNode::stop_if(facts.returns().has(node))
    });
    let mut records = Vec::new();
    for node in &reach.nodes {
        if facts.returns().has(*node) {
            continue;
        }
        if let (Some(_), Some(at)) = (netlist.bar_at(*node), facts.terminal_at(*node)) {
            records.push(format!("device:{}", at.id));
        }
        for edge in netlist.edges_at(*node) {
            if let (EdgeKind::Load | EdgeKind::Coil { .. }, EdgeOf::Element(device, element, _)) =
                (&netlist.graph[edge].kind, netlist.of(edge))
            {
                records.push(format!("element:{device}/{element}"));
                records.push(format!("device:{device}"));
            }
        }
    }
    records
}

#[cfg(test)]
mod tests {
    use crate::{
        rules::{Verdict, check},
        testing::document,
    };

    const PLAIN: &str = "
        battery BT1
        bus MBUS CB1=5 CB2=5 CB3=5
        load LT1 2
        load LT2 2
        load LT3 2
        ground GB1 STUD T1 T2 T3
        wire B MBUS.CB1 LT1.+ 20 1m
        wire C MBUS.CB2 LT2.+ 20 1m
        wire D MBUS.CB3 LT3.+ 20 1m
        wire E LT1.- GB1.T1 20 1m
        wire F LT2.- GB1.T2 20 1m
        wire G LT3.- GB1.T3 20 1m
        wire H GB1.STUD BT1.- 8 0.2m";

    fn verdict(more: &str) -> Verdict {
        check(&document(&format!("{PLAIN}\n{more}")))
    }

    #[test]
    fn what_hangs_on_a_dead_bus_follows_from_it() {
        let verdict = verdict("wire A open MBUS.STUD 8 0.2m\nstate FLY");
        let bus = verdict
            .findings
            .iter()
            .position(|it| it.rule == "bus-without-source");
        let bus = bus.expect("it is dead");
        let loads = (verdict.findings.iter()).filter(|it| it.rule == "load-without-source");
        let loads: Vec<_> = loads.map(|it| it.follows).collect();
        assert_eq!(loads, [Some(bus); 3]);
        assert_eq!(verdict.counts.following, 3);
        let after = &verdict.findings[bus + 1..bus + 4];
        assert!(after.iter().all(|it| it.follows == Some(bus)));
    }

    #[test]
    fn loads_behind_one_gap_follow_from_the_first() {
        let verdict = verdict(
            "wire A BT1.+ MBUS.STUD 8 0.2m\nswitch S9 1-2\nload LT4 1\nload LT5 1\n\
             wire X S9.2 LT4.+ 20 1m\nwire Y S9.2 LT5.+ 20 1m\nwire Z S9.1 open 20 1m\n\
             wire N LT4.- BT1.- 20 1m\nwire M LT5.- BT1.- 20 1m\nstate FLY",
        );
        let loads = (verdict.findings.iter()).filter(|it| it.rule == "load-without-source");
        let following: Vec<bool> = loads.map(|it| it.follows.is_some()).collect();
        assert_eq!(following, [false, true]);
    }

    #[test]
    fn nothing_follows_in_a_sound_aircraft() {
        let verdict = verdict("wire A BT1.+ MBUS.STUD 8 0.2m\nstate FLY");
        assert_eq!(verdict.counts.following, 0);
        assert!(verdict.findings.iter().all(|it| it.follows.is_none()));
    }
}
