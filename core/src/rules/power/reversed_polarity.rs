//! A load, battery or alternator wired backwards.

use crate::order::InOrder;
use petgraph::graph::NodeIndex;

use crate::{
    ids::{DeviceId, TerminalId},
    netlist::{EdgeKind, Groups, Netlist, Point, Through},
    rules::prelude::*,
};

/// A load, battery or alternator wired backwards.
pub const RULE: Rule = Rule {
    slug: "reversed-polarity",
    title: "Polarity reversed",
    level: Level::Fault,
    why: "Reversed polarity destroys most electronics the moment they are powered. A reversed battery or \
          alternator drives a current that only a breaker or fuse can stop, if there is one.",
    sources: &[cite(
        COMMON_PRACTICE,
        "plus to supply, minus to return, by the unit's pin table",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let metal = netlist.groups(Through::METAL);
    let grounds = grounds(netlist, &metal);
    let is_ground = |node: NodeIndex| grounds.binary_search(&metal.of(node)).is_ok();
    let mut source_is_reversed = false;
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let (plus, minus) = match &element.is {
                ElementKind::Battery(it) => (&it.plus, &it.minus),
                ElementKind::Alternator(it) => (&it.plus, &it.minus),
                _ => continue,
            };
            let ground = |terminal| netlist.terminal(id, terminal).is_some_and(is_ground);
            if ground(plus) && !ground(minus) {
                source_is_reversed = true;
                report(facts, out, id, plus, minus, "is on the ground side").level(Level::Hazard);
            } else {
                out.clear((id, &element.id));
            }
        }
    }
    if source_is_reversed {
        // Every load would look reversed then. One cause, one finding.
        return;
    }
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let ElementKind::Load(load) = &element.is else {
                continue;
            };
            let (Some(plus), Some(minus)) = (
                netlist.terminal(id, &load.plus),
                netlist.terminal(id, &load.minus),
            ) else {
                continue;
            };
            let backwards = facts.returns().has(plus)
                && !facts.returns().has(minus)
                && facts.feeds().reach(minus);
            if backwards && !load.either_way {
                let says = "is on the return side and its minus is fed";
                report(facts, out, id, &load.plus, &load.minus, says);
            } else if facts.feeds().reach(plus) || facts.feeds().reach(minus) {
                out.clear((id, &element.id));
            }
        }
    }
}

/// Groups that a ground block or structure belongs to, sorted.
fn grounds(netlist: &Netlist, metal: &Groups) -> Vec<u32> {
    let bars = netlist.graph.edge_indices().filter_map(|edge| {
        let is_ground = matches!(netlist.graph[edge].kind, EdgeKind::Bar(BarUse::Ground));
        is_ground.then(|| metal.of(netlist.ends(edge).0))
    });
    let structure = netlist
        .graph
        .node_indices()
        .filter(|&node| matches!(netlist.point(node), Point::Structure(_)))
        .map(|node| metal.of(node));
    let mut grounds: Vec<u32> = bars.chain(structure).collect();
    grounds.order();
    grounds.dedup();
    grounds
}

fn report<'o, 'd>(
    facts: &Facts<'_>,
    out: &'o mut Findings<'_, 'd>,
    id: &DeviceId,
    plus: &TerminalId,
    minus: &TerminalId,
    says: &str,
) -> crate::rules::Report<'o, 'd> {
    out.finding(id)
        .says(format!(
            "{} is wired backwards: {} {says}",
            facts.label(id),
            facts.label((id, plus))
        ))
        .also((id, plus))
        .also((id, minus))
        .help("swap the wires at plus and minus")
        .mend(
            format!("Swap the wires at {}", facts.label(id)),
            MendKind::Ask,
            facts.exchange_wires(id, plus, minus),
        )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const POWER: &str = "
        battery BT1
        ground GB1 STUD T1 T2
        bus MBUS CB1=5 CB2=5
        wire P1 BT1.- GB1.STUD 2 0.3m
        wire P2 BT1.+ MBUS.STUD 8 0.1m fuse=50
    ";

    #[test]
    fn finds_a_load_the_wrong_way_round() {
        let text = format!(
            "{POWER}
            load BA1 0.25 #! reversed-polarity
            wire W1 MBUS.CB1 BA1.- 22 1m
            wire W2 BA1.+ GB1.T1 22 1m
            "
        );
        let verdict = check_rule(&RULE, &text);
        assert_eq!(
            verdict.findings[0].message,
            "BA1 is wired backwards: BA1 + is on the return side and its minus is fed"
        );
        check_mend(&RULE, &text);
    }

    #[test]
    fn accepts_a_load_the_right_way_round_and_one_that_works_either_way() {
        check_rule(
            &RULE,
            &format!(
                "{POWER}
                load BA1 0.25
                load M3 7 either
                wire W1 MBUS.CB1 BA1.+
                wire W2 BA1.- GB1.T1
                wire W3 MBUS.CB2 M3.-
                wire W4 M3.+ GB1.T2
                "
            ),
        );
    }

    #[test]
    fn finds_a_battery_the_wrong_way_round_and_not_every_load_behind_it() {
        let verdict = check_rule(
            &RULE,
            "
            battery BT1 #! reversed-polarity
            ground GB1 STUD T1
            bus MBUS CB1=5
            load BA1 0.25
            wire P1 BT1.+ GB1.STUD
            wire P2 BT1.- MBUS.STUD
            wire W1 MBUS.CB1 BA1.+
            wire W2 BA1.- GB1.T1
            ",
        );
        assert_eq!(
            verdict.findings[0].message,
            "BT1 is wired backwards: BT1 + is on the ground side"
        );
    }
}
