//! Paper.

use wasm_bindgen::{JsCast, closure::Closure};
use web_sys::Event;

/// Opens the browser's print dialogue.
pub fn print() {
    if let Some(window) = web_sys::window() {
        // A browser without printing does nothing.
        let _ = window.print();
    }
}

/// Before anything is printed, fills the element with this id with what `markup` gives.
pub fn fill_before_print(id: &'static str, markup: impl Fn() -> String + 'static) {
    let fill = Closure::<dyn Fn()>::new(move || {
        let element = web_sys::window()
            .and_then(|window| window.document())
            .and_then(|document| document.get_element_by_id(id));
        if let Some(element) = element {
            element.set_inner_html(&markup());
        }
        // `paper.js` puts it on pages.
        if let (Some(window), Ok(event)) = (web_sys::window(), Event::new("lay-out-paper")) {
            // Nobody cancels it.
            let _ = window.dispatch_event(&event);
        }
    });
    if let Some(window) = web_sys::window() {
        window.set_onbeforeprint(Some(fill.as_ref().unchecked_ref()));
    }
    // The page prints as long as it lives.
    fill.forget();
}
