//! Paper.

/// Opens the browser's print dialogue.
pub fn print() {
    if let Some(window) = web_sys::window() {
        // A browser without printing does nothing.
        let _ = window.print();
    }
}
