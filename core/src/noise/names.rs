//! Labels of the conductors in a loop.

use super::review::{LoopNoise, Noise};
use crate::{
    document::{DeviceKind, Document, ElementKind, End, WireEnd},
    ids::CableId,
    netlist::EdgeOf,
};

/// The path around a loop in words, each record once.
pub fn way(document: &Document, noise: &Noise, found: &LoopNoise) -> String {
    let netlist = noise.point.netlist();
    let links = found.finding.way.iter().map(|at| &noise.graph.links[*at]);
    let mut names: Vec<String> = links
        .map(|link| name(document, netlist.of(link.edge)))
        .collect();
    let is_wire = |at: &usize| matches!(netlist.of(noise.graph.links[*at].edge), EdgeOf::Wire(_));
    if let Some(first) = found.finding.way.iter().position(is_wire) {
        names.rotate_left(first);
    }
    names.dedup();
    names.join(" - ")
}

/// Where the conductors of a cable end, at one of its ends.
pub fn far_end(document: &Document, cable: &CableId, end: WireEnd) -> Option<End> {
    let wire = document.cables.get(cable)?.wires.first()?;
    let wire = document.wires.get(wire)?;
    Some(wire.end(end).clone())
}

/// The label of an edge of the netlist.
pub fn name(document: &Document, of: &EdgeOf) -> String {
    let cable = |id: &str| document.record_label("cable", id);
    match of {
        EdgeOf::Wire(id) => document.wire_label(id),
        EdgeOf::InlineFuse(id) => format!("the fuse in {}", document.wire_label(id)),
        EdgeOf::Shield(id) => format!("the shield of {}", cable(id.as_str())),
        EdgeOf::ShieldEnd(id, end) => {
            let at = (document.cables.get(id)).and_then(|it| it.shield_at(*end).cloned());
            // A shield that is cut back ends where its conductors do.
            let at = at.or_else(|| far_end(document, id, *end));
            let at = at.map(|at| document.end_label(&at));
            let cable = cable(id.as_str());
            format!("the shield's end of {cable} at {}", at.unwrap_or_default())
        }
        EdgeOf::Bond(id) => {
            let place = document.record_label("place", id.as_str());
            format!("the bond of {place}")
        }
        EdgeOf::Element(id, element, _) => {
            let tag = document.record_label("device", id.as_str());
            let device = document.devices.get(id);
            let is_jack = device.is_some_and(|it| it.kind == DeviceKind::Jack);
            let is_tie = device.is_some_and(|it| {
                (it.elements.iter())
                    .any(|e| e.id == *element && matches!(e.is, ElementKind::StructureTie(_)))
            });
            match (is_jack, is_tie) {
                (true, _) => format!("the body of {tag}"),
                (_, true) => format!("the ground link of {tag} to the airframe"),
                _ => tag,
            }
        }
    }
}
