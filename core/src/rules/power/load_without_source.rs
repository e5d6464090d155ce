//! A load or coil that no source can feed in any switch position.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    ids::{DeviceId, TerminalId},
    netlist::{AtNode, EdgeKind, Through},
    rules::prelude::*,
};

/// A load or coil that no source can feed in any switch position.
pub const RULE: Rule = Rule {
    slug: "load-without-source",
    title: "Load with no source",
    level: Level::Fault,
    why: "Nothing feeds it in any switch position: it never works. Mostly a wire on the way is missing or ends \
          at the wrong terminal.",
    sources: &[cite(
        COMMON_PRACTICE,
        "every load is followed back to its bus before the first power-up",
    )],
    reads: Reads::JOINS,
    check,
};

fn check(facts: &Facts<'_>, out: &mut Findings<'_, '_>) {
    let netlist = facts.netlist();
    // A drawing that has no source yet is unfinished, not wrong.
    if netlist.sources().next().is_none() {
        return;
    }
    for edge in netlist.graph.edge_indices() {
        let is_load = netlist.graph[edge].kind == EdgeKind::Load;
        if !is_load && !matches!(netlist.graph[edge].kind, EdgeKind::Coil { .. }) {
            continue;
        }
        let at = Facts::subject_of(netlist.of(edge));
        let (a, b) = netlist.ends(edge);
        let is_wired = |node: NodeIndex| !facts.touches_at(node).is_empty();
        if [a, b].into_iter().any(|node| facts.feeds().reach(node)) {
            out.clear(at);
            continue;
        }
        // Where nothing is wired at all, that is said of the device; a pin without its wire is said of the pin.
        let returns = facts.returns();
        let fed_side = match (returns.has(a), returns.has(b)) {
            (false, _) => a,
            (true, false) => b,
            (true, true) => continue,
        };
        if !is_wired(fed_side) {
            continue;
        }
        report(facts, out, edge, fed_side);
    }
}

fn report(facts: &Facts<'_>, out: &mut Findings<'_, '_>, load: EdgeIndex, fed_side: NodeIndex) {
    let netlist = facts.netlist();
    let at = Facts::subject_of(netlist.of(load));
    let back = Through::CLOSABLE
        .and(Through::DIODES_BACK)
        .and(Through::RESISTORS);
    let dead = netlist.reach([fed_side], back, |node| {
        AtNode::stop_if(facts.returns().has(node))
    });
    // Where the way back to a source ends: terminals without a wire.
    let open: Vec<(&DeviceId, &TerminalId)> = (dead.nodes.iter())
        .filter(|node| facts.touches_at(**node).is_empty())
        .filter_map(|node| facts.terminal_at(*node))
        .map(|it| (it.id, &it.terminal.id))
        .collect();
    let ends = match &open[..] {
        [] => String::new(),
        [one] => format!(
            "; the way back ends at {}, which has no wire",
            facts.label(*one)
        ),
        [first, ..] => format!(
            "; the way back ends at {} and other terminals without a wire",
            facts.label(*first)
        ),
    };
    let mut report = out
        .finding(at)
        .says(format!(
            "nothing feeds {} in any switch position{ends}",
            facts.label(at)
        ))
        .help("follow it back to its breaker: a wire is missing, or ends at the wrong terminal");
    for open in open {
        report = report.also(open);
    }
    for node in &dead.nodes {
        report = report.also_wires(*node);
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::{
        rules::{self, Facts},
        testing::{check_rule, document},
    };

    const LIGHT: &str = "
        battery BT1
        bus MBUS CB1=5
        ground GB1 T1 T2
        switch S5 1-2
        load LT1 1
        wire P BT1.+ MBUS.STUD
        wire N BT1.- GB1.T1
        wire B S5.2 LT1.+
        wire C LT1.- GB1.T2
    ";

    #[test]
    fn finds_a_light_whose_switch_has_no_feed() {
        let verdict = rules::run(&Facts::new(&document(LIGHT)), &[&RULE]);
        assert_eq!(
            verdict.findings[0].message,
            "nothing feeds LT1 in any switch position; the way back ends at S5 1, which has no wire"
        );
    }

    #[test]
    fn accepts_it_with_its_feed_and_a_drawing_without_a_source() {
        check_rule(&RULE, &format!("{LIGHT} wire A MBUS.CB1 S5.1"));
        let unfinished = document("switch S5 1-2\n load LT1 1\n wire B S5.2 LT1.+");
        assert_eq!(rules::run(&Facts::new(&unfinished), &[&RULE]).findings, []);
    }
}
