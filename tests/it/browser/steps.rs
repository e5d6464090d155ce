//! What a person does again and again, in the app's own words.

use serde_json::Value;

use super::page::quoted;
use super::{At, Page};

/// What the app's menus call things.
pub const NEW_PROJECT: &str = "New project";
pub const OPEN_TEASEL: &str = "Sample: Teasel (overhead panel)";
pub const SAVE_FILE: &str = "Save as a file";
pub const PRINT_ALL: &str = "Print every sheet";
pub const COPY_LINK: &str = "Copy a project link";

/// Reads the notice of the first visit and waits for the drawing.
pub async fn begin(page: &Page) {
    page.wait_for("#dialog button.main").await;
    page.press("#dialog button.main").await;
    page.wait_until("the notice goes", "!document.querySelector('#dialog')", 10)
        .await;
    page.wait_for("#drawing .g-frame").await;
}

/// Comes back after the browser was closed. What it wrote to its small storage in the last seconds may not be on the
/// disk yet: then the notice is shown again.
pub async fn come_back(page: &mut Page) {
    page.come_back().await;
    page.wait_for("#drawing .g-item").await;
    if page.count("#dialog button.main").await > 0 {
        begin(page).await;
    }
}

/// Chooses an entry of the project menu.
pub async fn menu(page: &Page, entry: &str) {
    page.press("button.project").await;
    page.press_named("#dialog .menu button", entry).await;
    page.wait_until("the menu closes", "!document.querySelector('#dialog')", 10)
        .await;
}

/// Waits until the first check is done and its counts are known.
pub async fn checked(page: &Page) {
    let known = "document.querySelector('.strip .counts')?.textContent.includes('–') === false";
    page.wait_until("the check is done", known, 20).await;
}

/// Opens the sample of the overhead panel.
pub async fn open_teasel(page: &Page) {
    begin(page).await;
    menu(page, OPEN_TEASEL).await;
    page.wait_for(&pin("terminal:jk8/ring")).await;
}

/// Opens the cut list and leaves the lines of one wire in it.
pub async fn cut_list_of(page: &Page, number: &str) {
    page.press_named(".room-tab", "Build").await;
    page.press_named(".paper-choice button", "Cut list and build sheet")
        .await;
    page.fill("input[type=search]", number).await;
    // A tick on the whole list would be lost when the list is cut down.
    page.wait_until(
        "the lines of one wire are left",
        "document.querySelectorAll('#shown-paper tbody tr:not(.paper-group)').length === 1",
        20,
    )
    .await;
}

/// Gives a file to the project menu.
pub async fn open_file(page: &Page, name: &str, content: &[u8]) {
    page.press("button.project").await;
    page.wait_for("#dialog .menu").await;
    page.upload("#dialog input[type=file]", name, content).await;
}

/// Saves the project as a file and gives its bytes.
pub async fn save_file(page: &Page) -> Vec<u8> {
    let before = page.downloads(".json");
    menu(page, SAVE_FILE).await;
    page.downloaded(".json", &before).await.1
}

/// A new project, its sheet empty.
pub async fn begin_empty(page: &Page) {
    begin(page).await;
    menu(page, NEW_PROJECT).await;
    sheet_is_empty(page).await;
}

/// Waits until nothing is on the sheet.
pub async fn sheet_is_empty(page: &Page) {
    let empty = "!document.querySelector('.g-item')";
    page.wait_until("the sheet is empty", empty, 10).await;
}

/// The selector of a pin on the drawing.
pub fn pin(end: &str) -> String {
    format!("#drawing .pin[data-end={}]", quoted(end))
}

/// A place on the drawing, in shares of its width and height.
pub async fn on_drawing(page: &Page, right: f64, down: f64) -> At {
    let area = page
        .eval(
            "(() => { const box = document.querySelector('#drawing').getBoundingClientRect(); \
             return [box.x, box.y, box.width, box.height]; })()",
        )
        .await;
    let part = |index: usize| area[index].as_f64().expect("the drawing has a box");
    At {
        x: part(0) + part(2) * right,
        y: part(1) + part(3) * down,
    }
}

/// Adds the first device that the search finds, at a place of the drawing.
pub async fn add_device(page: &Page, search: &str, at: At) {
    let before = page.count("#drawing .g-item").await;
    page.press(".rail [data-tool=device]").await;
    page.fill(".panel input[type=search]", search).await;
    page.press(".panel [data-part]").await;
    page.press_at(at).await;
    let more = format!(
        "document.querySelectorAll('#drawing .g-item').length === {}",
        before + 1
    );
    page.wait_until("the device is on the sheet", &more, 10)
        .await;
}

/// The selector of the first field with this label inside of an element.
pub async fn field(page: &Page, inside: &str, label: &str) -> String {
    let found = format!(
        "[...document.querySelectorAll({})].flatMap(one => [...one.querySelectorAll('label')])\
         .find(one => one.querySelector('span')?.textContent.trim() === {})?.querySelector('input, select, textarea')",
        quoted(inside),
        quoted(label)
    );
    page.wait_until(label, &found, 10).await;
    page.eval(&format!(
        "({found}).setAttribute('data-journey-field', {})",
        quoted(label)
    ))
    .await;
    format!("[data-journey-field={}]", quoted(label))
}

/// Says of the selected jack's body whether it is isolated.
pub async fn say_of_jack(page: &Page, is_isolated: bool) {
    let body = field(page, ".panel .element", "Body of the jack").await;
    page.choose(&body, if is_isolated { "yes" } else { "no" })
        .await;
}

/// The ends of the pins of one item, by the item's place in the drawing.
pub async fn ends_of_item(page: &Page, index: usize) -> Vec<String> {
    let ends = format!(
        "[...document.querySelectorAll('#drawing .g-item')[{index}].querySelectorAll('.pin')]\
         .map(pin => pin.dataset.end)"
    );
    let ends = page.eval(&ends).await;
    let ends = ends.as_array().cloned().unwrap_or_default();
    ends.iter()
        .filter_map(Value::as_str)
        .map(str::to_owned)
        .collect()
}

/// Selects the device that has this pin, by its body.
pub async fn select_device_with(page: &Page, end: &str) {
    let mark = format!(
        "(() => {{ const item = document.querySelector({}).closest('.g-item'); \
         item.setAttribute('data-journey', 'wanted'); return true; }})()",
        quoted(&pin(end))
    );
    page.eval(&mark).await;
    page.press(".rail [data-tool=select]").await;
    // It may lie outside of what is shown.
    page.press(".zoom [aria-label='Whole sheet']").await;
    page.press("#drawing [data-journey=wanted]").await;
    page.wait_for(".panel .element, .panel .pair").await;
}

/// The project as the browser's storage holds it.
pub async fn stored_project(page: &Page) -> Value {
    let text = page
        .eval(
            "(() => { const index = JSON.parse(localStorage.getItem('loomwright.index')); \
             const slots = ['a', 'b'].map((slot) => \
                localStorage.getItem('loomwright.project.' + index.open + '.' + slot)); \
             const turn = (text) => text ? parseInt(text, 10) : -1; \
             const newest = turn(slots[0]) > turn(slots[1]) ? slots[0] : slots[1]; \
             return newest?.slice(newest.indexOf('\\n') + 1) ?? null; })()",
        )
        .await;
    let text = text.as_str().expect("the open project is stored");
    serde_json::from_str(text).expect("what is stored can be read")
}
