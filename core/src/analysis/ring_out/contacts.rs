//! The lines of conductors that a contact or switch joins to ground, or to their neighbor, at rest: only with it
//! disconnected does a short of theirs show.

use petgraph::graph::NodeIndex;

use super::{
    faults::{conductors, row_of},
    line::{Expect, Line},
    sheet::Sheet,
    special::is_ground,
};
use crate::{
    document::{End, Role, Test},
    netlist::EdgeKind,
    order::Map,
};

impl Sheet<'_> {
    /// Each such conductor against all others, with the contacts that are closed at rest disconnected from it. P-leads
    /// have lines in each position of their switch instead.
    pub(super) fn joined_at_rest(&mut self) {
        let conductor = conductors(self.netlist, self.stays);
        let mut all: Map<usize, Vec<NodeIndex>> = Map::new();
        let mut grounded = vec![false; conductor.len()];
        for node in self.netlist.graph.node_indices() {
            all.or_default(conductor[node.index()]).push(node);
            grounded[self.group(node)] |= is_ground(self.netlist, node);
        }
        let mut lines = Vec::new();
        for nodes in all.values() {
            let is_skipped = |it: &NodeIndex| {
                is_ground(self.netlist, *it) || self.role(*it) == Some(Role::PLead)
            };
            let off = self.closed_at(nodes);
            if off.is_empty() || nodes.iter().any(is_skipped) {
                continue;
            }
            let points = nodes.iter().filter(|it| self.points[it.index()]);
            let ends: Vec<End> = points.map(|it| self.end(*it)).collect();
            let own = conductor[nodes[0].index()];
            let mut neighbors = ends.iter().flat_map(|end| row_of(self.document, end));
            let meets = neighbors.any(|end| {
                let node = self.netlist.end_node(&end);
                node.is_some_and(|it| {
                    self.group(it) == self.group(nodes[0]) && conductor[it.index()] != own
                })
            });
            let from = ends.iter().find(|end| !off.contains(end)).or(ends.first());
            if let (Some(from), true) = (from, meets || grounded[self.group(nodes[0])]) {
                lines.push(Line {
                    off,
                    ..Line::new(
                        Test::Isolation,
                        from.clone(),
                        End::Open,
                        Expect::Open {
                            through: Vec::new(),
                            ohm: None,
                        },
                    )
                });
            }
        }
        let is_new = |line: &Line| {
            let key = (line.test, &line.from, &line.to);
            let mut all = self.lines.iter();
            !all.any(|it| (it.test, &it.from, &it.to) == key && it.position.is_none())
        };
        lines.retain(is_new);
        self.lines.extend(lines);
    }

    fn role(&self, node: NodeIndex) -> Option<Role> {
        let End::Terminal(device, terminal) = self.end(node) else {
            return None;
        };
        let device = self.document.devices.get(&device)?;
        Some(device.terminal(&terminal)?.role)
    }

    /// The terminals of a conductor where a closed contact or a part that stays joined begins; none if no contact does.
    fn closed_at(&self, nodes: &[NodeIndex]) -> Vec<End> {
        let is_contact = |node: &NodeIndex| {
            let mut edges = self.netlist.edges_at(*node);
            edges.any(|edge| {
                let kind = &self.netlist.graph[edge].kind;
                self.stays[edge.index()]
                    && matches!(kind, EdgeKind::Switch { .. } | EdgeKind::Contact { .. })
            })
        };
        if !nodes.iter().any(is_contact) {
            return Vec::new();
        }
        let is_part = |node: &NodeIndex| {
            let mut edges = self.netlist.edges_at(*node);
            edges.any(|edge| self.joined.contains(&edge))
        };
        let off = nodes.iter().filter(|it| is_contact(it) || is_part(it));
        off.map(|it| self.end(*it)).collect()
    }
}
