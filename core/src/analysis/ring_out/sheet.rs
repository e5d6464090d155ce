//! The sheet in the making: the circuits, and which point of each a lead goes to.

use crate::order::InOrder;
use petgraph::graph::{EdgeIndex, NodeIndex};

use super::line::Line;
use crate::{
    document::{BarUse, ConductorKind, Document, End},
    netlist::{EdgeKind, Netlist, Point},
    order::Map,
    solve::resistance::alloy_ohm_per_m,
};

/// A terminal that is joined inside its device to something that no drawing shows.
pub(super) struct Low {
    /// The terminal.
    pub(super) at: End,
    /// Its circuit with every switch at rest; none if that is a ground.
    pub(super) circuit: Option<usize>,
}

/// The sheet while its lines are found.
pub(super) struct Sheet<'d> {
    pub(super) document: &'d Document,
    pub(super) netlist: &'d Netlist,
    pub(super) stays: &'d [bool],
    pub(super) points: Vec<bool>,
    pub(super) first: Map<&'d End, (usize, bool)>,
    /// What is not metal and stays joined all the same.
    pub(super) joined: Vec<EdgeIndex>,
    /// The same by circuit.
    pub(super) joined_at: Map<usize, Vec<EdgeIndex>>,
    /// What reads low by its nature.
    pub(super) low: Vec<Low>,
    pub(super) group: &'d [usize],
    pub(super) lines: Vec<Line>,
}

impl Sheet<'_> {
    pub(super) fn end(&self, node: NodeIndex) -> End {
        match self.netlist.point(node) {
            Point::Terminal(device, terminal) => End::Terminal(device.clone(), terminal.clone()),
            Point::Splice(id) => End::Splice(id.clone()),
            Point::Structure(id) => End::Structure(id.clone()),
            Point::Shield(..) | Point::WireOpen(..) | Point::InFuse(_) => End::Open,
        }
    }

    pub(super) fn group(&self, node: NodeIndex) -> usize {
        self.group[node.index()]
    }

    /// 0 at a ground block or metal, 1 at a bus, 2 elsewhere: where the fixed lead goes.
    pub(super) fn rank(&self, node: NodeIndex) -> u8 {
        match (self.netlist.point(node), self.netlist.bar_at(node)) {
            (_, Some(BarUse::Ground)) => 0,
            (_, Some(BarUse::Bus)) => 1,
            _ => 2,
        }
    }

    /// The points of each circuit, circuits in the order of their first wires.
    pub(super) fn groups(&self) -> Vec<Vec<NodeIndex>> {
        let mut by_group: Map<usize, Vec<NodeIndex>> = Map::new();
        for node in self.netlist.graph.node_indices() {
            if self.points[node.index()] {
                by_group.or_default(self.group(node)).push(node);
            }
        }
        let mut groups: Vec<(usize, Vec<NodeIndex>)> = Vec::new();
        for nodes in by_group.values() {
            let mut nodes = nodes.clone();
            let place = |node: NodeIndex| {
                let first = self.first.get(&self.end(node)).copied();
                (self.rank(node), first.unwrap_or((usize::MAX, false)), node)
            };
            nodes.order_by_key(|node| place(*node));
            let order = nodes.iter().map(|node| place(*node).1.0).min();
            groups.push((order.unwrap_or(usize::MAX), nodes));
        }
        groups.order_by_key(|(order, _)| *order);
        groups.into_iter().map(|(_, nodes)| nodes).collect()
    }

    /// True if the ohms of an edge are known.
    pub(super) fn is_known(&self, edge: EdgeIndex) -> bool {
        let kind = &self.netlist.graph[edge].kind;
        match kind {
            EdgeKind::Wire {
                length_m,
                conductor,
                gauge,
                ..
            } => {
                length_m.is_some()
                    && gauge.is_some_and(|gauge| {
                        matches!(conductor, ConductorKind::Copper | ConductorKind::Coax)
                            || alloy_ohm_per_m(*conductor, gauge).is_some()
                    })
            }
            EdgeKind::Shield { length_m, .. } => length_m.is_some(),
            _ => true,
        }
    }
}
