//! Counted words.

/// "1 hazard", "2 hazards".
pub fn count(n: usize, [one, many]: [&str; 2]) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

pub const SHEETS_COUNTED: [&str; 2] = ["sheet", "sheets"];
pub const WIRES: [&str; 2] = ["wire", "wires"];
