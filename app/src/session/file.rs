//! Files in and out, with errors as sentences.

use loomwright_core::{
    document::{Document, limits},
    exchange,
};

/// A larger file is not read.
pub const BYTES_MAX: f64 = limits::MAX_BYTES as f64;

/// A file that was opened.
#[derive(Clone, Debug)]
pub struct Opened {
    /// What it holds.
    pub document: Document,
    /// Its bytes, if a newer program wrote it: then it is only to be looked at.
    pub newer: Option<Vec<u8>>,
}

/// The document in these bytes, or a sentence with line, field and what was expected.
pub fn open(bytes: &[u8]) -> Result<Opened, String> {
    match exchange::open(bytes) {
        Ok(opened) => Ok(Opened {
            newer: opened.is_newer().then(|| bytes.to_vec()),
            document: opened.document,
        }),
        Err(error) => Err(error.to_string()),
    }
}

/// The file of this document.
pub fn save(document: &Document) -> Vec<u8> {
    exchange::save(document)
}
