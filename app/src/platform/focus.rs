//! Moves the keyboard's focus.

use wasm_bindgen::JsCast;

/// Puts the focus on the element with this id, without scrolling the page.
pub fn focus(id: &str) {
    let Some(element) = web_sys::window()
        .and_then(|window| window.document())
        .and_then(|document| document.get_element_by_id(id))
        .and_then(|element| element.dyn_into::<web_sys::HtmlElement>().ok())
    else {
        return;
    };
    let options = web_sys::FocusOptions::new();
    options.set_prevent_scroll(true);
    // An element that will not take the focus leaves it where it was.
    let _ = element.focus_with_options(&options);
}

/// Puts the focus on an element of a drawing, without scrolling the page.
pub fn focus_element(element: &web_sys::Element) {
    if let Some(svg) = element.dyn_ref::<web_sys::SvgElement>() {
        let options = web_sys::FocusOptions::new();
        options.set_prevent_scroll(true);
        // As above.
        let _ = svg.focus_with_options(&options);
    }
}
