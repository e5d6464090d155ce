//! A load whose current has no return path.

use crate::{
    netlist::{AtNode, Through},
    rules::prelude::*,
};

/// A load whose current has no return path.
pub const RULE: Rule = Rule {
    slug: "no-return",
    title: "Device with no return",
    level: Level::Fault,
    why: "Current must flow back to its source. Without a return the unit is dead, or its current returns \
          through a shield, a headset or a control cable, which is worse.",
    sources: &[
        cite(AC_43_13_1B, "par 11-185 and 11-186, grounds and returns"),
        cite(
            AC_43_13_1B,
            "par 11-186d: composite is not a return path; every device needs a return wire there",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

/// What return current can pass: anything that can be closed, diodes forward, resistors.
const HOME: Through = Through::CLOSABLE
    .and(Through::DIODES)
    .and(Through::RESISTORS);

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let (netlist, returns) = (facts.netlist(), facts.returns());
    // Traced from where returns meet, so each edge is passed against the current.
    let anchors = netlist
        .graph
        .node_indices()
        .filter(|node| returns.is_anchor(*node));
    let home = netlist.reach_by(
        anchors,
        |edge, forward| HOME.passes(&netlist.graph[edge], !forward),
        |_| AtNode::GoOn,
    );
    for (id, device) in &facts.document.devices {
        let wired = |terminal: &Terminal| {
            !facts
                .touches(&End::Terminal(id.clone(), terminal.id.clone()))
                .is_empty()
        };
        if !device.terminals.iter().any(wired) {
            // Nothing is wired yet: `unconnected-end` reports it.
            continue;
        }
        for element in &device.elements {
            let ElementKind::Load(load) = &element.is else {
                continue;
            };
            let reaches = |terminal| {
                netlist
                    .terminal(id, terminal)
                    .is_some_and(|node| home.has(node))
            };
            if reaches(&load.minus) || (load.either_way && reaches(&load.plus)) {
                out.clear((id, &element.id));
                continue;
            }
            let minus = facts.label((id, &load.minus));
            let end = End::Terminal(id.clone(), load.minus.clone());
            let tied = device.elements.iter().any(|element| {
                matches!(&element.is, ElementKind::StructureTie(tie) if tie.terminal == load.minus)
            });
            let why = match (facts.touches(&end).is_empty(), tied, device.place.as_ref()) {
                (_, true, Some(place)) if !facts.is_metal(Some(place)) => format!(
                    "it returns through its case, and {} is not metal",
                    facts.label(place)
                ),
                (_, true, None) => "it returns through its case, and its place is not set".into(),
                (true, ..) => format!("nothing is wired to {minus}"),
                _ => format!(
                    "{minus} has no path to a ground block, the airframe or a battery's negative"
                ),
            };
            let mut report = out
                .finding(id)
                .says(format!(
                    "{} has no return: {why}",
                    facts.label((id, &element.id))
                ))
                .also((id, &load.minus))
                .help("run a return wire to the ground block that its supply returns to");
            for (wire, _) in facts.wires_at(&end) {
                report = report.also(wire);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_a_missing_return_and_one_that_leads_nowhere() {
        let verdict = check_rule(
            &RULE,
            "
            place WING composite
            battery BT1
            ground GB1 T1 T2
            bus MBUS CB1=5 CB2=5 CB3=5
            load LT1 1 #! no-return
            load LT2 1 #! no-return
            load LT3 1 at=WING #! no-return
            inside LT3 tie -
            mated J201/P201 2
            wire W1 MBUS.CB1 LT1.+
            wire W2 MBUS.CB2 LT2.+
            wire W3 LT2.- J201.P201-2
            wire W4 MBUS.CB3 LT3.+
            wire P1 BT1.+ MBUS.STUD
            wire P2 BT1.- GB1.T1
            ",
        );
        let messages: Vec<&str> = verdict
            .findings
            .iter()
            .map(|it| it.message.as_str())
            .collect();
        assert_eq!(
            messages,
            [
                "LT1 has no return: nothing is wired to LT1 -",
                "LT2 has no return: LT2 - has no path to a ground block, the airframe or a battery's negative",
                "LT3 has no return: it returns through its case, and WING is not metal",
            ]
        );
    }

    #[test]
    fn accepts_returns_through_connectors_switches_cases_and_reversing_motors() {
        check_rule(
            &RULE,
            "
            place ENGINE metal
            battery BT1
            ground GB1 T1 T2 T3 tied at=ENGINE
            bus MBUS CB1=5 CB2=5 CB3=5
            load LT1 1
            load LT2 1
            load M1 - peak=150 sort=motor at=ENGINE
            inside M1 tie -
            load M3 7 either
            throw S7 UP:2-1,5-4 OFF: DN:2-4,5-1
            switch S1 1-2
            mated J201/P201 2
            wire W1 MBUS.CB1 LT1.+
            wire W2 LT1.- J201.P201-2
            wire W3 J201.J201-2 GB1.T2
            wire W4 MBUS.CB2 LT2.+
            wire W5 LT2.- S1.1
            wire W6 S1.2 GB1.T3
            wire W7 MBUS.CB3 S7.2
            wire W8 S7.1 M3.+
            wire W9 S7.4 M3.-
            wire W10 S7.5 GB1.T3
            wire W11 MBUS.STUD M1.+
            wire P1 BT1.+ MBUS.STUD
            wire P2 BT1.- GB1.T1
            ",
        );
    }
}
