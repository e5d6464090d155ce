//! A unit that hangs on a long branch of a CAN trunk.

use petgraph::graph::NodeIndex;

use crate::{
    netlist::{AtNode, EdgeKind, Through},
    order::Sorted,
    rules::{Conductor, prelude::*},
};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "can-stub",
    title: "Long branch on a CAN trunk",
    level: Level::Caution,
    why: "A branch reflects signals back into the trunk. With several, or in the cold, messages are lost: a servo \
          or a display drops out now and then, and the bench test shows nothing.",
    sources: &[cite(
        ISO_11898,
        "at 1 Mbit/s the trunk goes from unit to unit, with branches of a hand's length (300 mm) at most",
    )],
    reads: Reads::ALL,
    check,
};

/// Longest branch at the fastest rate, m.
const LONGEST_M: f64 = 0.3;

/// The rate it is published for, bit/s.
const FAST_BIT_PER_S: f64 = 1e6;

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let trunks = facts.conductors().iter();
    for trunk in trunks.filter(|it| it.with(Role::CanHigh).count() > 2) {
        judge(facts, out, trunk);
    }
}

fn judge(facts: &Facts<'_>, out: &mut Findings<'_, '_>, trunk: &Conductor<'_>) {
    let netlist = facts.netlist();
    let lines = Through::WIRES.and(Through::MATES);
    let units: Vec<_> = (trunk.with(Role::CanHigh))
        .filter_map(|(id, it)| Some((id, it, netlist.terminal(id, &it.id)?)))
        .collect();
    let Some((_, _, first)) = units.first() else {
        return;
    };
    let whole = netlist.reach([*first], lines, |_| AtNode::GoOn);
    let is_end = |node: &&NodeIndex| {
        let mut edges = netlist.edges_at(**node);
        edges.any(|edge| matches!(netlist.graph[edge].kind, EdgeKind::Resistor { .. }))
    };
    let ends: Vec<NodeIndex> = whole.nodes.iter().filter(is_end).copied().collect();
    // What the trunk is and what a branch, two terminators say; another rule says that they are missing.
    let [from, to] = ends[..] else {
        return;
    };
    let reach = netlist.reach([from], lines, |_| AtNode::GoOn);
    let path = reach.path(netlist, to).unwrap_or_default();
    let mut on_trunk: Sorted<NodeIndex> = path
        .iter()
        .flat_map(|edge| <[NodeIndex; 2]>::from(netlist.ends(*edge)))
        .collect();
    on_trunk.insert(from);
    let branches = netlist.reach(on_trunk.iter().copied(), lines, |_| AtNode::GoOn);
    for (id, pin, node) in units {
        let at = (id, &pin.id);
        let branch = branches.path(netlist, node).unwrap_or_default();
        let (length_m, missing) = netlist.length_m(branch.iter().copied());
        if length_m <= LONGEST_M {
            match missing {
                0 => out.clear(at),
                _ => out.not_checked(at, "the length of its branch of the CAN trunk is missing"),
            }
            continue;
        }
        if pin.bit_per_s.is_some_and(|it| it < FAST_BIT_PER_S) {
            out.not_checked(at, "no limit for a branch is published below 1 Mbit/s");
            continue;
        }
        out.finding(at)
            .says(format!(
                "{} hangs on a branch of {}, limit {} at 1 Mbit/s",
                facts.label(at),
                facts.document.project.length(length_m, 2),
                facts.document.project.length(LONGEST_M, 2)
            ))
            .limit(length_m, LONGEST_M, "m")
            .help("bring the trunk to the unit and on to the next one, two wires at its pins, instead of a branch")
            .also_each(netlist.wires_among(branch));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::testing::check_rule;

    const TRUNK: &str = "
        unit FD1 5:can_high
        inside FD1 resistor 5 G 120
        unit MD1 5:can_high
        unit AP1 2:can_high
        inside AP1 resistor 2 G 120
        splice SP1
        wire H1 FD1.5 SP1 22 0.4m
        wire H2 SP1 AP1.2 22 3m";

    #[test]
    fn finds_a_long_branch() {
        let text = format!("{TRUNK}\nwire H3 SP1 MD1.5 22 1.2m #! can-stub");
        let marked = text.replace("unit MD1 5:can_high", "unit MD1 5:can_high #! can-stub");
        let marked = marked.replace("22 1.2m #! can-stub", "22 1.2m");
        let verdict = check_rule(&RULE, &marked);
        assert_eq!(
            verdict.findings[0].message,
            "MD1 5 hangs on a branch of 1.20 m, limit 0.30 m at 1 Mbit/s"
        );
    }

    #[test]
    fn accepts_a_short_branch_and_a_trunk_from_unit_to_unit() {
        check_rule(&RULE, &format!("{TRUNK}\nwire H3 SP1 MD1.5 22 0.2m"));
        let through = TRUNK
            .replace("FD1.5 SP1", "FD1.5 MD1.5")
            .replace("SP1 AP1.2", "MD1.5 AP1.2");
        check_rule(&RULE, &through.replace("splice SP1", ""));
    }

    #[test]
    fn says_where_a_length_is_missing() {
        let text = format!("{TRUNK}\nwire H3 SP1 MD1.5 22");
        check_rule(
            &RULE,
            &text.replace("unit MD1 5:can_high", "unit MD1 5:can_high #? can-stub"),
        );
    }
}
