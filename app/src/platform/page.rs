//! The page itself: theme, address, width.

/// Sets `data-NAME` on the page's root element; the styles read it.
pub fn set_root(name: &str, value: &str) {
    if let Some(root) = web_sys::window()
        .and_then(|window| window.document())
        .and_then(|document| document.document_element())
    {
        // A browser that refuses an attribute shows the plain theme.
        let _ = root.set_attribute(&format!("data-{name}"), value);
    }
}

/// True if this media query holds now.
pub fn matches(query: &str) -> bool {
    web_sys::window()
        .and_then(|window| window.match_media(query).ok().flatten())
        .is_some_and(|list| list.matches())
}

/// What follows `#` in the address.
pub fn hash() -> String {
    web_sys::window()
        .and_then(|window| window.location().hash().ok())
        .unwrap_or_default()
        .trim_start_matches('#')
        .to_owned()
}

/// A text as a selector takes it: keys of records may hold anything.
pub fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

/// Asks a yes-or-no question in the browser's own words.
pub fn confirm(question: &str) -> bool {
    web_sys::window()
        .and_then(|window| window.confirm_with_message(question).ok())
        .unwrap_or(false)
}
