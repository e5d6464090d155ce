//! A breaker of a critical device that protects something else too.

use petgraph::graph::EdgeIndex;

use crate::{
    ids::DeviceId,
    netlist::{EdgeKind, EdgeOf},
    order::{InOrder, Map},
    rules::{and_list, prelude::*},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "essential-with-others",
    title: "A critical device shares its breaker",
    level: Level::Caution,
    why: "A fault in the other device opens the breaker, and with it goes the one that you marked as critical.",
    sources: &[cite(
        CFR_14_23,
        "23.1357(b): the breaker or fuse of an essential circuit protects nothing else",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (protector, critical) in critical_by_protector(facts) {
        let at = Facts::subject_of(netlist.of(protector));
        let others = others(facts, protector);
        if others.is_empty() {
            out.clear(at);
            continue;
        }
        let names = |all: &[&DeviceId]| {
            let names: Vec<String> = all.iter().map(|it| facts.label(*it)).collect();
            and_list(&names)
        };
        out.finding(at)
            .says(format!(
                "{} is critical, and a fault in {} takes it too: both are on {}",
                names(&critical),
                names(&others),
                facts.label(at)
            ))
            .help("give each its own breaker, or accept that they share one")
            .also_each(critical.into_iter().chain(others));
    }
}

/// The protectors nearest to critical devices, each with those devices.
pub(super) fn critical_by_protector<'d>(facts: &Facts<'d>) -> Vec<(EdgeIndex, Vec<&'d DeviceId>)> {
    let netlist = facts.netlist();
    let mut by_protector: Map<EdgeIndex, Vec<&DeviceId>> = Map::new();
    for (edge, _) in netlist.loads() {
        let EdgeOf::Element(id, ..) = netlist.of(edge) else {
            continue;
        };
        let Some((id, _)) = facts
            .document
            .devices
            .get_key_value(id)
            .filter(|it| it.1.critical)
        else {
            continue;
        };
        for feed in facts.feeds().of_node(netlist, netlist.ends(edge).0) {
            if let Some(nearest) = feed.protectors.last() {
                by_protector.or_default(*nearest).push(id);
            }
        }
    }
    let sorted = |(protector, devices): (&EdgeIndex, &Vec<&'d DeviceId>)| {
        let mut devices = devices.clone();
        devices.order();
        devices.dedup();
        (*protector, devices)
    };
    by_protector.iter().map(sorted).collect()
}

/// Devices that are not critical and take power through this protector, with no other after it.
fn others<'d>(facts: &Facts<'d>, protector: EdgeIndex) -> Vec<&'d DeviceId> {
    let netlist = facts.netlist();
    let mut others: Vec<&DeviceId> = (facts.behind(protector).iter())
        .flat_map(|node| netlist.edges_at(*node))
        .filter(|edge| netlist.graph[*edge].kind == EdgeKind::Load)
        .filter_map(|edge| match netlist.of(edge) {
            EdgeOf::Element(id, ..) => facts.document.devices.get_key_value(id),
            _ => None,
        })
        .filter(|(_, device)| !device.critical)
        .map(|(id, _)| id)
        .collect();
    others.order();
    others.dedup();
    others
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{self, Facts},
        testing::{check_rule, document},
    };

    const REST: &str = "
        battery BT1
        bus MBUS CB1=5 CB2=5
        load FAN1 1
        ground GB1 STUD T1 T2
        wire P BT1.+ MBUS.STUD 8 1m
        wire A MBUS.CB1 FD1.+ 20 1m
        wire N FD1.- GB1.T1 20 1m
        wire M FAN1.- GB1.T2 20 1m
        wire G GB1.STUD BT1.- 8 1m";

    #[test]
    fn finds_a_fan_on_the_breaker_of_a_critical_display() {
        for wire in ["wire B MBUS.CB1 FAN1.+ 20 1m", "wire B FD1.+ FAN1.+ 20 1m"] {
            let text = format!("load FD1 1 critical\n{REST}\n{wire}");
            let verdict = rules::run(&Facts::new(&document(&text)), &[&RULE]);
            assert_eq!(
                verdict.findings[0].message,
                "FD1 is critical, and a fault in FAN1 takes it too: both are on MBUS CB1"
            );
        }
    }

    #[test]
    fn accepts_a_breaker_of_its_own_and_what_nobody_marked() {
        check_rule(
            &RULE,
            &format!("load FD1 1 critical\n{REST}\nwire B MBUS.CB2 FAN1.+ 20 1m"),
        );
        let text = format!("load FD1 1\n{REST}\nwire B MBUS.CB1 FAN1.+ 20 1m");
        let verdict = rules::run(&Facts::new(&document(&text)), &[&RULE]);
        assert!(verdict.findings.is_empty());
    }
}
