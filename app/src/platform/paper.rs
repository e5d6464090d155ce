//! What a paper on the screen needs of the page: what was ticked or typed in it, and showing it again with
//! the cursor where it was.

use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlElement, HtmlInputElement};

use super::page;

/// What a person did in a paper.
pub enum Done {
    /// A tick was put in or taken out.
    Ticked(bool),
    /// A value was typed.
    Typed(String),
}

/// What was done, with the key of the tick or field.
pub fn done(event: &Event) -> Option<(String, Done)> {
    let input: HtmlInputElement = event.target()?.dyn_into().ok()?;
    match input.get_attribute("data-tick") {
        Some(key) => Some((key, Done::Ticked(input.checked()))),
        None => Some((
            input.get_attribute("data-entry")?,
            Done::Typed(input.value()),
        )),
    }
}

fn key_of(element: &Element) -> Option<(&'static str, String)> {
    let of = |name| Some((name, element.get_attribute(name)?));
    of("data-tick").or_else(|| of("data-entry"))
}

/// Puts markup into an element. A tick or field that has the cursor has it again afterwards.
pub fn show(id: &str, markup: &str) {
    let Some(document) = web_sys::window().and_then(|window| window.document()) else {
        return;
    };
    let Some(place) = document.get_element_by_id(id) else {
        return;
    };
    let here = document
        .active_element()
        .filter(|it| place.contains(Some(it)));
    let key = here.as_ref().and_then(key_of);
    place.set_inner_html(markup);
    let Some((name, key)) = key else { return };
    let field = place.query_selector(&format!("[{name}={}]", page::quoted(&key)));
    let field = field
        .ok()
        .flatten()
        .and_then(|it| it.dyn_into::<HtmlElement>().ok());
    if let Some(field) = field {
        // A field that cannot take the cursor leaves it with the page.
        let _ = field.focus();
    }
}
