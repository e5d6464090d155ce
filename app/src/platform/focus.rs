//! Moves the keyboard's focus.

use wasm_bindgen::JsCast;

/// Puts the focus on the element with this id, without scrolling the page.
pub fn focus(id: &str) {
    let found = web_sys::window()
        .and_then(|window| window.document())
        .and_then(|document| document.get_element_by_id(id));
    if let Some(element) = found {
        focus_element(&element);
    }
}

/// Puts the focus on an element of the page or of a drawing, without scrolling the page.
pub fn focus_element(element: &web_sys::Element) {
    let options = web_sys::FocusOptions::new();
    options.set_prevent_scroll(true);
    // An element that will not take the focus leaves it where it was.
    let _ = match (
        element.dyn_ref::<web_sys::HtmlElement>(),
        element.dyn_ref::<web_sys::SvgElement>(),
    ) {
        (Some(html), _) => html.focus_with_options(&options),
        (_, Some(svg)) => svg.focus_with_options(&options),
        _ => Ok(()),
    };
}
