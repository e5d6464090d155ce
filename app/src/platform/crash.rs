//! If our own code breaks: say so, and offer the work as a file and a report that names nothing of it.

use std::{cell::RefCell, panic};

use web_sys::Document;

use super::download;

thread_local! {
    /// The project's text as it was saved last, with its frame.
    static LAST: RefCell<String> = const { RefCell::new(String::new()) };
}

/// Holds the text that is offered if the program breaks.
pub fn remember(framed: String) {
    LAST.replace(framed);
}

/// Shows the crash page (`#crash` in `index.html`) when the program stops with a panic. `text_of` takes the
/// frame off a saved text.
pub fn install(text_of: fn(&str) -> Option<String>) {
    panic::set_hook(Box::new(move |info| {
        let place = info
            .location()
            .map(|at| format!("{}:{}", at.file(), at.line()))
            .unwrap_or_default();
        // What was said may quote the project; where it was does not.
        show(&place, text_of);
    }));
}

fn show(place: &str, text_of: fn(&str) -> Option<String>) {
    let Some(window) = web_sys::window() else {
        return;
    };
    let Some(document) = window.document() else {
        return;
    };
    let browser = window.navigator().user_agent().unwrap_or_default();
    let report = format!(
        "Loomwright {}\nbroke at {place}\n{browser}\n",
        env!("CARGO_PKG_VERSION")
    );
    if let Some(text) = document.get_element_by_id("crash-text") {
        text.set_text_content(Some(&report));
    }
    offer(&document, "crash-report", "text/plain", &report);
    let last = LAST.try_with(|last| last.try_borrow().ok().and_then(|it| text_of(&it)));
    if let Ok(Some(text)) = last {
        offer(&document, "crash-file", "application/json", &text);
    }
    if let Some(page) = document.get_element_by_id("crash") {
        // Nothing more can be done if the browser refuses.
        let _ = page.remove_attribute("hidden");
    }
}

/// Makes a link download a text.
fn offer(document: &Document, id: &str, mime: &str, text: &str) {
    let link = document.get_element_by_id(id);
    if let (Some(link), Some(url)) = (link, download::address(mime, text.as_bytes())) {
        // As above.
        let _ = link.set_attribute("href", &url);
        let _ = link.remove_attribute("hidden");
    }
}
