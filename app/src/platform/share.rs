//! Handing something on: the system's share sheet, the clipboard, an address.

use js_sys::{Array, Uint8Array};
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;
use web_sys::{File, FilePropertyBag, HtmlDocument, HtmlTextAreaElement, ShareData};

/// Offers a file to the system's share sheet. False if there is none, or it takes no such files; a person
/// who closes it has seen it.
pub async fn file(name: &str, mime: &str, bytes: &[u8]) -> bool {
    let Some(window) = web_sys::window() else {
        return false;
    };
    let data = ShareData::new();
    let options = FilePropertyBag::new();
    options.set_type(mime);
    let parts = Array::of1(&Uint8Array::from(bytes));
    let Ok(file) = File::new_with_u8_array_sequence_and_options(&parts, name, &options) else {
        return false;
    };
    data.set_files(&Array::of1(&file));
    let navigator = window.navigator();
    // A browser without a share sheet has no such function.
    let has = js_sys::Reflect::has(&navigator, &"canShare".into()).unwrap_or(false);
    if !has || !navigator.can_share_with_data(&data) {
        return false;
    }
    // Closing the sheet is an answer as well.
    let _ = JsFuture::from(navigator.share_with_data(&data)).await;
    true
}

/// Puts a text on the clipboard. False if the browser will not.
pub async fn copy(text: &str) -> bool {
    let Some(window) = web_sys::window() else {
        return false;
    };
    let navigator = window.navigator();
    // A page from plain http has none.
    let has = js_sys::Reflect::get(&navigator, &"clipboard".into()).is_ok_and(|it| it.is_object());
    if has
        && JsFuture::from(navigator.clipboard().write_text(text))
            .await
            .is_ok()
    {
        return true;
    }
    copy_selected(text).unwrap_or(false)
}

/// The older way: what is selected in a field goes to the clipboard.
fn copy_selected(text: &str) -> Option<bool> {
    let document: HtmlDocument = web_sys::window()?.document()?.dyn_into().ok()?;
    let field = document.create_element("textarea").ok()?;
    let field: HtmlTextAreaElement = field.dyn_into().ok()?;
    field.set_class_name("spoken");
    field.set_value(text);
    document.body()?.append_child(&field).ok()?;
    field.select();
    let copied = document.exec_command("copy").unwrap_or(false);
    field.remove();
    Some(copied)
}

/// This page's address without anything behind it.
pub fn address() -> String {
    let location = web_sys::window().map(|window| window.location());
    let part = |it: fn(&web_sys::Location) -> Result<String, wasm_bindgen::JsValue>| {
        location
            .as_ref()
            .and_then(|all| it(all).ok())
            .unwrap_or_default()
    };
    part(web_sys::Location::origin) + &part(web_sys::Location::pathname)
}
