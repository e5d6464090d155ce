//! Look-ups between the records of a document and the nodes and edges of its circuit.

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    visit::EdgeRef,
};
use rustc_hash::FxHashMap;

use super::{Facts, TerminalAt, Touch, wires_of};
use crate::{
    document::{
        Alternator, Battery, Device, ElementKind, End, OverVoltage, Terminal, Wire, WireEnd,
    },
    ids::{CableId, DeviceId, ElementId, PlaceId, TerminalId, WireId},
    netlist::{EdgeKind, WireAt},
    order::Grouped,
};

/// An element of a device, with its figures and its edge in the circuit.
pub type Part<'d, T> = (&'d DeviceId, &'d ElementId, &'d T, EdgeIndex);

/// An over-voltage module.
#[derive(Clone, Copy, Debug)]
pub struct Module<'d> {
    /// Its device and its element.
    pub at: (&'d DeviceId, &'d ElementId),
    /// Its figures.
    pub module: &'d OverVoltage,
    /// The node of its supply side.
    pub plus: NodeIndex,
    /// The node of its return side.
    pub minus: NodeIndex,
}

impl<'d> Facts<'d> {
    /// A device by its id.
    pub fn device(&self, id: &DeviceId) -> Option<&'d Device> {
        let devices = self
            .devices
            .get_or_init(|| self.document.devices.iter().collect());
        devices.get(id).copied()
    }

    /// A wire by its id.
    pub fn wire(&self, id: &WireId) -> Option<&'d Wire> {
        Some(self.wire_and_place(id)?.0)
    }

    /// Where a wire is in the circuit.
    pub fn wire_at(&self, id: &WireId) -> Option<WireAt> {
        Some(self.wire_and_place(id)?.1)
    }

    fn wire_and_place(&self, id: &WireId) -> Option<(&'d Wire, WireAt)> {
        let wires = self.wires.get_or_init(|| {
            let all = self.wires();
            all.map(|(id, wire, at)| (id, (wire, at))).collect()
        });
        wires.get(id).copied()
    }

    /// The wires with their places in the circuit, by id.
    pub fn wires(&self) -> impl Iterator<Item = (&'d WireId, &'d Wire, WireAt)> {
        let both = self.document.wires.iter().zip(self.netlist().wires());
        both.map(|((id, wire), (_, at))| (id, wire, at))
    }

    /// The terminal, if both it and its device are there.
    pub fn terminal(
        &self,
        device: &DeviceId,
        terminal: &TerminalId,
    ) -> Option<(&'d Device, &'d Terminal)> {
        let device = self.device(device)?;
        Some((device, device.terminal(terminal)?))
    }

    /// The terminal at a node, if it is one that a record lists.
    pub fn terminal_at(&self, node: NodeIndex) -> Option<TerminalAt<'d>> {
        self.by_node()[node.index()]
    }

    /// Every terminal of every device, in the order of the records.
    pub fn terminals(&self) -> impl Iterator<Item = TerminalAt<'d>> {
        self.by_node().iter().copied().flatten()
    }

    fn by_node(&self) -> &[Option<TerminalAt<'d>>] {
        self.terminals.get_or_init(|| {
            let netlist = self.netlist();
            let mut all = vec![None; netlist.graph.node_count()];
            for (id, device) in &self.document.devices {
                for (terminal, node) in device.terminals.iter().zip(netlist.terminals(id)) {
                    all[node.index()] = Some(TerminalAt {
                        id,
                        device,
                        terminal,
                        node,
                    });
                }
            }
            all
        })
    }

    /// Conductors that end here: wires in order of their ids, then shields.
    pub fn touches(&self, end: &End) -> &[Touch<'d>] {
        let node = self.netlist().end_node(end);
        node.map_or(&[], |node| self.touches_at(node))
    }

    /// Conductors that end at this node of the circuit: wires in order of their ids, then shields.
    pub fn touches_at(&self, node: NodeIndex) -> &[Touch<'d>] {
        let touches = self.touches.get_or_init(|| self.find_touches());
        touches.of(node.index())
    }

    /// Wires that end here.
    pub fn wires_at<'s>(
        &'s self,
        end: &End,
    ) -> impl Iterator<Item = (&'d WireId, WireEnd)> + use<'s, 'd> {
        wires_of(self.touches(end))
    }

    fn find_touches(&self) -> Grouped<Touch<'d>> {
        let netlist = self.netlist();
        let mut touches = Vec::with_capacity(2 * self.document.wires.len());
        for ((id, _), (_, at)) in self.document.wires.iter().zip(netlist.wires()) {
            for (node, end) in at.ends.into_iter().zip([WireEnd::From, WireEnd::To]) {
                touches.push((node.index(), Touch::Wire(id, end)));
            }
        }
        for (id, cable) in &self.document.cables {
            let Some(shield) = &cable.shield else {
                continue;
            };
            for (end, which) in [(&shield.from, WireEnd::From), (&shield.to, WireEnd::To)] {
                if let Some(node) = end.at().and_then(|at| netlist.end_node(at)) {
                    touches.push((node.index(), Touch::Shield(id, which)));
                }
            }
        }
        Grouped::new(netlist.graph.node_count(), touches.iter().copied())
    }

    /// The cable this wire is a core of.
    pub fn cable_of(&self, wire: &WireId) -> Option<&'d CableId> {
        let of = self.cable_of.get_or_init(|| {
            let mut of = FxHashMap::default();
            for (id, cable) in &self.document.cables {
                for wire in &cable.wires {
                    of.entry(wire).or_insert(id);
                }
            }
            of
        });
        of.get(wire).copied()
    }

    /// What an edge of the circuit is inside a device, if it is that.
    pub fn element_of(&self, edge: EdgeIndex) -> Option<&'d ElementKind> {
        let elements = self.elements.get_or_init(|| {
            let netlist = self.netlist();
            let mut elements = vec![None; netlist.graph.edge_count()];
            for (id, device) in &self.document.devices {
                for (element, edges) in device.elements.iter().zip(netlist.edges_in(id)) {
                    elements[edges].fill(Some(&element.is));
                }
            }
            elements
        });
        elements[edge.index()]
    }

    /// The node of the pin that mates with the one at this node, in an in-line connector.
    pub fn mate_of(&self, node: NodeIndex) -> Option<NodeIndex> {
        let mates = self.mates.get_or_init(|| {
            let graph = &self.netlist().graph;
            let mut mates = vec![None; graph.node_count()];
            // In order of the edges, since that is how they lie in memory.
            for edge in graph.edge_references() {
                if matches!(edge.weight().kind, EdgeKind::Mate { .. }) {
                    mates[edge.source().index()] = Some(edge.target());
                    mates[edge.target().index()] = Some(edge.source());
                }
            }
            mates
        });
        mates[node.index()]
    }

    /// Every alternator, with its edge in the circuit.
    pub fn alternators(&self) -> impl Iterator<Item = Part<'d, Alternator>> {
        self.parts(|is| match is {
            ElementKind::Alternator(it) => Some(it),
            _ => None,
        })
    }

    /// Every battery, with its edge in the circuit.
    pub fn batteries(&self) -> impl Iterator<Item = Part<'d, Battery>> {
        self.parts(|is| match is {
            ElementKind::Battery(it) => Some(it),
            _ => None,
        })
    }

    /// Every over-voltage module that is wired, with the nodes of its two sides.
    pub fn over_voltage_modules(&self) -> impl Iterator<Item = Module<'d>> {
        let modules = |(id, device): (&'d DeviceId, &'d Device)| {
            let elements = device.elements.iter();
            elements.filter_map(move |element| match &element.is {
                ElementKind::OverVoltage(it) => Some((id, &element.id, it)),
                _ => None,
            })
        };
        let all = self.document.devices.iter().flat_map(modules);
        all.filter_map(|(device, element, module)| {
            Some(Module {
                at: (device, element),
                module,
                plus: self.netlist().terminal(device, &module.plus)?,
                minus: self.netlist().terminal(device, &module.minus)?,
            })
        })
    }

    fn parts<T: 'd>(
        &self,
        read: fn(&'d ElementKind) -> Option<&'d T>,
    ) -> impl Iterator<Item = Part<'d, T>> {
        let parts = |(id, device): (&'d DeviceId, &'d Device)| {
            device.elements.iter().map(move |element| (id, element))
        };
        let parts = self.document.devices.iter().flat_map(parts);
        parts.filter_map(move |(id, element)| {
            let edge = self.netlist().element_edge(id, &element.id)?;
            Some((id, &element.id, read(&element.is)?, edge))
        })
    }

    /// True if what this end names is there; an open end names nothing.
    pub fn exists(&self, end: &End) -> bool {
        match end {
            End::Terminal(device, terminal) => self.terminal(device, terminal).is_some(),
            End::Splice(splice) => self.document.splices.contains_key(splice),
            End::Structure(place) => self.document.places.contains_key(place),
            End::Open => false,
        }
    }

    /// True if this place is there and is metal.
    pub fn is_metal(&self, place: Option<&PlaceId>) -> bool {
        place
            .and_then(|place| self.document.places.get(place))
            .is_some_and(crate::document::Place::is_metal)
    }
}
