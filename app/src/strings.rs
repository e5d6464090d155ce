//! Every sentence and label of the app, in one place.

#![allow(missing_docs, reason = "the text is its own meaning")]

pub const NAME: &str = "Loomwright";

// Rooms
pub const PLAN: &str = "Plan";
pub const DRAW: &str = "Draw";
pub const CHECK: &str = "Check";
pub const BUILD: &str = "Build";
pub const TEST_ROOM: &str = "Test";
pub const LOG: &str = "Log";
pub const ROOMS: &str = "Rooms";

// Projects and files
pub const PROJECT_MENU: &str = "Project";
pub const PROJECTS_HERE: &str = "Projects in this browser";
pub const NEW_PROJECT: &str = "New project";
pub const OPEN_SORREL: &str = "Sample: Sorrel (complete aircraft)";
pub const OPEN_TEASEL: &str = "Sample: Teasel (overhead panel)";
pub const OPEN_FILE: &str = "Open a file…";
pub const SAVE_FILE: &str = "Save as a file";
pub const PRINT_SHEET: &str = "Print this sheet";
pub const PRINT_ALL: &str = "Print every sheet";
pub const FORGET: &str = "Remove from this browser";
pub const FORGET_ASK: &str =
    "Remove this project from the browser? Save it as a file first if you want to keep it.";
pub const ABOUT: &str = "About and safety";
pub const CLOSE: &str = "Close";
pub const CANCEL: &str = "Cancel";
pub const UNTITLED: &str = "Untitled";
pub const FILE_TOO_LARGE: &str = "The file is larger than 32 MiB, or the browser cannot read it";
pub const NOT_OPENED: &str = "This file was not opened. Your open project has not changed.";
pub const STORAGE_FULL: &str = "Not saved: the browser's storage is full or switched off. Save the project as a file now, or remove a project from this browser.";
pub const SAMPLE_MISSING: &str = "The sample could not be read";

pub const KEEPING: &str = "Where projects are kept";
pub const KEPT_WHERE: &str = "Your projects are kept in this browser on this device, and nowhere else. Another browser \
                              or device does not see them.";
pub const KEPT_PROMISED: &str =
    "The browser promises not to delete them when the device runs out of room.";
pub const KEPT_COPY: &str = "Save the project as a file at the end of an evening's work, and keep the file on \
                             another device.";
pub const RISK_NO_PROMISE: &str = "The browser does not promise to keep them: it may delete them when the device runs \
                                   out of room.";
pub const RISK_SEVEN_DAYS: &str = "Add this page to the home screen and open it from there. Otherwise this browser may \
                                   delete your projects when you do not open the page for 7 days.";
pub const RISK_PLAIN_HTTP: &str = "This address begins with http, not https: the app does not work without a network, \
                                   and does not warn you when a second window has the same project open. For the \
                                   hangar, open it from an https address, or on the computer that serves it.";

pub const NEW_SHEET: &str = "First sheet";

// Settings
pub const SETTINGS: &str = "Settings";
pub const THEME: &str = "Colors";
pub const THEME_DEVICE: &str = "Match device";
pub const THEME_LIGHT: &str = "Paper";
pub const THEME_DARK: &str = "Dark";
pub const THEME_SUN: &str = "Bright sun";
pub const HAND: &str = "Tool side";
pub const HAND_LEFT: &str = "Left edge";
pub const HAND_RIGHT: &str = "Right edge";
pub const FINGERS: &str = "Fingers while a pen is in use";
pub const FINGERS_MOVE: &str = "Move the sheet";
pub const FINGERS_DRAW: &str = "Draw as well";
pub const PEN_IN_USE: &str = "Pen in use: a finger moves the sheet.";
pub const LET_FINGERS_DRAW: &str = "Let fingers draw";
pub const FINGERS_DRAW_NOW: &str = "Fingers draw as well. You can change this in Settings.";
pub const YOUR_NAME: &str = "Your name (for the log)";

// Editing
pub const UNDO: &str = "Undo";
pub const REDO: &str = "Redo";
pub const UNDONE: &str = "Undone";
pub const REDONE: &str = "Redone";
pub const DELETE: &str = "Delete";

// Loads and endurance
pub const LOADS_BY_PHASE: &str = "Loads by phase";
pub const ENDURANCE: &str = "Endurance without alternator";
/// Heading of the review of failures.
pub const WHAT_STOPS: &str = "What stops if a part fails open";
/// Heading of the noise paper.
pub const NOISE: &str = "Noise in the headset";
/// Asks for what is heard.
pub const WHAT_IS_HEARD: &str =
    "What do you hear? The suspects in this drawing follow, the most likely first.";
/// Nothing to look at.
pub const NO_STATE: &str = "There is no phase yet. Add one in the plan room.";
/// No loop with audio.
pub const NO_AUDIO_LOOP: &str = "No loop includes an audio low or an audio shield.";
/// No suspect.
pub const NO_SUSPECT: &str =
    "No suspect in this drawing: nothing that runs in this phase causes this noise.";
/// The next test of a suspect.
pub const TEST: &str = "Test";
/// What a change means.
pub const IF_CHANGED: &str = "If it changes";
/// What no change means.
pub const IF_SAME: &str = "If it does not change";
/// Where to put the meter.
pub const METER: &str = "Meter";
/// The noise changed in a test.
pub const IT_CHANGED: &str = "It changed";
/// The noise stayed the same in a test.
pub const IT_STAYED: &str = "It stayed the same";
/// Selects the records on the drawing.
pub const SHOW_ON_DRAWING: &str = "Show on drawing";
/// Heading of the figures that no drawing holds.
pub const NOISE_FIGURES_TITLE: &str = "Values that no drawing holds";
/// The figures, in the core's order.
pub const NOISE_FIGURES: [&str; 8] = [
    "Engine speed, 1/min",
    "Alternator turns per engine turn",
    "Pole pairs of the alternator",
    "Ripple current, A rms",
    "Inductance of wires, µH/m",
    "Inductance of a bond, µH",
    "Microphone level, mV rms",
    "Headphone level, mV rms",
];

/// How many loops the returns have.
pub fn returns(independent: usize, benign: usize) -> String {
    format!(
        "Return loops: {independent}, {benign} of them parallel power grounds, which do no harm."
    )
}

/// What a loop adds.
pub fn at_most_in_audio(level: &str) -> String {
    format!("At most {level} in the audio")
}

/// What a test showed, and who made it.
pub fn found_by(outcome: &str, who: &str, date: &str) -> String {
    format!("Found: {outcome} ({who}, {date})")
}

/// Heading of the paper of wires that are always live.
pub const ALWAYS_HOT: &str = "Always hot";
/// Heading of the review of shorts.
pub const WHAT_SHORTS: &str = "What a wire shorted to structure does";
/// Ends a review before it is done.
pub const STOP: &str = "Stop";
/// Said if a review cannot be made.
pub const REVIEW_BROKEN: &str = "The review failed. Reload the page; if it fails again, report it.";

pub const AFTER_ALTERNATOR: &str = "Alternator-out case";
pub const AFTER_NONE: &str = "None";
pub const AFTER_NOTHING: &str = "No pilot action";
pub const AFTER_SHED: &str = "Main bus off";
pub const AFTER_ESSENTIAL: &str = "Essential loads only";

pub const RESERVE_HELP: &str = "Share of the capacity that is left, 0 to 1. If empty: charge 1, age 0.8, rate 0.75 (1 with Peukert's exponent), temperature 1, empty at 10 V or 20 V.";
pub const CHARGE_FACTOR: &str = "Charge at start";
pub const AGE_FACTOR: &str = "Capacity left by age";
pub const RATE_FACTOR: &str = "Usable at this rate";
pub const TEMPERATURE_FACTOR: &str = "Capacity at temperature";
pub const RATED_H: &str = "Capacity rating, hours";
pub const EMPTY_OHM: &str = "Resistance when empty, ohm";
pub const PEUKERT: &str = "Peukert's exponent";
pub const BATTERY_CUTOFF_V: &str = "Empty at, V";

/// What recharges the battery in the target time.
pub fn recharge(amps: f64) -> String {
    format!("To recharge the battery in the target time: {amps:.1} A")
}

/// Why something could not be computed.
pub fn not_computed(missing: &str) -> String {
    format!("Not computed: {missing}")
}

// States
pub const STATE: &str = "Phase";
pub const STATE_NONE: &str = "All at rest";
pub const PUT_BACK: &str = "Reset switches";
pub const KEEP_IN_STATE: &str = "Save to this phase";

// Levels
pub const HAZARDS: [&str; 2] = ["hazard", "hazards"];
pub const FAULTS: [&str; 2] = ["fault", "faults"];
pub const CAUTIONS: [&str; 2] = ["caution", "cautions"];
pub const NOTES: [&str; 2] = ["note", "notes"];
pub const UNCHECKED: [&str; 2] = ["not checked", "not checked"];
pub const NOTHING_FOUND: &str = "Nothing found";

// Safety
pub const NOTICE_TITLE: &str = "Before you wire";
pub const NOTICE: [&str; 3] = [
    "Loomwright is an aid for drawing and checking. It can be wrong, and it knows only what you enter.",
    "Local regulation, the equipment maker's manual and the judgment of a licensed person always come first.",
    "Disconnect the battery before you work. Have every new circuit inspected before it flies.",
];
pub const NOTICE_OK: &str = "I understand";
pub const NOTICE_PRINT: &str = "An aid only: local regulation, the maker's manual and a licensed person's judgment come first.";

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
        _ => "Cable",
    }
}

/// "1 hazard", "2 hazards".
pub fn count(n: usize, [one, many]: [&str; 2]) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

// Drawing
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
pub const ADD_DEVICE: &str = "Add a device";
pub const SPLICE_WIRE: &str = "Splice into a wire";
pub const MAKE_CABLE: &str = "Make a cable";
pub const SET_BY_HAND: &str = ", set by hand";
pub const NOT_CHOSEN: &str = "not chosen";
pub const AS_THE_PROJECT: &str = " (as this project)";
pub const UNIT_OF_LENGTHS: &str = "Unit of lengths";
pub const GAUGE_OF_ROWS: &str = "Gauge, rows without one";
pub const HINT_EMPTY: &str = "Nothing is drawn here yet. Choose Device and begin with a battery.";
pub const HINT_EMPTY_SHEET: &str =
    "This sheet is empty. Choose Device to add devices, or to show some of the aircraft here.";
pub const REMOVE_HERE: &str = "Remove from this sheet";
pub const DELETE_DEVICE: &str = "Delete from the aircraft";
pub const SHEETS_COUNTED: [&str; 2] = ["sheet", "sheets"];

/// What deleting a device reaches.
pub fn reach(sheets: usize, wires: usize) -> String {
    format!(
        "Shown on {}; {} {} at it.",
        count(sheets, SHEETS_COUNTED),
        count(wires, WIRES),
        if wires == 1 { "ends" } else { "end" }
    )
}

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

// Findings
pub const FINDINGS: &str = "Findings";
pub const FINDINGS_HERE: &str = "Findings here";
pub const NOT_CHECKED: [&str; 2] = ["not checked: value missing"; 2];
pub const ACCEPTED: [&str; 2] = ["accepted with a reason"; 2];
pub const ACCEPTED_BECAUSE: &str = "Accepted:";
pub const ACCEPT: &str = "Accept";
pub const ACCEPT_REASON: &str = "Accept it because";
pub const ACCEPT_NO_MORE: &str = "Withdraw acceptance";
pub const MEND_SAFE: &str = "no electrical change";
pub const MEND_ASK: &str = "changes the design";
/// After what a fix does to breakers and fuses.
pub const MEND_AGAIN: &str = "Tap again to change it.";
pub const NOT_OFFERED: &str = "Tried and not offered";
pub const SOURCES: &str = "Sources";
pub const BUILDER: &str = "the builder";

/// The counts in one line. They add up.
pub fn examined(
    examined: usize,
    clear: usize,
    found: usize,
    accepted: usize,
    unchecked: usize,
) -> String {
    format!(
        "{examined} checks made: {clear} passed, {found} findings, {accepted} accepted, {unchecked} not checked."
    )
}

// Details
pub const NOTHING_SELECTED: &str = "Tap a device, a wire or a cable to see its details.";
pub const SELECTED: [&str; 2] = ["selected"; 2];
pub const MAKE_SHIELDED: &str = "Make a shielded cable";
pub const MAKE_PLAIN: &str = "Make an unshielded cable";
pub const NOT_SAID: &str = "not set";
pub const TAG: &str = "Tag";
pub const WHAT: &str = "What it is";
pub const PLACE: &str = "Place";
pub const KIND: &str = "Kind";
pub const CRITICAL: &str = "Must survive any single failure";
/// Twins and stand-bys of a device.
pub const INDEPENDENT_OF: &str = "Must not fail together with (tags)";
/// Opening time of a protector.
pub const TRIP_S: &str = "Trip time at 2x rating, s";
/// Part of the time that a load works.
pub const DUTY: &str = "Duty cycle, 0 to 1";
pub const SHED_AFTER_MIN: &str = "Loads shed after, min";
pub const RECHARGE_H: &str = "Recharge within, hours";
/// What surrounds wires.
pub const AMBIENT_C: &str = "Warmest air around wires, °C (70 if empty)";
pub const ALTITUDE_FT: &str = "Highest altitude, ft (20,000 if empty)";
/// Pieces of route.
pub const ROUTES: &str = "Routes";
pub const ROUTES_HELP: &str = "Wires in one route form one bundle: each carries less current, and noise couples between them.";
pub const ADD_ROUTE: &str = "Add a route";
pub const NEW_ROUTE: &str = "New route";
pub const ROUTE: &str = "Route";
pub const ROUTE_M: &str = "Route length, m";
pub const ROUTE_FROM: &str = "From place";
pub const ROUTE_TO: &str = "To place";
pub const ROUTE_OF_WIRE: &str = "Routes (titles, separated by ;)";
pub const SOURCE: &str = "Source of pins and values";
pub const NOTE: &str = "Note";
pub const TERMINALS: &str = "Terminals";
pub const ADD_TERMINAL: &str = "Add a terminal";
pub const TERMINAL_LABEL: &str = "Pin";
pub const TERMINAL_NAME: &str = "Name";
pub const ROLE: &str = "Role";
pub const BIT_PER_S: &str = "Rate, bit/s";
pub const LEVEL_V: &str = "Level, V rms";
pub const BIAS_V: &str = "Microphone supply, V";
pub const COVERED: &str = "unused, insulated";
pub const NOT_ON_SHEET: &str = "Not on the open sheet";
pub const BEGIN_WIRE: &str = "Start a wire here";
pub const LOAD: &str = "Load";
pub const PROTECTION: &str = "Protection";
pub const SWITCH: &str = "Switch";
pub const JACK: &str = "Jack";
pub const BATTERY: &str = "Battery";
pub const ALTERNATOR: &str = "Alternator";
pub const RESISTOR: &str = "Resistor";
pub const COIL: &str = "Coil";
pub const CONTACT: &str = "Contact";
pub const DIODE: &str = "Diode";
pub const CONTINUOUS_A: &str = "Continuous, A";
pub const INTERMITTENT_A: &str = "Intermittent, A";
pub const WEIGHT_KG: &str = "Weight, kg";
pub const PEAK_A: &str = "Peak, A";
pub const ORIGIN: &str = "Source of value";
pub const AT_V: &str = "At, V";
pub const SORT: &str = "Load type";
pub const PULSES: &str = "Noise type";
pub const LOAD_CUTOFF_V: &str = "Stops working below, V";
pub const EITHER_WAY: &str = "Works in either polarity";
pub const LAW: &str = "Load behavior";
pub const RATING_A: &str = "Rating, A";
pub const PULL: &str = "Pull";
pub const PUSH_IN: &str = "Reset";
pub const ISOLATED: &str = "Body isolated from its mount";
pub const EMF_V: &str = "Open-circuit voltage, V";
pub const INNER_OHM: &str = "Internal resistance, ohm";
pub const CAPACITY_AH: &str = "Capacity, Ah";
pub const SET_V: &str = "Set point, V";
pub const LIMIT_A: &str = "Limit, A";
pub const OHM: &str = "Resistance, ohm";
pub const FORWARD_V: &str = "Forward voltage, V";
pub const PULL_IN_V: &str = "Pull-in voltage, V";
pub const NUMBER: &str = "Number";
pub const GAUGE: &str = "Gauge";
pub const COLOUR: &str = "Color";
pub const LENGTH: &str = "Length";
pub const LENGTH_M: &str = "Length, m";
pub const LENGTH_FT: &str = "Length, ft";
pub const FUNCTION: &str = "Function";
pub const STATUS: &str = "Build status";
pub const INSULATION_C: &str = "Insulation, °C";
pub const CONDUCTOR: &str = "Conductor";
pub const FUSE_A: &str = "In-line fuse, A";
pub const NOT_SOLVED: &str = "not computed";
pub const DROP: &str = "drop";
pub const CABLE_LABEL: &str = "Cable";
pub const CORES: &str = "Conductors";
pub const HAS_SHIELD: &str = "Shielded";
pub const SHIELD: &str = "Shield";
pub const SHIELD_AT: &str = "Shield at";
pub const SHIELD_TO: &str = "Shield connects to";
pub const SHIELD_CHOOSE: &str =
    "Choose where the shield connects. Until then this end is floating.";
pub const PIGTAIL_MM: &str = "Pigtail, mm";
pub const SPLICE_LABEL: &str = "Splice";
pub const WIRES_HERE: &str = "Wires";
pub const PLACE_NAME: &str = "Place";
pub const CONDUCTIVE: &str = "Conductive metal";
pub const BONDED_TO: &str = "Bonded to";
pub const BOND_OHM: &str = "Bond resistance, ohm";
pub const SHEET_TITLE: &str = "Title";
pub const SHEET_NUMBER: &str = "Sheet number";
pub const PAPER: &str = "Paper";
pub const REMOVE_SHEET: &str = "Remove this sheet";
pub const REMOVE_SHEET_HELP: &str = "Devices and wires stay in the aircraft when you remove a sheet; they are no longer drawn there.";
pub const WANT_NUMBER: &str = "Enter a number";

/// "At least 0".
pub fn at_least(least: &str) -> String {
    format!("At least {least}")
}

// Devices
pub const IN_AIRCRAFT: &str = "In the aircraft, not on this sheet";
pub const METAL: &str = "Metal of";
pub const NO_SUCH_PART: &str = "No match. For a unit that is not listed, choose a plain one under \"Connectors, units of your own\", or paste its pin table below.";

/// "12 more: type a part of the tag".
pub fn more(n: usize) -> String {
    format!("{n} more: type a part of the tag")
}

// Lists
pub const WIRE_LIST: &str = "Wire list";
pub const WIRES: [&str; 2] = ["wire", "wires"];
pub const WIRES_OF_SHEET: &str = "Wires of this sheet";
pub const SHOW_ONLY: &str = "Show only…";
pub const EDIT_CELL: &str = "Edit";
pub const CHOOSE_MORE: &str = "Select range";
pub const FILL_DOWN: &str = "Fill down";
pub const COUNT_ON: &str = "Continue numbering";
pub const DELETE_WIRES: &str = "Delete wires";
pub const SHOW_ON_SHEET: &str = "Show on its sheet";
pub const DRAW_WIRES: &str = "Draw wires";
pub const SEVERAL_PINS: &str = "Several pins";
pub const HINT_SEVERAL: &str =
    "Drag along the pins of one device, then along those of the other, or tap the first of them.";
/// A terminal that no source holds at a voltage.
pub const NO_VOLTS: &str = "volts unknown";

/// ", 1.50 A".
pub fn in_amps(amps: f64) -> String {
    format!(", {amps:.2} A")
}

pub const LET_GO: &str = "Reset path";
pub const AGAIN: &str = "Repeat on next pins";
pub const FOLLOW: &str = "Follow this circuit";
pub const FIND: &str = "Find";
pub const FIND_HELP: &str = "A tag, a number, a function, a pin…";
pub const FOUND_NOTHING: &str = "No match";
pub const MOVE_END: &str = "Move an end";
pub const MOVE_END_HELP: &str = "Choose another pin to see what would change.";
pub const TRY_IT: &str = "Show what changes";
pub const DO_IT: &str = "Move it";
pub const NO_NEW_FINDINGS: &str = "Findings stay the same.";
pub const WOULD_COME: &str = "New:";
pub const WOULD_GO: &str = "Gone:";
pub const WORSE: &str = "Worse:";
pub const FROM_PINS: &str = "From a pin table…";
pub const FROM_PINS_HELP: &str = "Copy the table from the maker's manual: pin, function and, if it has one, connector. The role of each pin is guessed from its function. Check each one.";
pub const FROM_PINS_MAKE: &str = "Place it";
pub const ONCE_MORE: &str = "Duplicate with wires";
pub const PASTE_LIST: &str = "Paste a wire list…";
pub const PASTE_LIST_HELP: &str = "Copy rows from a spreadsheet, headings first, and paste them here. Devices and pins that do not exist yet are added on new sheets. Enter their loads and ratings afterwards.";
pub const PASTE_LIST_EXAMPLE: &str = "Number\tFrom\tTo\tGauge\tColour\tLength\tFunction\n\
                                      P5A20\tMBUS CB5\tXP1 J106-1\t20\twhite\t1.4\tPOWER";
pub const PASTE_LIST_ENDS: &str = "Choose the columns that hold both ends of each wire.";
pub const PASTE_LIST_MAKE: &str = "Add these wires";
pub const PASTED_LIST: &str = "Added from a pasted list";
pub const PASSED_OVER: &str = "ignore column";
pub const SAVE_SVG: &str = "Save this sheet as SVG";
pub const TYPE_WIRES: &str = "Type wires";
pub const PAPERS: &str = "Papers";
pub const PRINT_PAPER: &str = "Print";
pub const SAVE_CSV: &str = "Save as CSV";
pub const SAVE_HTML: &str = "Save as a page";
pub const GROUP_BY: &str = "Grouped by";
pub const SORTED_BY: &str = "Sorted by";
pub const SET_BESIDE: &str = "Compare with version of";
pub const NOTHING_EARLIER: &str = "No comparison";
pub const CHOSEN_FILE: &str = "the chosen file";
pub const SET_BESIDE_FILE: &str = "Compare with a file…";
pub const NOT_GROUPED: &str = "not grouped";
pub const SERVICE_LOOP_M: &str = "Spare length at each end, m";
pub const SPARE_PERCENT: &str = "Extra on drawn lengths, %";
pub const LABEL_MM: &str = "Height of labels, mm (12, 9, 6)";
pub const NUMBERING: &str = "Numbering scheme";
pub const NUMBER_WIRES: &str = "Number unbuilt wires";
pub const STEP_OF_WIRE: &str = "Build step";
pub const ON_SHELF: &str = "In stock";
pub const READ_VALUE: &str = "Reading";
pub const SAME_LOADS: &str = "Loads and endurance do not change.";
pub const COMPARE: &str = "Compare and merge a file";
pub const COMPARE_HELP: &str = "A co-builder's file, or an earlier file of this project. The differences are listed by record and field. With the file that you both began with, changes of different fields merge without questions.";
pub const OTHER_FILE: &str = "Other file…";
pub const BEGAN_WITH: &str = "Common file…";
pub const CAME: &str = "New findings";
pub const NONE_CAME: &str = "No new finding.";
pub const WENT: &str = "Findings gone";
pub const NONE_WENT: &str = "No finding gone.";
pub const UP_TO: &str = "Changes up to";
pub const THEN: &str = "Before";
pub const NOW: &str = "Now";
pub const HERE: &str = "Mine";
pub const NOT_THERE: &str = "(this sheet does not exist)";
pub const IN_OTHER_FILE: &str = "Other";
pub const NOTHING_DIFFERS: &str = "No differences.";
pub const TAKEN_TOGETHER: &str = "Merge result";
pub const NO_BEGINNING: &str = "Without the common file nobody can say who changed what: you choose for each field that differs, and records that only one file has are kept.";
pub const BOTH_CHANGED: &str =
    "Both files changed these fields. Mine is kept unless you choose the other:";
pub const TAKE_THEIRS: &str = "Use the other";
pub const TAKE_IN: &str = "Merge";
pub const TAKEN_IN: &str = "Merged another file";
pub const ENTRIES: &str = "Entries";
pub const PAGE_WAITS: &str = "Calculating… This project takes long to check.";
pub const WORK_IT_OUT: &str = "Calculate";
pub const CHECKING: &str = "Checking…";
pub const SWAP: &str = "Swap a unit";
pub const SWAP_HELP: &str = "See what the new unit does to its wires, its breaker and the rest of the aircraft before you change anything.";
pub const TAKEN_OUT: &str = "Removed";
pub const PUT_IN: &str = "Installed";
pub const CHOOSE: &str = "Choose…";
pub const UNIT_OF_FILE: &str = "Units from a file…";
pub const FROM_ITS_MANUAL: &str = "Values of the new unit, from its manual or data plate";
pub const WHERE_PINS_GO: &str = "Pin by pin: marking on the old unit, pin of the new unit";
pub const LEFT_OPEN: &str = "None: leave the wire open";
pub const WRITE_IN_LOG: &str = "Add to the log";
pub const SWAP_NOW: &str = "Install the new unit";
pub const SWAPPED: &str = "Unit swapped";
pub const SWAP_THIS: &str = "Swap this unit…";
pub const NEW_ENTRY: &str = "New entry";
pub const ADD_ENTRY: &str = "Add to the log";
pub const ENTRY_KIND: &str = "Kind of entry";
pub const HOURS: &str = "Hours of work";
pub const WRITE_FIRST: &str = "Describe the work first.";
pub const PASSED: &str = "passed";
pub const FAILED: &str = "failed";
pub const CLOSED_UP: &str = "Closed up, out of reach";
pub const CONTACTS: &str = "Contacts on the wire side";
pub const THICKEST_AWG: &str = "Largest wire, AWG";
pub const THINNEST_AWG: &str = "Smallest wire, AWG";
pub const CONTACTS_UNKNOWN: &str = "not set";
pub const CONTACTS_PINS: &str = "pins";
pub const CONTACTS_SOCKETS: &str = "sockets";
pub const STRIP_MM: &str = "Strip length, mm";
pub const TOOL: &str = "Tool and setting";

/// ", 2.5 h".
pub fn hours(hours: f64) -> String {
    format!(", {hours} h")
}

/// What renumbering left alone.
pub fn kept_numbers(built: usize) -> String {
    let wires = count(built, WIRES);
    format!("{wires} kept: wires that are cut or marked keep their numbers")
}

pub const TIDY_SHEET: &str = "Tidy this sheet";
pub const TIDY_CHOSEN: &str = "Tidy selection";
pub const NO_ROOM: &str =
    "Not enough room on this paper. Choose a larger paper, or move something to another sheet.";
pub const NEW_WIRE: &str = "New wire…";
pub const TYPED: &str = "Typed into the wire list";
pub const CLEARED: &str = "Cleared in the wire list";
pub const PASTED: &str = "Pasted into the wire list";
pub const GRID_HINT: &str = "Arrow keys move, typing replaces, Enter edits. Shift selects a range. Copy and paste as in a spreadsheet.";
pub const MOVED: [&str; 2] = ["item moved", "items moved"];
pub const FROM: &str = "From";
pub const TO: &str = "To";
pub const AIRCRAFT: &str = "Project or aircraft";
pub const STATEMENT: &str = "Description, and what must keep working";
pub const SYSTEM_V: &str = "System voltage";
pub const TARGET_MIN: &str = "Target minutes without alternator";
pub const FEET: &str = "Show lengths in feet";
pub const LOADS: &str = "Equipment and loads";
pub const PLACES: &str = "Places";
pub const NEW_PLACE: &str = "New place";
pub const ADD_PLACE: &str = "Add a place";
pub const STATES: &str = "Phases";
pub const STATES_HELP: &str = "A phase is a phase of flight or of a test. Choose it at the top, operate switches and breakers on the drawing, then save them to the phase.";
pub const NEW_STATE: &str = "New phase";
pub const ADD_STATE: &str = "Add a phase";
pub const ALTERNATORS_ON: &str = "Alternators turning";
pub const CONNECTORS: &str = "Connectors";
pub const CONNECTOR: &str = "Connector";
pub const CONNECTOR_STYLE: &str = "Connector type";
pub const CONTACT_A: &str = "Contact rating, A";
pub const ADD_CONNECTOR: &str = "Add a connector";
pub const ADD_ELEMENT: &str = "Add between two terminals";
pub const REMOVE_ELEMENT: &str = "Remove from device";
pub const REMOVE_ROUTE: &str = "Remove this route";
pub const REMOVE_TERMINAL: &str = "Remove this terminal";
pub const ELSEWHERE: &str = "This project was changed in another window. Reload the page to continue with it, or save this one as a file.";
pub const STORAGE_OFF: &str = "Not saved: this browser stores nothing for this page, as in a private window. Save the project as a file before you close it.";
pub const FOLLOWS: &str =
    "This project is open for editing in another window. This window shows its changes.";
pub const EDIT_HERE: &str = "Edit here";
pub const NEWER_FILE: &str = "A newer Loomwright wrote this file. You can look at it and save it unchanged, not edit it. What this version does not know is neither shown nor checked.";
pub const NEWER_PROGRAM: &str = "A newer Loomwright is ready.";
pub const USE_IT: &str = "Update now";
pub const REVISIONS: &str = "Versions";
pub const REVISIONS_HELP: &str = "A version is a copy of the project, kept in its file with who, when and why. You can go back to it. A merge starts from the newest version that both files have.";
pub const KEEP_REVISION: &str = "Keep a version";
pub const KEPT_REVISION: &str = "Version kept";
pub const REASON_WHY: &str = "Reason";
pub const STANDS_FOR: &str = "Marked as";
pub const MARKS: [&str; 3] = ["Not marked", "As built", "Shown for inspection"];
pub const WHAT_CHANGED: &str = "Changes since";
pub const SINCE_INSPECTION: &str = "Changed since the last inspection";
pub const GO_BACK: &str = "Go back to it";
pub const WENT_BACK: &str = "Went back to a version";
pub const EARLIER: &str = "Earlier copies in this browser";
pub const EARLIER_HELP: &str = "The browser keeps a copy every few minutes of work: all of the last hour, then one an hour, then one a day for 30 days.";
pub const LOOK_FOR: &str = "Show them";
pub const NONE_KEPT: &str = "No copies yet.";
pub const RENAME: &str = "Name";
pub const SHARE_FILE: &str = "Share the file\u{2026}";
pub const COPY_LINK: &str = "Copy a project link";
pub const LINK_COPIED: &str = "The link is copied. It holds the project as it is now.";
pub const LINK_TOO_LONG: &str = "This project is too large for a link. Send the file.";
pub const NO_CLIPBOARD: &str = "The browser blocks the clipboard. Send the file.";
pub const LINK_DAMAGED: &str = "The project in this link is damaged and was not opened.";
