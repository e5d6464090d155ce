//! The outlines of flags.

/// A dashed circle with a question mark, for what could not be checked.
const NOT_CHECKED_SIGN: &str = "M7.9 1.2A8 8 0 0 1 6.4 4.8M4.8 6.4A8 8 0 0 1 1.2 7.9M-1.2 7.9A8 8 0 0 1 -4.8 6.4M-6.4 4.8A8 8 0 0 1 -7.9 1.2M-7.9 -1.2A8 8 0 0 1 -6.4 -4.8M-4.8 -6.4A8 8 0 0 1 -1.2 -7.9M1.2 -7.9A8 8 0 0 1 4.8 -6.4M6.4 -4.8A8 8 0 0 1 7.9 -1.2M-2.6 -2.2a2.6 2.6 0 1 1 3.6 2.4Q0 0.8 0 2.2M0 4.6V4.9";

/// The outline of a finding's flag by level, around the origin, 16 across. The shape alone shows the
/// level.
pub fn flag_path(level: &str) -> &'static str {
    match level {
        "hazard" => "M-3.5 -8.5H3.5L8.5 -3.5V3.5L3.5 8.5H-3.5L-8.5 3.5V-3.5z",
        "fault" => "M0 -9.5L9.5 0 0 9.5 -9.5 0z",
        "caution" => "M-9 7.5L0 -9 9 7.5z",
        "note" => "M0 -7a7 7 0 1 0 0.01 0z",
        _ => NOT_CHECKED_SIGN,
    }
}
