//! A coil with nothing across it for when it is switched off, or with a diode the wrong way round.

use std::cell::LazyCell;

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    netlist::{EdgeKind, Groups, Through},
    rules::prelude::*,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "coil-suppression",
    title: "Coil without a suppressor",
    level: Level::Caution,
    why: "A coil that is switched off drives hundreds of volts across the switch that opens it: the contact burns and \
          sticks one day, and the spike goes to everything on the bus.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a diode or another suppressor across each coil, its cathode at the supply",
    )],
    reads: Reads::ALL,
    check,
};

/// Voltage across a coil from which it counts as supplied, V (our own choice).
const SUPPLIED_V: f64 = 1.0;

/// A diode across a coil.
enum Across {
    Nothing,
    /// It, or a resistor, takes the spike.
    Suppressor,
    Reversed(EdgeIndex),
}

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    let metal = LazyCell::new(|| netlist.groups(Through::METAL));
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let ElementKind::Coil(coil) = &element.is else {
                continue;
            };
            let Some(edge) = netlist.element_edge(id, &element.id) else {
                continue;
            };
            let at = (id, &element.id);
            let label = facts.label(at);
            match across(facts, &metal, netlist.ends(edge)) {
                Across::Reversed(diode) => {
                    let diode = Facts::subject_of(netlist.of(diode));
                    out.finding(at)
                        .level(Level::Fault)
                        .says(format!(
                            "{} across {label} is the wrong way round: it shorts the supply when the coil is switched on",
                            facts.label(diode)
                        ))
                        .help("turn it: its cathode, the end with the band, at the supply")
                        .also(diode);
                }
                Across::Suppressor => out.clear(at),
                Across::Nothing => {
                    let missing = format!(
                        "whether {label} has a suppressor inside is not set, and none is drawn"
                    );
                    if let Some(report) = out.said(at, coil.suppressed, missing) {
                        report
                            .says(format!("nothing is across {label} that takes its spike"))
                            .help("fit a diode at the coil, its cathode at the supply, or take a coil with a suppressor inside");
                    }
                }
            }
        }
    }
}

/// What is across a coil: directly between the conductors of its two ends.
fn across(facts: &Facts<'_>, metal: &Groups, (a, b): (NodeIndex, NodeIndex)) -> Across {
    let netlist = facts.netlist();
    let supplied = facts.points().iter().find_map(|point| {
        let volts = point.node_volts(a)? - point.node_volts(b)?;
        (volts.abs() >= SUPPLIED_V).then_some(volts > 0.0)
    });
    let is_coil = |x, y| metal.same(x, a) && metal.same(y, b);
    for edge in netlist.graph.edge_indices() {
        let (x, y) = netlist.ends(edge);
        match &netlist.graph[edge].kind {
            EdgeKind::Resistor { .. } if is_coil(x, y) || is_coil(y, x) => {
                return Across::Suppressor;
            }
            EdgeKind::Diode { .. } if is_coil(x, y) || is_coil(y, x) => {
                // Its anode is at x.
                let anode_at_a = is_coil(x, y);
                return match supplied {
                    Some(a_is_supply) if a_is_supply == anode_at_a => Across::Reversed(edge),
                    _ => Across::Suppressor,
                };
            }
            _ => {}
        }
    }
    Across::Nothing
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn coil(contactor: &str, across: &str) -> String {
        format!(
            "battery BT1
             contactor K1 BAT LOAD C+ C- {contactor}
             switch S1 1-2
             diode D1
             wire A BT1.+ S1.1 20 1m fuse=5@from
             wire B S1.2 K1.C+ 20 1m
             wire N K1.C- BT1.- 20 1m
             {across}
             state ON on=S1"
        )
    }

    #[test]
    fn finds_a_bare_coil_and_a_diode_the_wrong_way_round() {
        let bare = coil("suppressed=no #! coil-suppression", "");
        check_rule(&RULE, &bare);
        let reversed = coil(
            "suppressed=yes #! coil-suppression",
            "wire C K1.C+ D1.A 20 0.1m
             wire D K1.C- D1.K 20 0.1m",
        );
        let verdict = check_rule(&RULE, &reversed);
        assert!(verdict.findings[0].message.contains("wrong way round"));
    }

    #[test]
    fn accepts_one_with_a_suppressor_inside_or_drawn() {
        check_rule(&RULE, &coil("suppressed=yes", ""));
        let drawn = coil(
            "",
            "wire C K1.C+ D1.K 20 0.1m
             wire D K1.C- D1.A 20 0.1m",
        );
        check_rule(&RULE, &drawn);
    }

    #[test]
    fn does_not_check_while_nobody_said() {
        check_rule(&RULE, &coil("#? coil-suppression", ""));
    }
}
