//! Reads records from a JSON tree and reports the place of an error. All records are read from this
//! one kind of source: a second kind would compile every record twice into the app.

use serde::de::{Deserialize, DeserializeOwned};
use serde_json::Value;

/// A tree that does not match the record's layout.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {why}")]
pub struct Fault {
    /// The field: `wires.w12.gauge_awg`; `.` for the record itself.
    pub path: String,
    /// What was found and what was expected, in serde's words.
    pub why: String,
}

/// Reads a record.
///
/// # Errors
/// [`Fault`] with the first field that is wrong, fields in byte order.
pub fn read<'t, T: Deserialize<'t>>(tree: &'t Value) -> Result<T, Fault> {
    serde_path_to_error::deserialize(tree).map_err(|wrong| Fault {
        path: wrong.path().to_string(),
        why: wrong.inner().to_string(),
    })
}

/// Reads a record from text; `None` if it is invalid.
pub fn read_text<T: DeserializeOwned>(text: &str) -> Option<T> {
    let tree: Value = serde_json::from_slice(text.as_bytes()).ok()?;
    read(&tree).ok()
}
