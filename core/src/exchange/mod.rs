//! Files: one JSON layout, described in `FORMAT.md` in this folder. A file opens completely or not
//! at all.

mod again;
pub mod cells;
pub mod compare;
mod error;
mod format;
mod headings;
pub mod list;
pub mod merge;
pub mod migrate;
pub mod packed;
pub mod pins;
pub mod revisions;
mod scan;
#[cfg(test)]
mod tests;

use serde::Serialize;
use serde_json::Value;

pub use self::{
    again::Texts,
    error::OpenError,
    format::{FORMAT, VERSION, json},
    merge::MergeError,
};
use crate::document::{Document, invariants, limits, read::read};

/// A file that was opened.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// Its content.
    pub document: Document,
    /// Its format version.
    pub version: u64,
}

impl Opened {
    /// True if a newer program wrote it. Show it and never save it: content that this program
    /// doesn't know would be lost or contradicted.
    pub fn is_newer(&self) -> bool {
        self.version > VERSION
    }
}

/// Opens a file.
///
/// # Errors
/// [`OpenError`], with line, field and what was expected. Then nothing is loaded: there are no
/// half-loaded documents.
pub fn open(bytes: &[u8]) -> Result<Opened, OpenError> {
    if bytes.len() > limits::MAX_BYTES {
        return Err(OpenError::TooLarge { bytes: bytes.len() });
    }
    // A text editor may have added a byte-order mark.
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let version = scan::header(bytes)?;
    let mut tree: Value =
        serde_json::from_slice(bytes).map_err(|error| OpenError::from_json(&error, ".".into()))?;
    migrate::bring_up(&mut tree, version, &migrate::STEPS);
    let newer = |error: OpenError| match version > VERSION {
        true => OpenError::Newer {
            line: scan::line_of(bytes, "version"),
            version,
            why: error.to_string(),
        },
        false => error,
    };
    let mut document: Document = read(&tree).map_err(|fault| {
        let line = scan::line_of(bytes, &fault.path);
        newer(OpenError::from_fault(fault, line))
    })?;
    // These two are the file's, not the document's.
    document.extra.remove("format");
    document.extra.remove("version");
    for wire in document.wires.values_mut() {
        wire.drop_assumed_gauge();
    }
    let broken = invariants::broken(&document);
    match broken.first() {
        None => Ok(Opened { document, version }),
        Some(first) => Err(newer(OpenError::Field {
            line: scan::line_of(bytes, &first.path),
            path: first.path.clone(),
            why: first.why.clone(),
            more: broken.len() - 1,
        })),
    }
}

/// The file of a document: the same document gives the same bytes.
pub fn save(document: &Document) -> Vec<u8> {
    #[derive(Serialize)]
    struct File<'d> {
        format: &'static str,
        version: u64,
        #[serde(flatten)]
        document: &'d Document,
    }
    let file = File {
        format: FORMAT,
        version: VERSION,
        document,
    };
    (json(&file) + "\n").into_bytes()
}
