//! Files in and out, with errors as sentences.

use loomwright_core::document::Document;

/// The document in these bytes, or a sentence with line, field and what was expected.
pub fn open(bytes: &[u8]) -> Result<Document, String> {
    serde_json::from_slice(bytes).map_err(|error| error.to_string())
}

/// The file of this document.
pub fn save(document: &Document) -> Vec<u8> {
    serde_json::to_vec_pretty(document).unwrap_or_default()
}
