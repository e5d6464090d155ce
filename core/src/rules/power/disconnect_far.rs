//! A battery whose contactor or master switch is not next to it.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    ids::WireId,
    netlist::{AtNode, EdgeKind, Reach, Through, trace::SUPPLY},
    rules::prelude::*,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "disconnect-far",
    title: "Battery is disconnected far away",
    level: Level::Caution,
    why: "The cable up to the contactor is live whatever the pilot switches, in a crash too, and no breaker protects \
          it.",
    sources: &[cite(
        CFR_14_27,
        "27.1361(a): the point of disconnection is adjacent to the source; how near is our own choice",
    )],
    reads: Reads::ALL,
    check,
};

/// Length of cable up to which a contactor counts as next to its battery, m (our own choice).
const NEXT_TO_M: f64 = 0.6;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for battery in netlist.batteries() {
        let at = Facts::subject_of(netlist.of(battery));
        let (plus, _) = netlist.ends(battery);
        let fixed = Through::METAL.and(Through::PROTECTORS);
        let reach = netlist.reach([plus], fixed, |node| {
            AtNode::stop_if(facts.returns().has(node))
        });
        let opens = |edge: &EdgeIndex| {
            let (a, b) = netlist.ends(*edge);
            reach.has(a) != reach.has(b)
                && matches!(
                    netlist.graph[*edge].kind,
                    EdgeKind::Switch { .. } | EdgeKind::Contact { .. }
                )
        };
        let mut edges = netlist.graph.edge_indices().filter(opens);
        let Some(main) = edges.find(|edge| disconnects_most(facts, &reach, *edge)) else {
            continue;
        };
        let (a, b) = netlist.ends(main);
        let near = if reach.has(a) { a } else { b };
        let path = reach.path(netlist, near).unwrap_or_default();
        let wires: Vec<&WireId> = netlist.wires_among(path).collect();
        let lengths = wires.iter().map(|id| {
            let length_m = facts
                .wire(id)
                .and_then(|it| facts.document.wire_length_m(it));
            length_m.ok_or(*id)
        });
        let length_m = match lengths.sum::<Result<f64, _>>() {
            Ok(length_m) => length_m,
            Err(wire) => {
                out.not_checked(
                    at,
                    format!("the length of {} is missing", facts.label(wire)),
                );
                continue;
            }
        };
        if length_m <= NEXT_TO_M {
            out.clear(at);
            continue;
        }
        let project = &facts.document.project;
        let switch = Facts::subject_of(netlist.of(main));
        out.finding(at)
            .says(format!(
                "{} is {} of cable away from {}, and all of it is live with the master off",
                facts.label(switch),
                project.length(length_m, 2),
                facts.label(at)
            ))
            .limit(length_m, NEXT_TO_M, "m")
            .help("mount the contactor next to the battery, or accept this with what protects the cable")
            .also(switch)
            .also_each(wires);
    }
}

/// True if half of all loads or more are behind a switch or contact.
fn disconnects_most(facts: &Facts<'_>, reach: &Reach, edge: EdgeIndex) -> bool {
    let netlist = facts.netlist();
    let (a, b) = netlist.ends(edge);
    let far = if reach.has(a) { b } else { a };
    let behind = netlist.reach_by(
        [far],
        |it, forward| it != edge && SUPPLY.passes(&netlist.graph[it], forward),
        |node| AtNode::stop_if(facts.returns().has(node) || reach.has(node)),
    );
    let supply = |node: &&NodeIndex| !facts.returns().has(**node);
    let behind = (behind.nodes.iter().filter(supply))
        .flat_map(|node| netlist.edges_at(*node))
        .filter(|it| netlist.graph[*it].kind == EdgeKind::Load)
        .count();
    let all = netlist.loads().count();
    all > 0 && 2 * behind >= all
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    fn aft(battery: &str, cable: &str) -> String {
        format!(
            "battery BT1 {battery}
             switch S1 1-2
             load LT1 5
             wire A BT1.+ S1.1 6 {cable}
             wire B S1.2 LT1.+ 6 3m
             wire N LT1.- BT1.- 6 1m
             state ON on=S1"
        )
    }

    #[test]
    fn finds_a_battery_in_the_tail_that_is_switched_on_the_panel() {
        let verdict = check_rule(&RULE, &aft("#! disconnect-far", "3m"));
        assert_eq!(
            verdict.findings[0].message,
            "S1 is 3.00 m of cable away from BT1, and all of it is live with the master off"
        );
    }

    #[test]
    fn accepts_one_next_to_it() {
        check_rule(&RULE, &aft("", "0.3m"));
    }

    #[test]
    fn does_not_check_without_the_length() {
        check_rule(&RULE, &aft("#? disconnect-far", ""));
    }
}
