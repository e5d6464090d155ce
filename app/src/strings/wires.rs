//! The wire list, typed and pasted.

/// The title of a sheet made from a list.
pub fn from_list(n: usize) -> String {
    format!("From the list, {n}")
}

/// A column without a heading.
pub fn column_n(n: usize) -> String {
    format!("Column {n}")
}

/// A part of an end, by its key in lists.
pub fn end_part(key: &str) -> &'static str {
    match key {
        "from_device" => "From: device",
        "from_connector" => "From: connector",
        "from_pin" => "From: pin",
        "to_device" => "To: device",
        "to_connector" => "To: connector",
        "to_pin" => "To: pin",
        "ends" => "Both ends in one cell",
        _ => "Cable",
    }
}

pub const AS_THE_PROJECT: &str = " (as this project)";
pub const UNIT_OF_LENGTHS: &str = "Unit of lengths";
pub const GAUGE_OF_ROWS: &str = "Gauge, rows without one";
pub const WIRE_LIST: &str = "Wire list";
pub const SHOW_ONLY: &str = "Show only…";
pub const EDIT_CELL: &str = "Edit";
pub const CHOOSE_MORE: &str = "Select range";
pub const FILL_DOWN: &str = "Fill down";
pub const COUNT_ON: &str = "Continue numbering";
pub const DELETE_WIRES: &str = "Delete wires";
pub const SHOW_ON_SHEET: &str = "Show on its sheet";
pub const PASTE_LIST: &str = "Paste a wire list…";
pub const PASTE_LIST_HELP: &str = "Copy rows from a spreadsheet, headings first, and paste them here. Rows may give a wire with both ends, or a pin with its wire. Devices and pins that do not exist yet are added on new sheets. Enter their loads and ratings afterwards.";
pub const PASTE_LIST_EXAMPLE: &str = "Number\tFrom\tTo\tGauge\tColor\tLength\tFunction\n\
                                      P5A20\tMBUS CB5\tXP1 J106-1\t20\twhite\t1.4\tPOWER";
pub const PASTE_LIST_ENDS: &str = "Choose the columns that hold both ends of each wire.";
pub const PASTE_LIST_HEADINGS: &str = "The first row is headings";
pub const PASTE_LIST_KINDS: &str = "New devices, and what each is";
pub const PASTE_LIST_LOOK: &str = "Look at the sheets first";
pub const PASTE_LIST_MAKE: &str = "Add these wires";
pub const PASTED_LIST: &str = "Added from a pasted list";
pub const PASSED_OVER: &str = "ignore column";
pub const TYPE_WIRES: &str = "Type wires";
pub const NEW_WIRE: &str = "New wire…";
pub const TYPED: &str = "Typed into the wire list";
pub const CLEARED: &str = "Cleared in the wire list";
pub const PASTED: &str = "Pasted into the wire list";
pub const GRID_HINT: &str = "Arrow keys move, typing replaces, Enter edits. Shift selects a range. Copy and paste as in a spreadsheet.";
