//! The way of least ohms through the copper.

use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{netlist::Netlist, solve::resistance::edge_ohm};

/// Conductor temperature on the bench, °C.
const BENCH_C: f64 = 20.0;

/// The least ohms from any of some nodes to every other.
pub(super) struct Least {
    /// By node: the ohms, infinite where there is no way.
    pub(super) ohm: Vec<f64>,
    by: Vec<Option<EdgeIndex>>,
    /// Nodes that have a way, to be forgotten before the next circuit.
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

    /// Finds the ways from these nodes, and forgets those before.
    pub(super) fn begin(&mut self, netlist: &Netlist, stays: &[bool], from: &[NodeIndex]) {
        for node in self.known.drain(..) {
            (self.ohm[node.index()], self.by[node.index()]) = (f64::INFINITY, None);
        }
        // Circuits are trees but for a few loops: taking a node up again when a shorter way is found
        // costs less than an ordered front.
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

    /// Where the way to a node begins, and its edges; none if there is no way, or the node begins it.
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
