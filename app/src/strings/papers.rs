//! Papers.

use super::count::{WIRES, count};

pub const PAPERS: &str = "Papers";
pub const PRINT_PAPER: &str = "Print";
pub const SAVE_CSV: &str = "Save as CSV";
pub const SAVE_HTML: &str = "Save as web page";
pub const GROUP_BY: &str = "Grouped by";
pub const SORTED_BY: &str = "Sorted by";
pub const SET_BESIDE: &str = "Compare with version";
pub const NOTHING_EARLIER: &str = "No comparison";
pub const CHOSEN_FILE: &str = "the chosen file";
pub const SET_BESIDE_FILE: &str = "Compare with a file…";
pub const NOT_GROUPED: &str = "not grouped";
pub const SPARE_LENGTH: &str = "Spare length at each end";
pub const SPARE_PERCENT: &str = "Extra on drawn lengths, %";
pub const LABEL_MM: &str = "Label height, mm (12, 9, 6)";
pub const MARKING: &str = "Wires are marked";
pub const MARKING_IS: [&str; 2] = ["on sleeves", "on the insulation"];
pub const STEP_OF_CABLE: &str = "Build step of a cable";
pub const NUMBERING: &str = "Numbering scheme";
pub const NUMBER_WIRES: &str = "Number unbuilt wires";
pub const STEP_OF_WIRE: &str = "Build step";
pub const ON_SHELF: &str = "In stock";
pub const READ_VALUE: &str = "Reading";

/// What renumbering left alone.
pub fn kept_numbers(built: usize) -> String {
    let wires = count(built, WIRES);
    format!("{wires} kept: wires that are cut or marked keep their numbers")
}
