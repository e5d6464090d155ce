//! What a grid needs of the page: which cell was pressed, an input laid over a cell, the clipboard.

use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlElement, HtmlInputElement};

use super::page;

pub use web_sys::ClipboardEvent;

/// The row's key and the column of the cell that an event happened in.
pub fn cell_of(event: &Event) -> Option<(String, usize)> {
    let target: Element = event.target()?.dyn_into().ok()?;
    let cell = target.closest("td").ok()??;
    let row = cell.closest("tr").ok()??;
    let mut column = 0;
    let mut before = cell.previous_element_sibling();
    while let Some(cell) = before.filter(|cell| cell.tag_name() == "TD") {
        column += 1;
        before = cell.previous_element_sibling();
    }
    Some((row.get_attribute("data-row")?, column))
}

fn find(selector: &str) -> Option<HtmlElement> {
    let document = web_sys::window()?.document()?;
    document.query_selector(selector).ok()??.dyn_into().ok()
}

fn cell(grid: &str, row: &str, column: usize) -> Option<HtmlElement> {
    find(&format!(
        "#{grid} tr[data-row={}] td:nth-of-type({})",
        page::quoted(row),
        column + 1
    ))
}

/// Brings a cell into view.
pub fn show(grid: &str, row: &str, column: usize) {
    if let Some(cell) = cell(grid, row, column) {
        let options = web_sys::ScrollIntoViewOptions::new();
        options.set_block(web_sys::ScrollLogicalPosition::Nearest);
        options.set_inline(web_sys::ScrollLogicalPosition::Nearest);
        cell.scroll_into_view_with_scroll_into_view_options(&options);
    }
}

/// Puts the input over a cell with this text and the cursor into it. At once, while the press or key is
/// handled: only then does a tablet bring up its keyboard.
pub fn open(input: &HtmlInputElement, grid: &str, row: &str, column: usize, text: &str) {
    let Some(cell) = cell(grid, row, column) else {
        return;
    };
    let style = input.style();
    for (name, px) in [
        ("left", cell.offset_left()),
        ("top", cell.offset_top()),
        ("min-width", cell.offset_width()),
        ("height", cell.offset_height()),
    ] {
        // A browser that refuses a length shows the input where it was.
        let _ = style.set_property(name, &format!("{px}px"));
    }
    input.set_value(text);
    input.set_hidden(false);
    let _ = input.focus();
    input.select();
}

/// Puts the cursor behind the text.
pub fn to_end(input: &HtmlInputElement) {
    let end = input.value().encode_utf16().count() as u32;
    let _ = input.set_selection_range(end, end);
}

/// Takes the input away and gives the keys back to the grid.
pub fn close(input: &HtmlInputElement, grid: &str) {
    input.set_hidden(true);
    super::focus::focus(grid);
}

/// The text on the clipboard.
pub fn pasted(event: &ClipboardEvent) -> Option<String> {
    event.clipboard_data()?.get_data("text/plain").ok()
}

/// Puts a text on the clipboard in place of what the browser would.
pub fn copy(event: &ClipboardEvent, text: &str) {
    if let Some(data) = event.clipboard_data()
        && data.set_data("text/plain", text).is_ok()
    {
        event.prevent_default();
    }
}
