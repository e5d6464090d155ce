//! The breakers and fuses that a person can pull: each has its lines on the card.

use petgraph::graph::EdgeIndex;

use crate::{
    document::{Document, ElementKind, ProtectorStyle},
    ids::{DeviceId, ElementId},
    netlist::Netlist,
};

/// A breaker or fuse of the document that a person can pull.
pub(super) struct Pulled {
    pub device: DeviceId,
    pub element: ElementId,
    pub edge: EdgeIndex,
}

/// All of a document, in the order of devices and elements.
pub(super) fn protectors(document: &Document, netlist: &Netlist) -> Vec<Pulled> {
    let mut all = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            if let ElementKind::Protector(it) = &element.is
                && it.style != ProtectorStyle::Limiter
                && let Some(edge) = netlist.element_edge(id, &element.id)
            {
                all.push(Pulled {
                    device: id.clone(),
                    element: element.id.clone(),
                    edge,
                });
            }
        }
    }
    all
}
