//! A power bus that nothing feeds.

use crate::{
    netlist::{
        Through,
        trace::{Feeds, SUPPLY},
    },
    rules::prelude::*,
};

/// A power bus that nothing feeds.
pub const RULE: Rule = Rule {
    slug: "bus-without-source",
    title: "Bus with no source",
    level: Level::Fault,
    why: "Everything on a bus that nothing feeds is dead. On the essential bus these are the things \
          that were meant to be left when the rest is gone.",
    sources: &[
        cite(
            CFR_14_23,
            "23.1351, general; 23.1357(b), essential circuits",
        ),
        cite(
            COMMON_PRACTICE,
            "a steering diode passes current from the main to the essential bus",
        ),
    ],
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let ElementKind::Bar(bar) = &element.is else {
                continue;
            };
            let wired = bar.terminals.iter().any(|terminal| {
                !facts
                    .touches(&End::Terminal(id.clone(), terminal.clone()))
                    .is_empty()
            });
            let node = bar
                .terminals
                .first()
                .and_then(|terminal| netlist.terminal(id, terminal));
            let (BarUse::Bus, true, Some(node)) = (bar.used_as, wired, node) else {
                continue;
            };
            if facts.returns().has(node) {
                // `supply-to-return` tells of a bus on the return side.
                continue;
            }
            if facts.feeds().reach(node) {
                out.clear(id);
                continue;
            }
            let backwards = Feeds::new(netlist, facts.returns(), SUPPLY.and(Through::DIODES_BACK));
            let diode = backwards
                .of_node(netlist, node)
                .into_iter()
                .find_map(|feed| {
                    feed.path.into_iter().find_map(|edge| {
                        let edge = &netlist.graph[edge];
                        matches!(edge.kind, crate::netlist::EdgeKind::Diode { .. })
                            .then_some(&edge.of)
                    })
                });
            let mut report = out.finding(id);
            match diode.map(Facts::spot_of) {
                Some(spot) => {
                    let label = facts.label(spot);
                    report = report
                        .says(format!(
                            "{} has no source: {label} stands against the current and nothing else \
                             feeds it",
                            device.tag
                        ))
                        .help(format!(
                            "turn {label} round: the band, its cathode, towards the bus"
                        ))
                        .also(spot);
                    if let crate::rules::Spot::Element(device, element) = spot {
                        report.mend(
                            format!("Turn {label} round"),
                            MendKind::Ask,
                            facts.turn_diode(device, element),
                        );
                    }
                }
                None => {
                    report
                        .says(format!(
                            "{} has no source, whatever way switches stand",
                            device.tag
                        ))
                        .help("wire it to a contactor, a limiter or a diode that a battery feeds");
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::{check_mend, check_rule};

    const TWO_BUSES: &str = "
        battery BT1
        bus MBUS CB1=5
        bus EBUS CB20=5 #! bus-without-source
        diode D1
        wire P1 BT1.+ MBUS.STUD 8 0.1m fuse=50
        wire P2 MBUS.STUD D1.K 12 0.25m fuse=20
        wire P3 D1.A EBUS.STUD 12 0.25m
    ";

    #[test]
    fn finds_a_bus_behind_a_diode_the_wrong_way_round() {
        let verdict = check_rule(&RULE, TWO_BUSES);
        assert_eq!(
            verdict.findings[0].message,
            "EBUS has no source: D1 stands against the current and nothing else feeds it"
        );
        check_mend(&RULE, TWO_BUSES);
    }

    #[test]
    fn finds_a_bus_that_nothing_leads_to() {
        check_rule(
            &RULE,
            "
            battery BT1
            bus MBUS CB1=5 #! bus-without-source
            load LT1 1
            wire W1 MBUS.STUD LT1.+
            ",
        );
    }

    #[test]
    fn accepts_the_diode_the_right_way_round() {
        let right = TWO_BUSES
            .replace("D1.K", "D1.X")
            .replace("D1.A", "D1.K")
            .replace("D1.X", "D1.A");
        check_rule(&RULE, &right.replace("#!", "#"));
    }
}
