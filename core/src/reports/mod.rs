//! Papers made from the one record per wire. A paper is a [`Table`]: its columns are listed once, and
//! every form of it (CSV, JSON, screen) is made from that list. One paper, one file.

pub mod always_hot;
pub mod endurance;
pub mod endurance_plot;
pub mod loads;
pub mod noise;
pub mod shorts;
mod table;
pub mod what_stops;
pub mod wires;

pub use table::{Cell, Column, Table, harmless};
