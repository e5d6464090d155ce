//! The conductors of a document, and which one a wire or a node belongs to.

use petgraph::graph::NodeIndex;

use super::Facts;
use crate::{
    document::{End, Role},
    ids::{DeviceId, TerminalId, WireId},
    rules::conductor::{Conductor, Conductors},
};

impl<'d> Facts<'d> {
    /// What wires, mated pins and splices join end to end, in order of the first wire.
    pub fn conductors(&self) -> &[Conductor<'d>] {
        &self.conductors_by_node().0
    }

    /// The conductor that a wire belongs to.
    pub fn conductor_of(&self, wire: &WireId) -> Option<&Conductor<'d>> {
        self.conductor_at(self.wire_at(wire)?.ends[0])
    }

    /// The conductor that a node of the circuit belongs to.
    pub fn conductor_at(&self, node: NodeIndex) -> Option<&Conductor<'d>> {
        let (all, of) = self.conductors_by_node();
        Some(&all[of[node.index()]? as usize])
    }

    fn conductors_by_node(&self) -> &Conductors<'d> {
        self.conductors.get_or_init(|| self.find_conductors())
    }

    /// The first wire that ends at a terminal.
    pub fn first_wire_at(
        &self,
        (device, terminal): (&DeviceId, &TerminalId),
    ) -> Option<&'d WireId> {
        let end = End::Terminal(device.clone(), terminal.clone());
        self.wires_at(&end).map(|(wire, _)| wire).next()
    }

    /// Every conductor with at least one wire, in order of its first wire.
    fn find_conductors(&self) -> Conductors<'d> {
        let groups = self.netlist().end_to_end();
        // A group's number is that of its first node.
        let mut of: Vec<Option<u32>> = vec![None; self.netlist().graph.node_count()];
        let mut all: Vec<Conductor<'d>> = Vec::new();
        for (id, _, at) in self.wires() {
            let index = *of[groups.of(at.ends[0]) as usize].get_or_insert_with(|| {
                all.push(Conductor::default());
                (all.len() - 1) as u32
            });
            all[index as usize].wires.push(id);
        }
        for node in self.netlist().graph.node_indices() {
            of[node.index()] = of[groups.of(node) as usize];
        }
        for at in self.terminals() {
            let Some(index) = of[at.node.index()] else {
                continue;
            };
            let conductor = &mut all[index as usize];
            let list = match at.terminal.role {
                Role::Passive | Role::Spare => &mut conductor.passive,
                _ => &mut conductor.ends,
            };
            list.push((at.id, at.terminal));
        }
        (all, of)
    }
}
