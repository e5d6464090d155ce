//! Files the person picks or drops.

use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;

pub use web_sys::File;

/// A file's name and bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picked {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// The file chosen in the file input this event comes from. The input is emptied, so that the
/// same file can be chosen again.
pub fn chosen(event: &web_sys::Event) -> Option<web_sys::File> {
    let input: web_sys::HtmlInputElement = event.target()?.dyn_into().ok()?;
    let file = input.files()?.get(0);
    input.set_value("");
    file
}

/// The file dropped with this event.
pub fn dropped(event: &web_sys::DragEvent) -> Option<web_sys::File> {
    event.prevent_default();
    event.data_transfer()?.files()?.get(0)
}

/// True if an event comes from a field that takes text.
pub fn is_typing(event: &web_sys::Event) -> bool {
    let element = event
        .target()
        .and_then(|it| it.dyn_into::<web_sys::Element>().ok());
    element.is_some_and(|it| matches!(it.tag_name().as_str(), "INPUT" | "TEXTAREA" | "SELECT"))
}

/// Reads a file whole. `None` if the browser cannot read it, or it is larger than `limit_bytes`.
pub async fn read(file: web_sys::File, limit_bytes: f64) -> Option<Picked> {
    if file.size() > limit_bytes {
        return None;
    }
    let buffer = JsFuture::from(file.array_buffer()).await.ok()?;
    Some(Picked {
        name: file.name(),
        bytes: js_sys::Uint8Array::new(&buffer).to_vec(),
    })
}
