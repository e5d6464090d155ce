//! Adds edges for the elements of a device.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    DeviceAt, EdgeKind, EdgeOf, Netlist, Point,
    assumed::{BOND_OHM, CHARGE_OHM, CONTACT_OHM, MATE_OHM, PROTECTOR_OHM, SWITCH_OHM},
};
use crate::{
    document::{BarUse, Closed, Device, ElementKind, Switch},
    ids::{DeviceId, ElementId, TerminalId},
};

/// A device whose elements are being added.
pub(super) struct Inside<'a> {
    pub(super) netlist: &'a mut Netlist,
    pub(super) id: &'a DeviceId,
    pub(super) at: DeviceAt,
    pub(super) structure: Option<NodeIndex>,
    /// Where to look first for the next terminal: most are named in list order.
    pub(super) next: usize,
}

/// The first match from `start` on, then from the beginning.
pub(super) fn find_from(
    start: usize,
    count: usize,
    is_it: impl Fn(usize) -> bool,
) -> Option<usize> {
    (start..count)
        .chain(0..start.min(count))
        .find(|at| is_it(*at))
}

impl Inside<'_> {
    /// The node of a terminal that an element names; created if the device does not list it.
    fn node(&mut self, terminal: &TerminalId) -> NodeIndex {
        let points = &self.netlist.points[self.at.nodes.clone()];
        let is_it = |point: &Point| matches!(point, Point::Terminal(_, id) if id == terminal);
        if let Some(at) = find_from(self.next, points.len(), |at| is_it(&points[at])) {
            self.next = at + 1;
            return NodeIndex::new(self.at.nodes.start + at);
        }
        let point = Point::Terminal(self.id.clone(), terminal.clone());
        let node = self.netlist.add_node(point);
        self.at.nodes.end = self.netlist.points.len();
        node
    }

    fn edge(
        &mut self,
        element: &ElementId,
        part: usize,
        ends: [&TerminalId; 2],
        kind: EdgeKind,
    ) -> EdgeIndex {
        let (a, b) = (self.node(ends[0]), self.node(ends[1]));
        let of = EdgeOf::Element(self.id.clone(), element.clone(), part);
        self.netlist.add_edge(a, b, of, kind)
    }

    fn tie(&mut self, element: &ElementId, terminal: &TerminalId, kind: EdgeKind) {
        let a = self.node(terminal);
        if let Some(structure) = self.structure {
            let of = EdgeOf::Element(self.id.clone(), element.clone(), 0);
            self.netlist.add_edge(a, structure, of, kind);
        }
    }

    pub(super) fn add(&mut self, id: &ElementId, is: &ElementKind) {
        match is {
            ElementKind::Load(e) => {
                let edge = self.edge(id, 0, [&e.plus, &e.minus], EdgeKind::Load);
                self.netlist.loads.push((edge, e.into()));
            }
            ElementKind::Battery(e) => {
                let charge_ohm = e.charge_ohm.unwrap_or(CHARGE_OHM);
                let kind = EdgeKind::Battery {
                    emf_v: e.emf_v,
                    ohm: e.ohm,
                    charge_ohm,
                };
                self.edge(id, 0, [&e.plus, &e.minus], kind);
            }
            ElementKind::Alternator(e) => {
                let field = e.field.as_ref().map(|terminal| self.node(terminal));
                let (set_v, ohm, limit_a) = (e.set_v, e.ohm, e.limit_a);
                let kind = EdgeKind::Alternator {
                    set_v,
                    ohm,
                    limit_a,
                    field,
                };
                self.edge(id, 0, [&e.plus, &e.minus], kind);
            }
            ElementKind::Protector(e) => {
                let ohm = e.ohm.unwrap_or(PROTECTOR_OHM);
                let kind = EdgeKind::Protector {
                    rating_a: e.rating_a,
                    ohm,
                };
                self.edge(id, 0, [&e.line, &e.load], kind);
            }
            ElementKind::Switch(e) => self.add_switch(id, e),
            ElementKind::Coil(e) => {
                let (pull_in_v, drop_out_v) = (e.pull_in_v, e.drop_out_v);
                self.edge(
                    id,
                    0,
                    [&e.a, &e.b],
                    EdgeKind::Coil {
                        ohm: e.ohm,
                        pull_in_v,
                        drop_out_v,
                    },
                );
            }
            ElementKind::Contact(e) => {
                let made_energised = e.closed == Closed::Energised;
                let ohm = e.ohm.unwrap_or(CONTACT_OHM);
                let kind = EdgeKind::Contact {
                    coil: None,
                    made_energised,
                    ohm,
                };
                self.edge(id, 0, [&e.a, &e.b], kind);
            }
            ElementKind::Diode(e) => {
                let kind = EdgeKind::Diode {
                    vf_v: e.vf_v,
                    ohm: e.ohm,
                };
                self.edge(id, 0, [&e.anode, &e.cathode], kind);
            }
            ElementKind::Bar(e) => self.add_bar(id, &e.terminals, e.used_as),
            ElementKind::Shunt(e) => {
                self.edge(id, 0, [&e.a, &e.b], EdgeKind::Shunt { ohm: e.ohm });
            }
            ElementKind::Resistor(e) => {
                self.edge(id, 0, [&e.a, &e.b], EdgeKind::Resistor { ohm: e.ohm });
            }
            ElementKind::Mate(e) => {
                let ohm = e.ohm.unwrap_or(MATE_OHM);
                self.edge(id, 0, [&e.a, &e.b], EdgeKind::Mate { ohm });
            }
            ElementKind::Jack(e) => {
                for terminal in [&e.tip, &e.ring].into_iter().flatten() {
                    self.node(terminal);
                }
                self.node(&e.sleeve);
                if e.isolated == Some(false) {
                    self.tie(id, &e.sleeve, EdgeKind::JackTie(e.used_for));
                }
            }
            ElementKind::StructureTie(e) => {
                let ohm = e.ohm.unwrap_or(BOND_OHM);
                self.tie(id, &e.terminal, EdgeKind::Tie { ohm });
            }
            // It carries nothing until it trips, and then nothing after its breaker.
            ElementKind::OverVoltage(e) => {
                self.node(&e.plus);
                self.node(&e.minus);
            }
        }
    }

    /// A star from the bar's first terminal.
    fn add_bar(&mut self, id: &ElementId, terminals: &[TerminalId], used_as: BarUse) {
        let Some((hub, rest)) = terminals.split_first() else {
            return;
        };
        for (part, terminal) in rest.iter().enumerate() {
            self.edge(id, part, [hub, terminal], EdgeKind::Bar(used_as));
        }
        for terminal in terminals {
            let node = self.node(terminal);
            self.netlist.set_bar(node, used_as);
        }
    }

    /// One edge for each pair of terminals that any position joins.
    fn add_switch(&mut self, id: &ElementId, switch: &Switch) {
        let mut paths: Vec<([&TerminalId; 2], u64, bool)> = Vec::new();
        for (position, made) in switch.positions.iter().enumerate() {
            for [a, b] in &made.joins {
                let same = |ends: &[&TerminalId; 2]| *ends == [a, b] || *ends == [b, a];
                let known = paths.iter().position(|(ends, ..)| same(ends));
                let at = known.unwrap_or(paths.len());
                if known.is_none() {
                    paths.push(([a, b], 0, false));
                }
                paths[at].1 |= if position < 64 { 1 << position } else { 0 };
                paths[at].2 |= position == switch.rest;
            }
        }
        let ohm = switch.ohm.unwrap_or(SWITCH_OHM);
        for (part, (ends, made_in, made_at_rest)) in paths.into_iter().enumerate() {
            self.edge(
                id,
                part,
                ends,
                EdgeKind::Switch {
                    made_in,
                    made_at_rest,
                    ohm,
                },
            );
        }
    }

    /// Gives each contact the edge of its coil.
    pub(super) fn resolve_coils(&mut self, device: &Device) {
        for element in &device.elements {
            let ElementKind::Contact(contact) = &element.is else {
                continue;
            };
            let edge = |wanted: &ElementId| {
                let elements = self.netlist.elements[self.at.elements.clone()].iter();
                let mut found = elements.filter(|(_, _, count)| *count > 0);
                found
                    .find(|(id, ..)| id == wanted)
                    .map(|(_, first, _)| EdgeIndex::new(*first))
            };
            let (own, its_coil) = (edge(&element.id), edge(&contact.coil));
            let is_coil =
                |edge: &EdgeIndex| matches!(self.netlist.graph[*edge].kind, EdgeKind::Coil { .. });
            let its_coil = its_coil.filter(is_coil);
            if let Some(own) = own
                && let EdgeKind::Contact { coil, .. } = &mut self.netlist.graph[own].kind
            {
                *coil = its_coil;
            }
        }
    }
}
