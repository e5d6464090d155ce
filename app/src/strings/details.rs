//! The details of what is selected.

use super::count::{SHEETS_COUNTED, WIRES, count};

pub const RESERVE_HELP: &str = "Share of the capacity that is left, 0 to 1. If not set: charge 1, age 0.8, rate 0.75 (1 with Peukert's exponent), temperature 1, empty at 10 V or 20 V.";
pub const CHARGE_FACTOR: &str = "Charge at start";
pub const AGE_FACTOR: &str = "Capacity left by age";
pub const RATE_FACTOR: &str = "Usable at this rate";
pub const TEMPERATURE_FACTOR: &str = "Capacity at temperature";
pub const RATED_H: &str = "Capacity rating, hours";
pub const EMPTY_OHM: &str = "Resistance when empty, ohm";
pub const PEUKERT: &str = "Peukert's exponent";
pub const BATTERY_CUTOFF_V: &str = "Empty at, V";
pub const NOT_CHOSEN: &str = "not chosen";
pub const NOT_SET: &str = "not set";
pub const REMOVE_HERE: &str = "Remove from this sheet";
pub const DELETE_DEVICE: &str = "Delete from the aircraft";

/// Deletes a device, which so many sheets show.
pub fn delete_device(sheets: usize) -> String {
    format!("{DELETE_DEVICE}: {}", count(sheets, SHEETS_COUNTED))
}

/// What deleting a device reaches.
pub fn reach(sheets: usize, wires: usize) -> String {
    format!(
        "Shown on {}; {} {} at it.",
        count(sheets, SHEETS_COUNTED),
        count(wires, WIRES),
        if wires == 1 { "ends" } else { "end" }
    )
}

pub const FINDINGS_HERE: &str = "Findings here";
pub const NOTHING_SELECTED: &str = "Tap a device, a wire or a cable to see its details.";
pub const SELECTED: [&str; 2] = ["selected"; 2];
pub const MAKE_SHIELDED: &str = "Make a shielded cable";
pub const MAKE_PLAIN: &str = "Make an unshielded cable";
pub const NOT_SAID: &str = "not set";
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
pub const AT_V: &str = "Stated at, V";
pub const SORT: &str = "Load type";
pub const PULSES: &str = "Noise type";
pub const LOAD_CUTOFF_V: &str = "Stops working below, V";
pub const EITHER_WAY: &str = "Works in either polarity";
pub const LAW: &str = "Load behavior";
pub const RATING_A: &str = "Rating, A";
pub const PULL: &str = "Pull";
pub const PUSH_IN: &str = "Reset";
pub const JACK_BODY: &str = "Body of the jack";
pub const JACK_BODY_IS: [&str; 2] = ["isolated by washers", "touches the metal it is mounted in"];
pub const SUPPRESSOR: &str = "Suppressor across the coil";
pub const SUPPRESSOR_IS: [&str; 2] = ["has one inside", "has none"];
pub const DUTY_OF_COIL: &str = "Coil may be on";
pub const DUTY_OF_COIL_IS: [&str; 2] = ["for hours", "for seconds"];
pub const OVER_VOLTAGE_MODULE: &str = "Over-voltage module";
pub const TRIP_V: &str = "Trips at, V";
pub const OVER_VOLTAGE: &str = "Too high a voltage";
pub const OVER_VOLTAGE_IS: [&str; 2] = ["takes it off line", "is not noticed"];
pub const FAILURE_WARNING: &str = "Failure";
pub const FAILURE_WARNING_IS: [&str; 2] = ["a warning shows it", "nothing shows it"];
pub const EMF_V: &str = "Open-circuit voltage, V";
pub const INNER_OHM: &str = "Internal resistance, ohm";
pub const CAPACITY_AH: &str = "Capacity, Ah";
pub const CHEMISTRY: &str = "Chemistry";
pub const CHEMISTRY_IS: [&str; 2] = ["lithium iron phosphate", "lead-acid"];
pub const OPENS_ABOVE_A: &str = "Disconnects at, A";
pub const OPENS_SLOWLY_ABOVE_A: &str = "After seconds at, A";
pub const OPENS_BELOW_V: &str = "Disconnects below, V";
pub const OPENS_ABOVE_V: &str = "Disconnects above, V";
pub const CHARGE_LIMIT_A: &str = "Charging, A at most";
pub const SET_V: &str = "Set point, V";
pub const LIMIT_A: &str = "Limit, A";
pub const OHM: &str = "Resistance, ohm";
pub const FORWARD_V: &str = "Forward voltage, V";
pub const PULL_IN_V: &str = "Pull-in voltage, V";
pub const NUMBER: &str = "Number";
pub const GAUGE: &str = "Gauge";
pub const COLOUR: &str = "Color";
pub const LENGTH: &str = "Length";

/// What a length is, with the unit that the project shows.
pub fn length(what: &str, in_feet: bool) -> String {
    format!("{what}, {}", if in_feet { "ft" } else { "m" })
}

pub const FUNCTION: &str = "Function";
pub const STATUS: &str = "Build status";
pub const LENGTH_ORIGIN: &str = "Length is";
pub const TYPED_VALUE: &str = "typed";
pub const PROJECT_DEFAULT: &str = "project default";
pub const INSULATION_C: &str = "Insulation, °C";
pub const CONDUCTOR: &str = "Conductor";
pub const FUSE: &str = "In-line fuse";
pub const FUSE_AT: [(&str, &str); 3] = [("", "none"), ("from", "at end A"), ("to", "at end B")];
pub const FUSE_A: &str = "Fuse rating, A";
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
pub const MADE_OF: &str = "Made of";
pub const MADE_OF_METAL: [&str; 2] = ["metal that carries current", "not metal"];
pub const BONDED_TO: &str = "Bonded to";
pub const BOND_OHM: &str = "Bond resistance, ohm";
pub const SHEET_TITLE: &str = "Title";
pub const SHEET_LEGEND: &str = "Legend in a free corner";
pub const SHEET_NUMBER: &str = "Sheet number";
pub const PAPER: &str = "Paper";
pub const REMOVE_SHEET: &str = "Remove this sheet";
pub const REMOVE_SHEET_HELP: &str = "Devices and wires stay in the aircraft when you remove a sheet; they are no longer drawn there.";
pub const WANT_NUMBER: &str = "Enter a number";

/// "At least 0".
pub fn at_least(least: &str) -> String {
    format!("At least {least}")
}

/// A terminal that no source holds at a voltage.
pub const NO_VOLTS: &str = "voltage unknown";
pub const LET_GO: &str = "Reset path";
pub const FOLLOW: &str = "Follow this circuit";
pub const MOVE_END: &str = "Move an end";
pub const MOVE_END_HELP: &str = "Choose another pin to see what would change.";
pub const DO_IT: &str = "Move it";
pub const NO_NEW_FINDINGS: &str = "Findings stay the same.";
pub const SAVE_SVG: &str = "Save this sheet as SVG";
pub const CLOSED_UP: &str = "Closed up, out of reach";
pub const CONTACTS: &str = "Contacts on the wire side";
pub const THICKEST_AWG: &str = "Largest wire, AWG";
pub const THINNEST_AWG: &str = "Smallest wire, AWG";
pub const CONTACTS_UNKNOWN: &str = "not set";
pub const CONTACTS_PINS: &str = "pins";
pub const CONTACTS_SOCKETS: &str = "sockets";
pub const KEYING: &str = "Keying";
pub const CONTACT_PART: &str = "Crimp contact";
pub const STRIP_MM: &str = "Strip length, mm";
pub const TOOL: &str = "Crimp tool";
pub const TOOL_SETTING: &str = "Tool setting";
pub const STUD: &str = "Thread of stud or screw";
pub const HOLE_MM: &str = "Hole for washers, mm";
pub const IN_REACH: &str = "Reach in flight";
pub const IN_REACH_IS: [&str; 2] = ["in reach of the pilot", "out of reach"];
pub const TIDY_SHEET: &str = "Tidy this sheet";
pub const TIDY_TAKE: &str = "Move them so";
pub const TIDY_LEAVE: &str = "Leave them";
pub const BEFORE: &str = "Now";
pub const AFTER: &str = "Tidied";

pub fn tidied(when: &str, crossings: usize, corners: usize) -> String {
    format!("{when}: {crossings} crossings, {corners} corners")
}
pub const FROM: &str = "From";
pub const TO: &str = "To";
pub const CONNECTORS: &str = "Connectors";
pub const CONNECTOR: &str = "Connector";
pub const CONNECTOR_STYLE: &str = "Connector type";
pub const CONTACT_A: &str = "Contact rating, A";
pub const ADD_CONNECTOR: &str = "Add a connector";
pub const ADD_ELEMENT: &str = "Add between two terminals";
pub const REMOVE_ELEMENT: &str = "Remove from device";
pub const REMOVE_TERMINAL: &str = "Remove this terminal";
