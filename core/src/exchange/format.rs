//! The name and version of the file format, and how data is written in it.

use serde::Serialize;

/// The value of `"format"`.
pub const FORMAT: &str = "loomwright";

/// The version of the format that this program writes.
pub const VERSION: u64 = 1;

/// Plain data as JSON, indented by two spaces, without a line feed at the end.
pub fn json(data: &impl Serialize) -> String {
    serde_json::to_string_pretty(data).expect("plain data has text keys, and memory takes any text")
}
