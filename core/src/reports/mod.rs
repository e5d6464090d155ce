//! Papers for the bench, the hangar and the inspector. Each is computed from the records of the project, one
//! file a paper. The columns of a [`Table`] are listed once; CSV, JSON, text and HTML follow from that list.

pub mod always_hot;
pub mod circuit;
pub mod connectors;
pub mod cuts;
pub mod effects;
pub mod endurance;
pub mod endurance_plot;
pub mod grounds;
pub mod harness;
pub mod html;
pub mod labels;
pub mod load_sheet;
pub mod loads;
pub mod mark;
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
pub mod swap;
mod table;
mod terminations;
pub mod what_stops;
pub mod wires;

use crate::{document::Document, netlist::EdgeOf};
pub use paper::{NOTICE, Paper, PaperInput, Part};
pub use table::{Cell, Column, Table, harmless};

/// Makes a paper.
pub type Make = fn(&PaperInput<'_>) -> Paper;

/// Every paper: its name in commands, its title, and the function that makes it.
pub const PAPERS: &[(&str, &str, Make)] = &[
    ("wires", "Wire list", wires::paper),
    ("cuts", "Cut list and build sheet", cuts::paper),
    ("labels", "Labels", labels::paper),
    ("connectors", "Connector pages", connectors::paper),
    ("ring-out", "Ring-out sheet", ring_out::paper),
    ("power-up", "First power-up", power_up::paper),
    ("loads", "Load sheet and endurance", load_sheet::paper),
    ("schedule", "Breaker and fuse schedule", schedule::paper),
    ("grounds", "Ground block map", grounds::paper),
    ("order", "Order list", order_list::paper),
    ("progress", "Progress", progress::paper),
    ("placards", "Placards and panel legend", placards::paper),
    ("pack", "Pack for inspection and next owner", pack::paper),
];

/// The paper with this name.
pub fn paper(asked: &PaperInput<'_>, name: &str) -> Option<Paper> {
    let found = PAPERS.iter().find(|(known, ..)| *known == name);
    found.map(|(.., make)| make(asked))
}

/// The label of a load or protector, in-line fuses included; empty for anything else.
fn edge_label(document: &Document, edge: &EdgeOf) -> String {
    match edge {
        EdgeOf::Element(device, element, _) => {
            document.record_label("element", &format!("{device}/{element}"))
        }
        EdgeOf::InlineFuse(wire) => format!("the fuse in {}", document.wire_label(wire)),
        _ => String::new(),
    }
}
