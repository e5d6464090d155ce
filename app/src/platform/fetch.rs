//! Reads a file that is served with the app.

use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;

/// The bytes at this address, relative to the page; a sentence if they cannot be had.
pub async fn bytes(url: &str) -> Result<Vec<u8>, String> {
    read(url)
        .await
        .ok_or_else(|| format!("{url} could not be read"))
}

async fn read(url: &str) -> Option<Vec<u8>> {
    let window = web_sys::window()?;
    let answer: web_sys::Response = JsFuture::from(window.fetch_with_str(url))
        .await
        .ok()?
        .dyn_into()
        .ok()?;
    if !answer.ok() {
        return None;
    }
    let buffer = JsFuture::from(answer.array_buffer().ok()?).await.ok()?;
    Some(js_sys::Uint8Array::new(&buffer).to_vec())
}
