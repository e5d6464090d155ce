//! The bars: no button of them lies under something else or off the screen.

use super::super::page::quoted;
use super::super::steps::{begin, open_file};
use super::super::{Page, Screen};
use super::Journey;

/// The buttons and fields of the bars that cannot be pressed: at the middle of each something else is found, or
/// nothing. What a bar scrolls is scrolled to first.
const OUT_OF_REACH: &str = "[...document.querySelectorAll(\
    '.bar button, .bar select, .strip button, .rail button, .below button, .panel > header button, .pen-in-use button, .several')]\
    .filter((one) => one.getClientRects().length)\
    .map((one) => { \
        one.scrollIntoView({ block: 'nearest', inline: 'nearest' }); \
        const box = one.getBoundingClientRect(); \
        const found = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2); \
        return one.contains(found) ? null : \
            `${one.getAttribute('aria-label') ?? one.textContent.trim()} at ${Math.round(box.x)},${Math.round(box.y)} \
             is under ${found?.outerHTML.slice(0, 60)}`; })\
    .filter(Boolean)";

async fn all_in_reach(page: &Page, place: &str) {
    let out = page.eval(OUT_OF_REACH).await;
    let out = out.as_array().cloned().unwrap_or_default();
    assert!(out.is_empty(), "{place}: {out:#?}");
}

/// Rooms, sheets and zoom are pressed as a person presses them, and do what they say.
pub async fn every_button_can_be_pressed(journey: &mut Journey<'_>) {
    let page = &mut *journey.page;
    begin(page).await;
    all_in_reach(page, "opened").await;
    for room in 1..=page.count(".room-tab").await {
        let tab = format!(".room-tab:nth-of-type({room})");
        page.press(&tab).await;
        page.wait_for(&format!("{tab}[aria-current]")).await;
        all_in_reach(page, &tab).await;
    }
    page.press(".room-tab:nth-of-type(2)").await;
    page.wait_for("#drawing .g-frame").await;
    let sheets = page.count(".tabs button b").await;
    assert!(sheets > 3, "the sample has sheets: {sheets}");
    for sheet in (1..=sheets.min(4)).rev() {
        let tab = format!(".tabs button:nth-of-type({sheet})");
        page.press(&tab).await;
        page.wait_for(&format!("{tab}[aria-current]")).await;
    }
    let place = "document.querySelector('#drawing > g').getAttribute('transform')";
    for button in [
        ".zoom button:nth-of-type(4)",
        ".zoom button:nth-of-type(3)",
        ".zoom button:nth-of-type(2)",
    ] {
        let before = page.eval(place).await;
        let before = quoted(before.as_str().unwrap_or_default());
        page.press(button).await;
        page.wait_until(button, &format!("{place} !== {before}"), 10)
            .await;
    }
    page.press(".zoom button:nth-of-type(1)").await;
    page.wait_for(".panel .grid").await;
    all_in_reach(page, "wires of the sheet").await;
    page.press(".panel > header button").await;
    page.wait_until("it closes", "!document.querySelector('.panel')", 10)
        .await;
    page.press(".strip .counts").await;
    page.wait_for(".panel .findings").await;
    journey.picture("findings").await;
}

/// Screens of a laptop, of tablets both ways and of a phone, CSS pixels.
const SIZES: [(u32, u32); 6] = [
    (1280, 800),
    (1024, 1366),
    (1024, 768),
    (820, 1180),
    (1180, 820),
    (390, 844),
];

/// The sample with a name of the project, and of a phase, that no bar has room for.
fn with_long_names() -> Vec<u8> {
    const SAMPLE: &[u8] = include_bytes!("../../../../public/samples/sorrel.json");
    let mut project: serde_json::Value = serde_json::from_slice(SAMPLE).expect("it is JSON");
    let long = |what: &str| format!("{what} {}", "of the second aircraft as rebuilt ".repeat(4));
    project["project"]["title"] = long("Wiring").into();
    let states = project["states"].as_object_mut().expect("it has phases");
    let first = states.values_mut().next().expect("it has a phase");
    first["title"] = long("Approach").into();
    serde_json::to_vec(&project).expect("it is JSON")
}

/// With long names, a phase chosen, a switch thrown and a long message, at every size and in every room.
pub async fn no_bar_is_wider_than_the_screen(journey: &mut Journey<'_>) {
    let page = &mut *journey.page;
    begin(page).await;
    open_file(page, "long.json", &with_long_names()).await;
    page.wait_until(
        "it is open",
        "document.querySelector('.bar .title').textContent.startsWith('Wiring of') \
         && !document.querySelector('#dialog') && document.querySelector('#drawing .g-item')",
        20,
    )
    .await;
    // The longest name among the phases.
    page.eval(
        "(() => { const list = document.querySelector('.state select'); \
         const longest = [...list.options].reduce((a, b) => b.text.length > a.text.length ? b : a); \
         list.value = longest.value; list.dispatchEvent(new Event('change', { bubbles: true })); return true; })()",
    )
    .await;
    throw_a_switch(page).await;
    // Nothing can be kept any more, and that is said.
    page.eval(
        "(() => { const full = () => { throw new DOMException('', 'QuotaExceededError'); }; \
         Storage.prototype.setItem = full; IDBObjectStore.prototype.put = full; return true; })()",
    )
    .await;
    page.press(".rail [data-tool=select]").await;
    page.eval("document.querySelector('#drawing .g-item').focus(), true")
        .await;
    page.keys("\u{e014}").await;
    page.wait_for(".strip .refused").await;
    for (width, height) in SIZES {
        let size = format!("{width}x{height}");
        let screen = Screen {
            width,
            height,
            is_touch: false,
        };
        if !page.at_screen(screen).await {
            assert!(width < 500, "{size}: the window can be so large");
            continue;
        }
        for room in 1..=page.count(".room-tab").await {
            let tab = format!(".room-tab:nth-of-type({room})");
            page.press(&tab).await;
            page.wait_for(&format!("{tab}[aria-current]")).await;
            let place = format!("{size}, room {room}");
            let wide = page
                .eval(
                    "[document.documentElement.scrollWidth, document.documentElement.clientWidth]",
                )
                .await;
            let too_wide = wide[0].as_u64() > wide[1].as_u64();
            if too_wide {
                page.screenshot("too-wide").await;
            }
            assert!(!too_wide, "{place}: {wide}");
            all_in_reach(page, &place).await;
        }
        page.press(".room-tab:nth-of-type(2)").await;
        page.wait_for("#drawing .g-frame").await;
        page.screenshot(&format!("bars-{size}")).await;
    }
    // What was refused is an error of the page's own making.
    page.take_console_errors().await;
}

/// Throws the first switch of the sheet by its details.
async fn throw_a_switch(page: &Page) {
    let focused = page
        .eval(
            "(() => { const item = [...document.querySelectorAll('#drawing .g-item')] \
               .find((one) => /at [A-Z]/.test(one.textContent)); \
             item?.focus(); return Boolean(item); })()",
        )
        .await;
    assert_eq!(focused, true, "the sheet has a switch");
    page.keys("\u{e007}").await;
    let switch = ".panel .choices[data-operate] button[aria-pressed=false]";
    page.press(switch).await;
    page.wait_for(".moved").await;
}
