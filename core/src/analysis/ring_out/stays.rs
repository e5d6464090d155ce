//! What stays joined while the units are unplugged, and where a lead of the meter goes.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;

use crate::{
    document::{
        BarUse, Device, DeviceKind, Document, ElementKind, End, ProtectorStyle, Wire, natural_cmp,
    },
    ids::WireId,
    netlist::{EdgeKind, EdgeOf, Netlist, Point},
    order::Map,
};

/// True if an edge joins with the units unplugged.
pub(super) fn stays(document: &Document, netlist: &Netlist, edge: EdgeIndex) -> bool {
    let it = &netlist.graph[edge];
    let is_loose = |id: &crate::ids::DeviceId| {
        let device = document.devices.get(id);
        device.is_some_and(|device| !unplugs(device))
    };
    match (&it.kind, netlist.of(edge)) {
        (
            EdgeKind::Wire { .. }
            | EdgeKind::Shield { .. }
            | EdgeKind::ShieldEnd { .. }
            | EdgeKind::Mate { .. }
            | EdgeKind::Bar(BarUse::Bus | BarUse::Ground)
            | EdgeKind::Bond { .. }
            | EdgeKind::JackTie(_),
            _,
        )
        | (EdgeKind::Protector { .. }, EdgeOf::InlineFuse(_)) => true,
        (
            EdgeKind::Bar(_) | EdgeKind::Shunt { .. } | EdgeKind::Tie { .. },
            EdgeOf::Element(id, ..),
        ) => is_loose(id),
        (EdgeKind::Switch { .. } | EdgeKind::Contact { .. }, EdgeOf::Element(id, ..)) => {
            it.closed && is_loose(id)
        }
        (EdgeKind::Protector { .. }, EdgeOf::Element(id, element, _)) => {
            let device = document.devices.get(id);
            let element = device.and_then(|device| device.element(element));
            element.is_some_and(|element| {
                matches!(&element.is, ElementKind::Protector(it) if it.style == ProtectorStyle::Limiter)
            })
        }
        _ => false,
    }
}

/// True if a device is taken off the wiring by its connectors.
pub(in crate::analysis) fn unplugs(device: &Device) -> bool {
    !device.connectors.is_empty() && device.kind != DeviceKind::InlineConnector
}

/// By node: true if a lead of the meter goes there.
pub(super) fn points(document: &Document, netlist: &Netlist) -> Vec<bool> {
    let wires_at = |node| {
        let edges = netlist.edges_at(node);
        edges
            .filter(|edge| matches!(netlist.graph[*edge].kind, EdgeKind::Wire { .. }))
            .count()
    };
    let is_wired = |node| {
        let mut edges = netlist.edges_at(node);
        edges.any(|edge| {
            matches!(
                netlist.graph[edge].kind,
                EdgeKind::Wire { .. } | EdgeKind::ShieldEnd { .. }
            ) || matches!(netlist.of(edge), EdgeOf::InlineFuse(_))
        })
    };
    let mut points = vec![false; netlist.graph.node_count()];
    for node in netlist.graph.node_indices() {
        let Point::Terminal(id, _) = netlist.point(node) else {
            continue;
        };
        let device = document.devices.get(id);
        if device.is_none_or(|device| device.kind != DeviceKind::InlineConnector) {
            points[node.index()] = is_wired(node);
        }
    }
    // Of a mated pair, one pin where a conductor or shield goes no further as a wire.
    for edge in netlist.graph.edge_indices() {
        if !matches!(netlist.graph[edge].kind, EdgeKind::Mate { .. }) {
            continue;
        }
        let (a, b) = netlist.ends(edge);
        match (wires_at(a) > 0, wires_at(b) > 0) {
            (true, true) => {}
            (true, false) => points[b.index()] = true,
            (false, true) => points[a.index()] = true,
            (false, false) => points[a.index()] = is_wired(a) || is_wired(b),
        }
    }
    points
}

/// By end: the place of its first wire in the order of numbers, and which end of it it is.
pub(super) fn first_wires(document: &Document) -> Map<&End, (usize, bool)> {
    let mut wires: Vec<(&WireId, &Wire)> = document.wires.iter().collect();
    wires.order_by(|a, b| natural_cmp(&a.1.number, &b.1.number).then_with(|| a.0.cmp(b.0)));
    let mut first = Map::new();
    for (at, (_, wire)) in wires.into_iter().enumerate() {
        for (end, is_to) in [(&wire.from, false), (&wire.to, true)] {
            if !first.contains_key(end) {
                first.insert(end, (at, is_to));
            }
        }
    }
    first
}

/// Loads, coils, resistors and diodes of what does not unplug, and resistors in backshells, which stay with
/// the wiring.
pub(super) fn joined(document: &Document, netlist: &Netlist) -> Vec<EdgeIndex> {
    let stays = |edge: &EdgeIndex| {
        let EdgeOf::Element(id, ..) = netlist.of(*edge) else {
            return false;
        };
        match &netlist.graph[*edge].kind {
            EdgeKind::Resistor { .. } => true,
            EdgeKind::Load
            | EdgeKind::Coil { .. }
            | EdgeKind::Diode { .. }
            | EdgeKind::Alternator { .. } => {
                (document.devices.get(id)).is_some_and(|device| !unplugs(device))
            }
            _ => false,
        }
    };
    netlist.graph.edge_indices().filter(stays).collect()
}
