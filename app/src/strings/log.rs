//! The log room: entries, versions, another file, a unit to swap.

pub const WOULD_COME: &str = "New:";
pub const WOULD_GO: &str = "Resolved:";
pub const WORSE: &str = "Worse:";
pub const SAME_LOADS: &str = "Loads and endurance do not change.";
pub const COMPARE: &str = "Compare and merge a file";
pub const COMPARE_HELP: &str = "A co-builder's file, or an earlier file of this project. The differences are listed by record and field. With the file that you both began with, changes of different fields merge without questions.";
pub const OTHER_FILE: &str = "Other file…";
pub const BEGAN_WITH: &str = "Common file…";
pub const CAME: &str = "New findings";
pub const NONE_CAME: &str = "No new finding.";
pub const WENT: &str = "Resolved findings";
pub const NONE_WENT: &str = "No finding is resolved.";
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

/// ", 2.5 h".
pub fn hours(hours: f64) -> String {
    format!(", {hours} h")
}

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
pub const LOOK_FOR: &str = "Show copies";
pub const NONE_KEPT: &str = "No copies yet.";
pub const RENAME: &str = "Name";
