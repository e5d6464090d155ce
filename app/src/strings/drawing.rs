//! The drawing, its tools and sheets.

use super::count::{WIRES, count};

pub const PEN_IN_USE: &str = "Pen in use: a finger moves the sheet.";
pub const LET_FINGERS_DRAW: &str = "Let fingers draw";
pub const FINGERS_DRAW_NOW: &str = "Fingers draw as well. You can change this in Settings.";
pub const DELETE: &str = "Delete";
pub const DRAWING: &str =
    "Drawing. Arrow keys move, plus and minus zoom, letters choose a tool, Esc cancels.";
pub const TOOLS: &str = "Tools";
pub const TOOL_SELECT: &str = "Select";
pub const TOOL_WIRE: &str = "Wire";
pub const TOOL_DEVICE: &str = "Device";
pub const TOOL_SPLICE: &str = "Splice";
pub const TOOL_CABLE: &str = "Cable";
pub const ZOOM_IN: &str = "Zoom in";
pub const ZOOM_OUT: &str = "Zoom out";
pub const FIT: &str = "Whole sheet";
pub const DETAILS: &str = "Details";
pub const MOVE: &str = "Move";
pub const DRAW_WIRE: &str = "Draw a wire";
pub const INK: &str = "Ink";
pub const INK_WRITTEN: &str = "Write with the pen";
pub const ERASE_INK: &str = "Erase ink";
pub const MOVE_INK: &str = "Move ink";
pub const HIDE_INK: &str = "Hide ink";
pub const SHOW_INK: &str = "Show ink";
pub const WHICH_PIN: &str = "Which pin?";
pub const ADD_DEVICE: &str = "Add a device";
pub const SPLICE_WIRE: &str = "Splice into a wire";
pub const MAKE_CABLE: &str = "Make a cable";
pub const SET_BY_HAND: &str = ", set by hand";
pub const HINT_EMPTY: &str = "Nothing is drawn here yet. Choose Device and begin with a battery.";
pub const HINT_EMPTY_SHEET: &str =
    "This sheet is empty. Choose Device to add devices, or to show some of the aircraft here.";

/// A device was removed from a sheet.
pub fn still_on(device: &str) -> String {
    format!("{device} is removed from this sheet; it stays in the aircraft and on other sheets")
}

/// A device was deleted.
pub fn deleted(device: &str, wires: usize) -> String {
    let open = match wires {
        0 => String::new(),
        n => format!("; {} now with an open end", count(n, WIRES)),
    };
    format!("{device} is deleted from the aircraft{open}. Undo brings it back")
}

/// Asked before a wired device leaves the aircraft.
pub fn asks_to_delete(device: &str, wires: usize) -> String {
    format!(
        "{device} is on no other sheet. Delete once more takes it out of the aircraft and leaves {} with an open end",
        count(wires, WIRES)
    )
}

pub const HINT_WIRE: &str = "Tap a pin, then another. End on a wire to splice into it.";
pub const HINT_WIRE_TO: &str = "Now tap where it ends. Esc cancels.";
pub const HINT_SPLICE: &str = "Tap a wire where you want the splice.";
pub const HINT_CABLE: &str =
    "Tap the wires that share the cable, then make the cable in the details.";
pub const HINT_DEVICE: &str = "Choose a device from the list.";
pub const HINT_DEVICE_AT: &str = "Tap to place it.";
pub const SHEETS: &str = "Sheets";
pub const ADD_SHEET: &str = "Add a sheet";
pub const SHEET: &str = "Sheet";
pub const SEARCH_DEVICES: &str = "Search devices";
pub const FINDINGS: &str = "Findings";
pub const TAG: &str = "Tag";
pub const NOT_ON_SHEET: &str = "Not on the open sheet";
pub const IN_AIRCRAFT: &str = "In the aircraft, not on this sheet";
pub const METAL: &str = "Metal of";
pub const NO_SUCH_PART: &str = "No match. For a unit that is not listed, choose a plain one under \"Connectors, units of your own\", or paste its pin table below.";

/// "12 more: type a part of the tag".
pub fn more(n: usize) -> String {
    format!("{n} more: type a part of the tag")
}

pub const WIRES_OF_SHEET: &str = "Wires of this sheet";
pub const DRAW_WIRES: &str = "Draw wires";
pub const SEVERAL_PINS: &str = "Several pins";
pub const HINT_SEVERAL: &str =
    "Drag along the pins of one device, then along those of the other, or tap the first of them.";

/// ", 1.50 A".
pub fn in_amps(amps: f64) -> String {
    format!(", {amps:.2} A")
}

pub const AGAIN: &str = "Repeat on next pins";
pub const FROM_PINS: &str = "From a pin table…";
pub const FROM_PINS_HELP: &str = "Copy the table from the maker's manual: pin, function and, if it has one, connector. The role of each pin is guessed from its function. Check each one.";
pub const FROM_PINS_MAKE: &str = "Place it";
pub const ONCE_MORE: &str = "Duplicate with wires";
pub const TIDY_CHOSEN: &str = "Tidy selection";
pub const NO_ROOM: &str =
    "Not enough room on this paper. Choose a larger paper, or move something to another sheet.";
/// Said when an arrow key finds no free place before the edge of the paper.
pub const NO_ROOM_THERE: &str = "No free place in this direction: the paper ends there.";
