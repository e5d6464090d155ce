//! Positions of switches, protectors and contacts.

use petgraph::graph::EdgeIndex;

use super::{EdgeKind, Netlist};
use crate::document::State;

impl Netlist {
    /// For each edge, whether it is closed in a state, with every coil released.
    ///
    /// A key that names no element, or a position that the switch does not have, leaves the rest
    /// position.
    pub fn standing(&self, state: &State) -> Vec<bool> {
        let mut closed: Vec<bool> = self
            .graph
            .edge_weights()
            .map(|edge| match edge.kind {
                EdgeKind::Switch { made_at_rest, .. } => made_at_rest,
                EdgeKind::Contact { made_energised, .. } => !made_energised,
                _ => true,
            })
            .collect();
        for (key, &position) in &state.switches {
            for edge in self.edges_of_key(key) {
                if let EdgeKind::Switch { made_in, .. } = self.graph[edge].kind {
                    closed[edge.index()] = position < 64 && (made_in >> position) & 1 == 1;
                }
            }
        }
        for key in &state.pulled {
            for edge in self.edges_of_key(key) {
                if matches!(self.graph[edge].kind, EdgeKind::Protector { .. }) {
                    closed[edge.index()] = false;
                }
            }
        }
        closed
    }

    /// Sets every edge open or closed, one flag per edge.
    pub fn set_closed(&mut self, closed: &[bool]) {
        for (edge, closed) in self.graph.edge_weights_mut().zip(closed) {
            edge.closed = *closed;
        }
    }

    /// The edges of the element named by a state's key (`DEVICE/ELEMENT`).
    pub fn edges_of_key(&self, key: &str) -> impl Iterator<Item = EdgeIndex> + use<> {
        let (device, element) = key.split_once('/').unwrap_or((key, ""));
        self.element_edges(device, element)
    }
}
