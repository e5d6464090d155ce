//! Papers for the bench, the hangar and the inspector. Each is computed from the records of the project, one
//! file a paper. The columns of a [`Table`] are listed once; CSV, JSON, text and HTML follow from that list.

pub mod always_hot;
pub mod cards;
pub mod circuit;
pub mod connectors;
pub mod cuts;
pub mod effects;
pub mod endurance;
pub mod endurance_plot;
pub mod findings;
mod flow;
mod functional;
pub mod grounds;
pub mod harness;
pub mod html;
pub mod jacks;
pub mod labels;
pub mod load_sheet;
pub mod loads;
pub mod log;
pub mod mark;
mod names;
pub mod noise;
pub mod order_list;
pub mod pack;
mod paper;
pub mod placards;
pub mod power_up;
pub mod progress;
pub mod ring_out;
pub mod schedule;
pub mod sheets;
pub mod shorts;
mod single;
pub mod swap;
mod table;
mod terminations;
pub mod what_stops;
pub mod wires;

use self::single::SINGLE;
pub(crate) use names::edge_label;
pub use paper::{Edition, NOTICE, Paper, PaperInput, Part};
pub use single::{Entry, Make};
pub use table::{Cell, Column, Table, harmless};

/// Every paper, the pack last: its name in commands, its title, and the function that makes it.
pub const PAPERS: &[Entry] = &papers();

const fn papers() -> [Entry; SINGLE.len() + 1] {
    let pack: Entry = ("pack", "Pack for inspection and next owner", pack::paper);
    let mut all = [pack; SINGLE.len() + 1];
    let (list, _) = all.split_at_mut(SINGLE.len());
    list.copy_from_slice(SINGLE);
    all
}

/// The paper with this name.
pub fn paper(asked: &PaperInput<'_>, name: &str) -> Option<Paper> {
    let found = PAPERS.iter().find(|(known, ..)| *known == name);
    found.map(|(.., make)| make(asked))
}
