//! The page itself: theme, address, width.

use js_sys::Reflect;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;
use web_sys::Event;

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

/// True if the browser gives this page its small storage.
pub fn has_storage() -> bool {
    web_sys::window().is_some_and(|window| matches!(window.local_storage(), Ok(Some(_))))
}

/// True if this media query holds now.
pub fn matches(query: &str) -> bool {
    web_sys::window()
        .and_then(|window| window.match_media(query).ok().flatten())
        .is_some_and(|list| list.matches())
}

/// What follows `#` in the address.
pub fn hash() -> String {
    let hash = web_sys::window().and_then(|window| window.location().hash().ok());
    hash.unwrap_or_default().trim_start_matches('#').to_owned()
}

/// What follows `?` in the address.
pub fn query() -> String {
    let query = web_sys::window().and_then(|window| window.location().search().ok());
    query.unwrap_or_default().trim_start_matches('?').to_owned()
}

/// Takes what follows `#` out of the address, without a step in the browser's history.
pub fn drop_hash() {
    let Some(window) = web_sys::window() else {
        return;
    };
    let path = window.location().pathname().unwrap_or_default();
    if let Ok(history) = window.history() {
        // A browser that refuses shows a longer address.
        let _ = history.replace_state_with_url(&JsValue::NULL, "", Some(&path));
    }
}

/// What `start.js` dispatches when a newer program is ready, having noted it on the root.
pub const NEWER: &str = "newer-program";

/// True if a newer program is ready.
pub fn has_newer() -> bool {
    let root = web_sys::window()
        .and_then(|window| window.document())
        .and_then(|document| document.document_element());
    root.is_some_and(|root| root.has_attribute("data-newer"))
}

/// Asks for the newer program; `start.js` then reloads the page with it.
pub fn take_newer() {
    if let (Some(window), Ok(event)) = (web_sys::window(), Event::new("take-newer-program")) {
        // Nobody cancels it.
        let _ = window.dispatch_event(&event);
    }
}

/// Asks the browser not to clear what is kept here when it wants room. True if it promises that; none if it has
/// nothing to promise it with.
pub async fn ask_to_stay() -> Option<bool> {
    let navigator = web_sys::window()?.navigator();
    // A page from plain http has no such thing.
    let storage = Reflect::get(&navigator, &"storage".into()).ok()?;
    if !storage.is_object() {
        return None;
    }
    let asked = navigator.storage().persist().ok()?;
    JsFuture::from(asked).await.ok()?.as_bool()
}

/// True if the browser trusts the connection: https, or this same machine. Else it gives the page no use without a
/// network, and no lock against a second window.
pub fn is_trusted() -> bool {
    web_sys::window().is_some_and(|window| window.is_secure_context())
}

/// True for an engine of the `WebKit` family. No feature test shows how it differs: it
/// cuts printed sheets, draws small type wrongly at `geometricPrecision`, and may delete what a page keeps after
/// seven days without a visit.
pub fn is_webkit() -> bool {
    let navigator = web_sys::window().map(|window| window.navigator());
    let vendor = navigator.and_then(|it| Reflect::get(&it, &"vendor".into()).ok()?.as_string());
    vendor.is_some_and(|vendor| vendor.starts_with("Apple"))
}

/// True if the app was opened from the home screen, as a program of its own.
pub fn is_on_home_screen() -> bool {
    matches("(display-mode: standalone)")
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

/// True on a screen where the panel comes from below.
pub fn is_narrow() -> bool {
    matches("(max-width: 700px)")
}

/// A drawing as the address of a picture.
pub fn address_of_svg(svg: &str) -> String {
    let data = String::from(js_sys::encode_uri_component(svg));
    format!("data:image/svg+xml,{data}")
}
