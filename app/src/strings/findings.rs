//! Findings, and messages while they are computed.

pub const HAZARDS: [&str; 2] = ["hazard", "hazards"];
pub const FAULTS: [&str; 2] = ["fault", "faults"];
pub const CAUTIONS: [&str; 2] = ["caution", "cautions"];
pub const NOTES: [&str; 2] = ["note", "notes"];
pub const UNCHECKED: [&str; 2] = ["not checked", "not checked"];
pub const NOT_CHECKED: [&str; 2] = ["not checked: value missing"; 2];
pub const ACCEPTED: [&str; 2] = ["accepted with a reason"; 2];
pub const ACCEPTED_BECAUSE: &str = "Accepted:";
pub const ACCEPT: &str = "Accept";
pub const ACCEPT_REASON: &str = "Reason for accepting";
pub const ACCEPT_NO_MORE: &str = "Withdraw acceptance";
pub const MEND_SAFE: &str = "no electrical change";
pub const MEND_ASK: &str = "changes the design";
/// After what a fix does to breakers and fuses.
pub const MEND_AGAIN: &str = "Tap again to make the change.";
/// Before a finding that a fix clears, and one that it brings.
pub const GOES: &str = "Goes:";
pub const COMES: &str = "Comes:";
pub const NOT_OFFERED: &str = "Tried and not offered";
/// Findings folded under their cause.
pub const EFFECTS: [&str; 2] = ["more follows from it", "more follow from it"];
pub const SOURCES: &str = "Sources";

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

pub const PAGE_WAITS: &str = "Calculating… This project takes long to check.";
pub const WORK_IT_OUT: &str = "Calculate";
pub const CHECKING: &str = "Checking…";
