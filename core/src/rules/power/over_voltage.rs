//! What an over-voltage module takes down: it shorts its own supply, so the breaker nearest upstream opens.

use petgraph::graph::EdgeIndex;

use crate::{
    document::Alternator,
    netlist::{AtNode, trace::SUPPLY},
    rules::{
        Facts,
        facts::{Module, Part},
    },
};

/// The breakers and fuses that open when a module trips: on each feed the nearest upstream.
pub(super) fn opened(facts: &Facts<'_>, module: &Module<'_>) -> Vec<EdgeIndex> {
    let feeds = facts.feeds().of_node(facts.netlist(), module.plus);
    let mut all: Vec<_> = feeds
        .iter()
        .filter_map(|it| it.protectors.last().copied())
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// True if the alternator's field has no supply left once the module has tripped.
pub(super) fn takes_down(
    facts: &Facts<'_>,
    module: &Module<'_>,
    (device, _, alternator, _): Part<'_, Alternator>,
) -> bool {
    let netlist = facts.netlist();
    let field = alternator.field.as_ref();
    let Some(field) = field.and_then(|it| netlist.terminal(device, it)) else {
        return false;
    };
    let cut = opened(facts, module);
    if cut.is_empty() || !facts.returns().has(module.minus) {
        return false;
    }
    let supply = |without: &[EdgeIndex]| {
        let sources = netlist.sources().map(|it| netlist.ends(it).0);
        netlist.reach_by(
            sources,
            |edge, forward| {
                !without.contains(&edge) && SUPPLY.passes(&netlist.graph[edge], forward)
            },
            |node| AtNode::stop_if(facts.returns().has(node)),
        )
    };
    supply(&[]).has(field) && !supply(&cut).has(field)
}
