//! If our own code breaks: say so, and say that the work is safe.

use std::panic;

/// Shows the crash page (`#crash` in `index.html`) when the program stops with a panic.
pub fn install() {
    panic::set_hook(Box::new(|info| {
        let place = info
            .location()
            .map(|at| format!("{}:{}", at.file(), at.line()))
            .unwrap_or_default();
        let said = info
            .payload()
            .downcast_ref::<&str>()
            .map(|text| (*text).to_owned())
            .or_else(|| info.payload().downcast_ref::<String>().cloned())
            .unwrap_or_default();
        show(&format!("{said} ({place})"));
    }));
}

fn show(what: &str) {
    let Some(document) = web_sys::window().and_then(|window| window.document()) else {
        return;
    };
    if let Some(text) = document.get_element_by_id("crash-text") {
        text.set_text_content(Some(what));
    }
    if let Some(page) = document.get_element_by_id("crash") {
        // Nothing more can be done if the browser refuses.
        let _ = page.remove_attribute("hidden");
    }
}
