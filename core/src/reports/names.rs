//! The name of what an edge of the circuit is drawn as.

use crate::{document::Document, netlist::EdgeOf};

/// The label of a load or protector, in-line fuses included; empty for anything else.
pub(crate) fn edge_label(document: &Document, edge: &EdgeOf) -> String {
    match edge {
        EdgeOf::Element(device, element, _) => {
            document.record_label("element", &format!("{device}/{element}"))
        }
        EdgeOf::InlineFuse(wire) => format!("the fuse in {}", document.wire_label(wire)),
        _ => String::new(),
    }
}
