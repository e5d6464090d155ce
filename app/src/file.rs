//! Files in and out, with errors as sentences.

use loomwright_core::{document::Document, exchange};

/// The document in these bytes, or a sentence with line, field and what was expected.
pub fn open(bytes: &[u8]) -> Result<Document, String> {
    match exchange::open(bytes) {
        Ok(opened) => Ok(opened.document),
        Err(error) => Err(error.to_string()),
    }
}

/// The file of this document.
pub fn save(document: &Document) -> Vec<u8> {
    exchange::save(document)
}
