//! The single faults that a sheet should find: one wire, pin, shield or jack that is not as drawn.

use petgraph::graph::{EdgeIndex, NodeIndex};
use petgraph::unionfind::UnionFind;

use super::special::{Inside, metal_at};
use crate::{
    document::{Device, Document, ElementKind, End, ShieldEnd, WireEnd, natural_cmp},
    ids::{CableId, ConnectorId, DeviceId, ElementId, WireId},
    netlist::{EdgeKind, EdgeOf, Netlist},
    order::{InOrder, Map},
};

/// One fault on wiring that is otherwise as drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A wire is broken.
    Open(WireId),
    /// A wire touches metal.
    Grounded(WireId),
    /// Two neighboring terminals touch, other than those of one load, antenna, probe or magneto: its own ohms
    /// are as low.
    Touching(End, End),
    /// What belongs to two neighboring pins is in the other pin.
    Swapped(End, End),
    /// A shield is not connected at this end.
    ShieldOpen(CableId, WireEnd),
    /// A shield touches metal at the end where it is cut back.
    ShieldGrounded(CableId, WireEnd),
    /// A shield touches a core.
    ShieldTouching(CableId, WireId),
    /// The body of a jack touches the metal it is mounted in.
    JackGrounded(DeviceId, ElementId),
}

/// A fault, and what it does to the graph.
pub(super) struct Change {
    pub(super) fault: Fault,
    /// Edges that conduct no more.
    pub(super) removed: Vec<EdgeIndex>,
    /// Nodes that metal now joins; with the edge whose ohms it has, if it is one that moved.
    pub(super) added: Vec<(NodeIndex, NodeIndex, Option<EdgeIndex>)>,
}

impl Change {
    /// Wiring without a fault.
    pub(super) fn none() -> Self {
        Self {
            fault: Fault::Touching(End::Open, End::Open),
            removed: Vec::new(),
            added: Vec::new(),
        }
    }
}

impl Fault {
    /// The fault in words: "P6 open", "A1 shield grounded at both ends".
    pub fn label(&self, document: &Document) -> String {
        let end = |end: &End| document.end_label(end);
        let cable = |id: &CableId| document.record_label("cable", id.as_str());
        match self {
            Self::Open(wire) => format!("{} open", document.wire_label(wire)),
            Self::Grounded(wire) => format!("{} touching metal", document.wire_label(wire)),
            Self::Touching(a, b) => format!("{} touching {}", end(a), end(b)),
            Self::Swapped(a, b) => format!("{} and {} swapped", end(a), end(b)),
            Self::ShieldOpen(id, which) => {
                let at = (document.cables.get(id)).and_then(|it| it.shield_at(*which));
                let at = at.map_or_else(String::new, end);
                format!("{} shield open at {at}", cable(id))
            }
            Self::ShieldGrounded(id, _) => format!("{} shield grounded at both ends", cable(id)),
            Self::ShieldTouching(id, wire) => {
                format!(
                    "{} shield touching {}",
                    cable(id),
                    document.wire_label(wire)
                )
            }
            Self::JackGrounded(device, _) => {
                let label = document.record_label("device", device.as_str());
                format!("{label} body touching metal")
            }
        }
    }
}

/// The conductors that only wires, shields and blocks join: a switch or contact that may open parts them.
pub(super) fn conductors(netlist: &Netlist, stays: &[bool]) -> Vec<usize> {
    let mut sets = UnionFind::<usize>::new(netlist.graph.node_count());
    for edge in netlist.graph.edge_indices().filter(|it| stays[it.index()]) {
        let kind = &netlist.graph[edge].kind;
        if !matches!(kind, EdgeKind::Switch { .. } | EdgeKind::Contact { .. }) {
            let (a, b) = netlist.ends(edge);
            sets.union(a.index(), b.index());
        }
    }
    sets.into_labeling()
}

/// Every single fault that changes what is joined, in the order of records.
pub(super) fn faults(
    document: &Document,
    netlist: &Netlist,
    conductor: &[usize],
    inside: &[Inside],
) -> Vec<Change> {
    let all = Faults {
        document,
        netlist,
        conductor,
        inside,
    };
    let mut changes = all.wires();
    changes.extend(all.neighbors());
    changes.extend(all.shields());
    changes.extend(all.jacks());
    changes
}

struct Faults<'d> {
    document: &'d Document,
    netlist: &'d Netlist,
    conductor: &'d [usize],
    inside: &'d [Inside],
}

impl Faults<'_> {
    fn is_one(&self, a: NodeIndex, b: NodeIndex) -> bool {
        self.conductor[a.index()] == self.conductor[b.index()]
    }

    /// Two nodes that touch; none if they are one conductor anyway.
    fn touch(&self, fault: Fault, a: NodeIndex, b: NodeIndex) -> Option<Change> {
        (!self.is_one(a, b)).then(|| Change {
            fault,
            removed: Vec::new(),
            added: vec![(a, b, None)],
        })
    }

    fn wires(&self) -> Vec<Change> {
        let mut changes = Vec::new();
        for (id, at) in self.netlist.wires() {
            changes.push(Change {
                fault: Fault::Open(id.clone()),
                removed: vec![at.edge],
                added: Vec::new(),
            });
            let wire = &self.document.wires[id];
            let metal = metal_at(self.document, self.netlist, [&wire.from, &wire.to]);
            changes.extend(
                metal.and_then(|metal| self.touch(Fault::Grounded(id.clone()), at.ends[0], metal)),
            );
        }
        changes
    }

    fn neighbors(&self) -> Vec<Change> {
        let mut changes = Vec::new();
        for (id, device) in &self.document.devices {
            for (is_connector, row) in rows(device) {
                for pair in row.windows(2) {
                    let ends = [0, 1].map(|at: usize| {
                        End::Terminal(id.clone(), device.terminals[pair[at]].id.clone())
                    });
                    let [Some(a), Some(b)] = [0, 1].map(|at: usize| self.wired(&ends[at])) else {
                        continue;
                    };
                    let [from, to] = ends;
                    let touching = Fault::Touching(from.clone(), to.clone());
                    if is_connector || !self.is_one_part(a, b) {
                        changes.extend(self.touch(touching, a, b));
                    }
                    if is_connector && !self.is_one(a, b) {
                        changes.push(self.swap(Fault::Swapped(from, to), a, b));
                    }
                }
            }
        }
        changes
    }

    /// True if a load, coil, diode or source has these two terminals, or what no drawing shows inside a device.
    fn is_one_part(&self, a: NodeIndex, b: NodeIndex) -> bool {
        let mut inside = self.inside.iter();
        if inside.any(|it| [it.a, it.b] == [a, b] || [it.b, it.a] == [a, b]) {
            return true;
        }
        let mut edges = self.netlist.edges_at(a);
        edges.any(|edge| {
            self.netlist.other(edge, a) == b
                && matches!(
                    self.netlist.graph[edge].kind,
                    EdgeKind::Load
                        | EdgeKind::Coil { .. }
                        | EdgeKind::Diode { .. }
                        | EdgeKind::Resistor { .. }
                        | EdgeKind::Battery { .. }
                        | EdgeKind::Alternator { .. }
                )
        })
    }

    /// The node of a terminal where a wire or shield ends.
    fn wired(&self, end: &End) -> Option<NodeIndex> {
        let node = self.netlist.end_node(end)?;
        self.ends_at(node).next().map(|_| node)
    }

    /// The edges of wires and shields at a node.
    fn ends_at(&self, node: NodeIndex) -> impl Iterator<Item = EdgeIndex> {
        self.netlist.edges_at(node).filter(|edge| {
            matches!(
                self.netlist.of(*edge),
                EdgeOf::Wire(_) | EdgeOf::InlineFuse(_) | EdgeOf::ShieldEnd(..)
            )
        })
    }

    fn swap(&self, fault: Fault, a: NodeIndex, b: NodeIndex) -> Change {
        let mut change = Change {
            fault,
            removed: Vec::new(),
            added: Vec::new(),
        };
        for (from, to) in [(a, b), (b, a)] {
            for edge in self.ends_at(from) {
                let far = self.netlist.other(edge, from);
                // A wire between the two pins keeps its ends, the other way round.
                if far != to {
                    change.removed.push(edge);
                    change.added.push((far, to, Some(edge)));
                }
            }
        }
        change
    }

    fn shields(&self) -> Vec<Change> {
        let mut changes = Vec::new();
        for (id, cable) in &self.document.cables {
            let (Some(shield), Some(nodes)) = (&cable.shield, self.netlist.shield(id)) else {
                continue;
            };
            let first = cable
                .wires
                .iter()
                .find_map(|it| self.document.wires.get(it));
            for (at, which) in [WireEnd::From, WireEnd::To].into_iter().enumerate() {
                let (here, other) = (shield.end(which), shield.end(which.other()));
                if let Some(edge) = self.netlist.pigtail(id, which) {
                    changes.push(Change {
                        fault: Fault::ShieldOpen(id.clone(), which),
                        removed: vec![edge],
                        added: Vec::new(),
                    });
                }
                let is_tied_there_only =
                    matches!(here, ShieldEnd::Floating) && other.at().is_some();
                let metal = first.filter(|_| is_tied_there_only).and_then(|wire| {
                    let ends = [wire.end(which), wire.end(which.other())];
                    metal_at(self.document, self.netlist, ends)
                });
                changes.extend(metal.map(|metal| Change {
                    fault: Fault::ShieldGrounded(id.clone(), which),
                    removed: Vec::new(),
                    added: vec![(nodes[at], metal, None)],
                }));
            }
            for wire in &cable.wires {
                if let Some(core) = self.netlist.wire(wire) {
                    let fault = Fault::ShieldTouching(id.clone(), wire.clone());
                    changes.extend(self.touch(fault, nodes[0], core.ends[0]));
                }
            }
        }
        changes
    }

    fn jacks(&self) -> Vec<Change> {
        let mut changes = Vec::new();
        for (id, device) in &self.document.devices {
            for element in &device.elements {
                let ElementKind::Jack(jack) = &element.is else {
                    continue;
                };
                let sleeve = self.netlist.terminal(id, &jack.sleeve);
                let place = device.place.clone().map(End::Structure);
                let metal = place.and_then(|it| self.netlist.end_node(&it));
                if let (Some(sleeve), Some(metal), true) =
                    (sleeve, metal, jack.isolated != Some(false))
                {
                    let fault = Fault::JackGrounded(id.clone(), element.id.clone());
                    changes.extend(self.touch(fault, sleeve, metal));
                }
            }
        }
        changes
    }
}

/// The terminals that are neighbors, by their place in the record: those of each connector by pin number, loose
/// ones in their order; true for a connector.
fn rows(device: &Device) -> Vec<(bool, Vec<usize>)> {
    let mut rows: Map<Option<&str>, Vec<usize>> = Map::new();
    for (at, terminal) in device.terminals.iter().enumerate() {
        let connector = terminal.connector.as_ref().map(ConnectorId::as_str);
        rows.or_default(connector).push(at);
    }
    let mut all = Vec::new();
    for (connector, row) in &rows {
        let mut row = row.clone();
        if connector.is_some() {
            row.order_by(|a, b| {
                natural_cmp(&device.terminals[*a].label, &device.terminals[*b].label)
            });
        }
        all.push((connector.is_some(), row));
    }
    all
}

/// The terminals next to an end in its connector, or the loose terminals of its device.
pub(super) fn row_of(document: &Document, end: &End) -> Vec<End> {
    let End::Terminal(id, own) = end else {
        return Vec::new();
    };
    let Some(device) = document.devices.get(id) else {
        return Vec::new();
    };
    let connector = device.terminal(own).map(|it| &it.connector);
    let row = device.terminals.iter();
    let row = row.filter(|it| Some(&it.connector) == connector && it.id != *own);
    row.map(|it| End::Terminal(id.clone(), it.id.clone()))
        .collect()
}
