//! A load that a switch turns off in its return, so that it stays live.

use crate::{netlist::EdgeKind, rules::prelude::*};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "switch-in-return",
    title: "Load switched in its return",
    level: Level::Caution,
    why: "The load and its wires stay live with the switch off. A wire that chafes to metal behind the load turns it on, \
          or keeps a warning from showing.",
    sources: &[cite(
        COMMON_PRACTICE,
        "a switch is in the supply of its load, not in its return; coils and electronic drivers excepted",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (id, device) in &facts.document.devices {
        for element in &device.elements {
            let ElementKind::Load(load) = &element.is else {
                continue;
            };
            let Some(edge) = netlist.element_edge(id, &element.id) else {
                continue;
            };
            let (plus, minus) = netlist.ends(edge);
            let feed = facts.feeds().of_node(netlist, plus).into_iter().next();
            let home = netlist.return_path(facts.returns(), minus);
            let (Some(feed), Some(home), false) = (feed, home, load.either_way) else {
                continue;
            };
            let switch = |path: &[petgraph::graph::EdgeIndex]| {
                let mut all = path.iter().copied();
                all.find(|it| is_switch(facts, *it))
            };
            match (switch(&feed.path), switch(&home)) {
                (None, Some(switch)) => {
                    let switch = Facts::subject_of(netlist.of(switch));
                    out.finding((id, &element.id))
                        .says(format!(
                            "{} is off only by {} in its return: it is always live",
                            facts.label((id, &element.id)),
                            facts.label(switch)
                        ))
                        .help("move the switch into its supply")
                        .also(switch);
                }
                _ => out.clear((id, &element.id)),
            }
        }
    }
}

/// True for a switch that a person works; not for the output of a controller.
fn is_switch(facts: &Facts<'_>, edge: petgraph::graph::EdgeIndex) -> bool {
    let netlist = facts.netlist();
    let crate::netlist::EdgeOf::Element(device, ..) = netlist.of(edge) else {
        return false;
    };
    matches!(netlist.graph[edge].kind, EdgeKind::Switch { .. })
        && facts
            .device(device)
            .is_some_and(|it| it.kind == DeviceKind::Switch)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    #[test]
    fn finds_a_lamp_switched_in_its_return() {
        check_rule(
            &RULE,
            "battery BT1
             breaker CB1 5
             load DS4 0.1 #! switch-in-return
             switch LS3 1-2
             wire A BT1.+ CB1.1 22 1m
             wire B CB1.2 DS4.+ 22 1m
             wire C DS4.- LS3.1 22 1m
             wire D LS3.2 BT1.- 22 1m",
        );
    }

    #[test]
    fn accepts_a_switch_in_the_supply() {
        check_rule(
            &RULE,
            "battery BT1
             breaker CB1 5
             load DS4 0.1
             switch LS3 1-2
             wire A BT1.+ CB1.1 22 1m
             wire B CB1.2 LS3.1 22 1m
             wire C LS3.2 DS4.+ 22 1m
             wire D DS4.- BT1.- 22 1m",
        );
    }
}
