//! An alternator that nothing in the cockpit can take off line.

use petgraph::graph::NodeIndex;

use crate::{
    netlist::{AtNode, EdgeKind, Reach, trace::SUPPLY},
    rules::prelude::*,
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "alternator-always-on",
    title: "Alternator cannot be taken off line",
    level: Level::Fault,
    why: "A regulator that fails can raise the bus far above what radios and displays bear. If no switch or breaker \
          opens the field, only stopping the engine ends it.",
    sources: &[
        cite(
            CFR_14_23,
            "23.1351(c): a means to disconnect each generator",
        ),
        cite(
            COMMON_PRACTICE,
            "the field has a breaker and a switch in the cockpit",
        ),
    ],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    for (id, element, alternator, edge) in facts.alternators() {
        let at = (id, element);
        let Some(field) = &alternator.field else {
            let tag = facts.label(id);
            out.not_checked(
                at,
                format!("the record of {tag} does not say at which terminal it is switched off"),
            );
            continue;
        };
        let Some(field_node) = netlist.terminal(id, field) else {
            continue;
        };
        let output = netlist.ends(edge).0;
        let from_output = fixed(facts, [output]);
        let sources = netlist.sources().map(|it| netlist.ends(it).0);
        let stays_on = fixed(facts, sources).has(field_node);
        let mut reached = from_output.nodes.iter();
        if !stays_on || !reached.any(|node| is_supplied(facts, *node, output)) {
            out.clear(at);
            continue;
        }
        out.finding(at)
            .says(format!(
                "nothing takes {} off line: no switch or breaker is between its supply and {}, its field",
                facts.label(id),
                facts.label((id, field))
            ))
            .help("put a breaker and a switch that the pilot can reach in the lead of its field")
            .also((id, field))
            .also_wires(field_node);
    }
}

/// What nothing in the cockpit parts from these nodes: a fuse or a limiter is not opened in flight.
fn fixed(facts: &Facts<'_>, from: impl IntoIterator<Item = NodeIndex>) -> Reach {
    let netlist = facts.netlist();
    netlist.reach_by(
        from,
        |edge, forward| {
            let kind = &netlist.graph[edge].kind;
            let opens = matches!(kind, EdgeKind::Switch { .. } | EdgeKind::Contact { .. })
                || matches!(facts.element_of(edge), Some(ElementKind::Protector(it))
                    if it.style == ProtectorStyle::Breaker);
            !opens && SUPPLY.passes(&netlist.graph[edge], forward)
        },
        |node| AtNode::stop_if(facts.returns().has(node)),
    )
}

/// True at a power bus, or at the positive of another source.
fn is_supplied(facts: &Facts<'_>, node: NodeIndex, output: NodeIndex) -> bool {
    let netlist = facts.netlist();
    netlist.bar_at(node) == Some(BarUse::Bus)
        || netlist
            .sources()
            .any(|it| netlist.ends(it).0 == node && node != output)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const REST: &str = "
        battery BT1
        bus MBUS CB1=5 CB2=5
        wire A BT1.+ MBUS.STUD 6 1m
        wire B ALT1.B FL1.1 6 1m
        limiter FL1 60
        wire C FL1.2 MBUS.STUD 6 1m
        wire G ALT1.CASE BT1.- 6 1m";

    #[test]
    fn finds_a_field_on_the_bus_and_one_on_its_own_output() {
        for from in ["MBUS.STUD", "ALT1.B", "BT1.+"] {
            let text = format!(
                "alternator ALT1 60 field #! alternator-always-on\n{REST}\nwire F {from} ALT1.FLD 20 1m"
            );
            let verdict = check_rule(&RULE, &text);
            assert_eq!(
                verdict.findings[0].message,
                "nothing takes ALT1 off line: no switch or breaker is between its supply and ALT1 FLD, its field"
            );
        }
    }

    #[test]
    fn accepts_a_breaker_or_a_switch_in_its_field() {
        for (more, field) in [
            ("", "wire F MBUS.CB1 ALT1.FLD 20 1m"),
            (
                "switch S1 1-2",
                "wire E MBUS.STUD S1.1 20 1m\nwire F S1.2 ALT1.FLD 20 1m",
            ),
        ] {
            check_rule(
                &RULE,
                &format!("alternator ALT1 60 field\n{REST}\n{more}\n{field}"),
            );
        }
    }

    #[test]
    fn accepts_a_contact_in_its_output_and_says_where_no_field_is_known() {
        let through = REST.replace("FL1.2 MBUS.STUD", "FL1.2 S1.1");
        check_rule(
            &RULE,
            &format!(
                "alternator ALT1 60 field\n{through}\nswitch S1 1-2\nwire D S1.2 MBUS.STUD 6 1m\n\
                 wire F ALT1.B ALT1.FLD 20 1m"
            ),
        );
        check_rule(
            &RULE,
            &format!("alternator ALT1 60 #? alternator-always-on\n{REST}"),
        );
    }
}
