//! The path of least ohms through the copper.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{netlist::Netlist, solve::resistance::edge_ohm};

/// Conductor temperature on the bench, °C.
pub(super) const BENCH_C: f64 = 20.0;

/// The least ohms from any of some nodes to every other.
pub(super) struct Least {
    /// By node: the ohms, infinite where there is no path.
    pub(super) ohm: Vec<f64>,
    by: Vec<Option<EdgeIndex>>,
    /// Nodes with a path, to reset before the next circuit.
    known: Vec<NodeIndex>,
}

impl Least {
    pub(super) fn over(netlist: &Netlist) -> Self {
        let count = netlist.graph.node_count();
        Self {
            ohm: vec![f64::INFINITY; count],
            by: vec![None; count],
            known: Vec::new(),
        }
    }

    /// Finds the paths from these nodes, and forgets those before.
    pub(super) fn begin(&mut self, netlist: &Netlist, stays: &[bool], from: &[NodeIndex]) {
        for node in self.known.drain(..) {
            (self.ohm[node.index()], self.by[node.index()]) = (f64::INFINITY, None);
        }
        // Circuits are trees except for a few loops: visiting a node again when a shorter path is found costs less
        // than an ordered queue.
        let mut front: std::collections::VecDeque<NodeIndex> = from.iter().copied().collect();
        for &node in from {
            self.ohm[node.index()] = 0.0;
            self.known.push(node);
        }
        while let Some(node) = front.pop_front() {
            for edge in netlist.edges_at(node) {
                if !stays[edge.index()] {
                    continue;
                }
                let next = netlist.other(edge, node);
                let ohm = edge_ohm(&netlist.graph[edge].kind, BENCH_C).unwrap_or(0.0);
                let sum = self.ohm[node.index()] + ohm;
                if sum < self.ohm[next.index()] {
                    self.ohm[next.index()] = sum;
                    self.by[next.index()] = Some(edge);
                    self.known.push(next);
                    front.push_back(next);
                }
            }
        }
    }

    /// The start of the path to a node, and its edges; none if there is no path, or the node is a start.
    pub(super) fn path(
        &self,
        netlist: &Netlist,
        to: NodeIndex,
    ) -> Option<(NodeIndex, Vec<EdgeIndex>)> {
        let mut path = Vec::new();
        let mut at = to;
        while let Some(edge) = self.by[at.index()] {
            path.push(edge);
            at = netlist.other(edge, at);
        }
        path.reverse();
        (!path.is_empty()).then_some((at, path))
    }
}
