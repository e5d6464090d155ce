//! Hands a file to the person.

use wasm_bindgen::JsCast;

/// Downloads these bytes as a file of this name. `false` if the browser would not.
pub fn download(name: &str, mime: &str, bytes: &[u8]) -> bool {
    try_download(name, mime, bytes).is_some()
}

/// An address in this page that gives these bytes.
pub fn address(mime: &str, bytes: &[u8]) -> Option<String> {
    let parts = js_sys::Array::of1(&js_sys::Uint8Array::from(bytes));
    let options = web_sys::BlobPropertyBag::new();
    options.set_type(mime);
    let blob = web_sys::Blob::new_with_u8_array_sequence_and_options(&parts, &options).ok()?;
    web_sys::Url::create_object_url_with_blob(&blob).ok()
}

fn try_download(name: &str, mime: &str, bytes: &[u8]) -> Option<()> {
    let url = address(mime, bytes)?;
    let link: web_sys::HtmlAnchorElement = web_sys::window()?
        .document()?
        .create_element("a")
        .ok()?
        .dyn_into()
        .ok()?;
    link.set_href(&url);
    link.set_download(name);
    link.click();
    web_sys::Url::revoke_object_url(&url).ok()
}

/// A file name made of what a person typed: letters, digits and dashes.
pub fn file_name(title: &str, ending: &str) -> String {
    let stem: String = title
        .chars()
        .map(|c| {
            if c.is_alphanumeric() {
                c.to_ascii_lowercase()
            } else {
                '-'
            }
        })
        .collect();
    let stem = stem.trim_matches('-');
    let stem = if stem.is_empty() { "aircraft" } else { stem };
    format!("{stem}.{ending}")
}
