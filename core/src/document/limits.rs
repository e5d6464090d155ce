//! Limits of a document, enforced on every file and every edit.

/// Largest file, bytes: 32 MiB.
pub const MAX_BYTES: usize = 32 * 1024 * 1024;
/// Most records in one document, all kinds together.
pub const MAX_RECORDS: usize = 100_000;
/// Longest text, characters.
pub const MAX_TEXT: usize = 10_000;
/// Longest id, characters.
pub const MAX_ID: usize = 200;
/// Deepest nesting of objects and lists in a file.
pub const MAX_DEPTH: usize = 32;
/// Most positions of one switch: the circuit keeps which of them close a contact in 64 bits.
pub const MAX_POSITIONS: usize = 64;
/// Farthest from a sheet's corner that anything may be placed, mm.
pub const MAX_SHEET_MM: f64 = 10_000.0;

/// Most strokes of ink on one sheet.
pub const MAX_INK_STROKES: usize = 2_000;
/// Widest stroke of ink, mm.
pub const MAX_INK_MM: f64 = 20.0;

/// True if the text is within [`MAX_TEXT`].
pub fn text_fits(text: &str) -> bool {
    // There are never fewer bytes than characters, so most texts pass without counting.
    text.len() <= MAX_TEXT || text.chars().count() <= MAX_TEXT
}
