//! Which nodes the closed conductors of an operating point join.

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    unionfind::UnionFind,
    visit::EdgeRef,
};

use crate::netlist::{EdgeKind, Netlist};

/// Groups of nodes joined by closed conductors, contacts and bars; not through loads, resistors, coils, diodes or
/// sources.
pub(crate) struct Joined(Vec<usize>);

impl Joined {
    /// The groups with these edges closed, except the ones that failed open.
    pub(crate) fn new(netlist: &Netlist, closed: &[bool], failed: &[EdgeIndex]) -> Self {
        let mut sets = UnionFind::<usize>::new(netlist.graph.node_count());
        for edge in netlist.graph.edge_references() {
            let joins = !matches!(
                edge.weight().kind,
                EdgeKind::Load
                    | EdgeKind::Resistor { .. }
                    | EdgeKind::Coil { .. }
                    | EdgeKind::Diode { .. }
                    | EdgeKind::Battery { .. }
                    | EdgeKind::Alternator { .. }
            );
            if joins && closed[edge.id().index()] && !failed.contains(&edge.id()) {
                sets.union(edge.source().index(), edge.target().index());
            }
        }
        Self(sets.into_labeling())
    }

    /// True if two nodes are in one group.
    pub(crate) fn has(&self, a: NodeIndex, b: NodeIndex) -> bool {
        self.0[a.index()] == self.0[b.index()]
    }
}
