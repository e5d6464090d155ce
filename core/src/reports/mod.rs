//! Papers made from the one record per wire. A paper is a [`Table`]: its columns are listed once, and
//! every form of it (CSV, JSON, screen) is made from that list. One paper, one file.

pub mod always_hot;
pub mod circuit;
pub mod connectors;
pub mod cuts;
pub mod endurance;
pub mod endurance_plot;
pub mod grounds;
pub mod harness;
pub mod html;
pub mod labels;
pub mod load_sheet;
pub mod loads;
pub mod noise;
pub mod order_list;
pub mod pack;
mod paper;
pub mod placards;
pub mod power_up;
pub mod progress;
pub mod ring_out;
pub mod schedule;
pub mod shorts;
mod table;
mod terminations;
pub mod what_stops;
pub mod wires;

use crate::{document::Document, netlist::EdgeOf};
pub use paper::{Asked, NOTICE, Paper, Part};
pub use table::{Cell, Column, Table, harmless};

/// What a person calls a load or protector, the fuse in a wire included; empty for anything else.
fn edge_label(document: &Document, edge: &EdgeOf) -> String {
    match edge {
        EdgeOf::Element(device, element, _) => {
            document.record_label("element", &format!("{device}/{element}"))
        }
        EdgeOf::InlineFuse(wire) => format!("the fuse in {}", document.wire_label(wire)),
        _ => String::new(),
    }
}
