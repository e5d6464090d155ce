//! A switch or contact with both sides on one conductor: it opens nothing.

use petgraph::graph::EdgeIndex;

use crate::{
    ids::{DeviceId, ElementId},
    netlist::{Groups, Through},
    rules::prelude::*,
};

/// A switch or contact with both sides on one conductor.
pub const RULE: Rule = Rule {
    slug: "bypassed",
    title: "Switch or contact bypassed",
    level: Level::Fault,
    why: "With both sides on one conductor it cannot open the circuit. What it should switch off stays on: a \
          pump, a bus, the starter as soon as the battery is connected.",
    sources: &[
        cite(
            CFR_14_23,
            "23.1361(a), a master switch that disconnects the sources; 23.1367, switches",
        ),
        cite(
            COMMON_PRACTICE,
            "a ring-out with the switch off finds a bypass: the two sides must be open",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let metal = facts.netlist().groups(Through::METAL);
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let can_open = matches!(element.is, ElementKind::Switch(_) | ElementKind::Contact(_));
            if can_open {
                check_element(facts, out, (id, &element.id), &metal);
            }
        }
    }
}

fn check_element(
    facts: &Facts<'_>,
    out: &mut Findings<'_, '_>,
    at: (&DeviceId, &ElementId),
    metal: &Groups,
) {
    let netlist = facts.netlist();
    let ends = |edge: EdgeIndex| netlist.ends(edge);
    let edges = netlist.element_edges(at.0.as_str(), at.1.as_str());
    let bypassed: Vec<EdgeIndex> = edges
        .filter(|edge| {
            let (a, b) = ends(*edge);
            a != b && metal.same(a, b)
        })
        .collect();
    let Some(first) = bypassed.first() else {
        out.clear(at);
        return;
    };
    let (a, b) = ends(*first);
    let starts = facts.starters().iter().any(|starter| {
        let feeds = facts.starter_feeds(*starter);
        feeds
            .iter()
            .any(|feed| feed.path.iter().any(|it| bypassed.contains(it)))
            || metal.same(netlist.ends(*starter).0, a)
    });
    let mut report = out
        .finding(at)
        .says(format!(
            "{} opens nothing: {} and {} are on one conductor{}",
            facts.label(at),
            facts.node_label(a),
            facts.node_label(b),
            if starts { "; the starter's circuit stays closed" } else { "" }
        ))
        .help("move one of the wires to the other side; then ring it out with the switch in each position");
    if starts {
        report = report.level(Level::Hazard);
    }
    for node in [a, b] {
        if let Some(there) = facts.terminal_at(node) {
            report = report.also((there.id, &there.terminal.id));
        }
        report = report.also_wires(node);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{rules::Level, testing::check_rule};

    #[test]
    fn finds_both_wires_on_one_terminal_of_a_switch() {
        let verdict = check_rule(
            &RULE,
            "
            battery BT1
            bus MBUS CB1=5
            switch S1 1-2 #! bypassed
            load M2 3
            wire P1 BT1.+ MBUS.STUD 8 0.1m fuse=30
            wire Q1 MBUS.CB1 S1.1 20 1m
            wire Q2 S1.1 M2.+ 20 1m
            wire Q3 S1.2 S1.1 20 0.1m
            wire Q4 M2.- BT1.- 20 1m
            ",
        );
        assert_eq!(
            verdict.findings[0].message,
            "S1 opens nothing: S1 1 and S1 2 are on one conductor"
        );
    }

    #[test]
    fn finds_a_contact_that_a_wire_goes_around() {
        check_rule(
            &RULE,
            "
            battery BT1
            contactor K1 BAT BUS C1 C2 #! bypassed
            load LT1 3
            wire P1 BT1.+ K1.BAT 2 0.3m
            wire P2 K1.BUS LT1.+ 18 1m
            wire P3 BT1.+ LT1.+ 18 1m
            wire P4 LT1.- BT1.- 18 1m
            ",
        );
    }

    #[test]
    fn accepts_throws_that_are_linked_and_a_switch_that_opens() {
        check_rule(
            &RULE,
            "
            battery BT1
            throw S7 UP:2-1,5-4 OFF: DN:2-3,5-6
            load M3 3
            wire A S7.1 M3.+
            wire B S7.4 M3.-
            wire C S7.3 S7.4
            wire D S7.6 S7.1
            wire E BT1.+ S7.2 fuse=5
            wire F S7.5 BT1.-
            ",
        );
    }

    #[test]
    fn a_starter_contact_is_a_hazard() {
        let verdict = check_rule(
            &RULE,
            "
            battery BT1
            contactor K2 BAT STR C1 C2 #! bypassed
            load M1 - peak=200 sort=motor
            wire P1 BT1.+ K2.BAT 2 0.3m
            wire P2 K2.STR M1.+ 2 1m
            wire P3 K2.STR K2.BAT 2 0.1m
            wire P4 M1.- BT1.- 2 1m
            ",
        );
        assert_eq!(verdict.findings[0].level, Level::Hazard);
    }
}
