//! Hands at the drawing.

use super::super::steps::{add_device, begin_empty, ends_of_item, on_drawing, pin, stored_project};
use super::super::trace::edits_of_600_wires;
use super::super::{At, Page};
use super::Journey;

/// A new project with two devices, and the ends of their pins.
async fn two_devices(page: &Page) -> [Vec<String>; 2] {
    begin_empty(page).await;
    add_device(page, "map light", on_drawing(page, 0.25, 0.3).await).await;
    add_device(page, "toggle", on_drawing(page, 0.5, 0.5).await).await;
    // What was added last has its details open, which take room from the sheet.
    if page.count(".panel").await > 0 {
        page.press(".panel > header button").await;
    }
    [ends_of_item(page, 0).await, ends_of_item(page, 1).await]
}

async fn wires(page: &Page, count: usize) {
    let drawn = format!("document.querySelectorAll('#drawing .g-wire').length === {count}");
    page.wait_until(&format!("{count} wires"), &drawn, 10).await;
}

async fn between(page: &Page, from: &str, to: &str) -> (At, At) {
    (
        page.middle_of(&pin(from)).await,
        page.middle_of(&pin(to)).await,
    )
}

async fn undo(page: &Page, wires_left: usize) {
    page.press(".strip .plain[aria-label^=Undo]").await;
    wires(page, wires_left).await;
}

/// The same wire, drawn by each.
pub async fn a_wire_by_mouse_finger_and_pen(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    let [from, to] = two_devices(page).await;
    page.press(".rail [data-tool=wire]").await;
    let (start, end) = between(page, &from[0], &to[0]).await;
    page.drag(start, end).await;
    wires(page, 1).await;
    journey.picture("wired").await;
    let project = stored_project(page).await;
    let drawn = project["wires"].as_object().expect("wires by id");
    let wire = drawn.values().next().expect("it is kept");
    assert_eq!(
        (&wire["from"], &wire["to"]),
        (&from[0].as_str().into(), &to[0].as_str().into())
    );
    undo(page, 0).await;
    page.finger(start, end).await;
    wires(page, 1).await;
    undo(page, 0).await;
    let palm = on_drawing(page, 0.3, 0.8).await;
    page.pen(start, end, palm).await;
    wires(page, 1).await;
}

/// Where the sheet is on the screen.
const PLACE: &str = "document.querySelector('#drawing > g').getAttribute('transform')";

/// A pen draws a wire in Select; then a finger moves the sheet, which is said and can be changed.
pub async fn a_pen_in_use_and_after(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    let [from, to] = two_devices(page).await;
    page.press(".rail [data-tool=select]").await;
    let (start, end) = between(page, &from[0], &to[0]).await;
    let before = stored_project(page).await["sheets"].clone();
    page.pen(start, end, on_drawing(page, 0.3, 0.8).await).await;
    wires(page, 1).await;
    assert_eq!(
        stored_project(page).await["sheets"],
        before,
        "nothing is moved"
    );
    page.wait_for(".pen-in-use").await;
    journey.picture("pen").await;

    // A finger from a device moves the sheet alone.
    let begun = page.eval(PLACE).await;
    let body = on_drawing(page, 0.25, 0.3).await;
    let aside = At {
        x: body.x + 60.0,
        y: body.y + 40.0,
    };
    page.finger(body, aside).await;
    let moved = format!("{PLACE} !== {begun}");
    page.wait_until("the sheet moves", &moved, 10).await;
    assert_eq!(
        stored_project(page).await["sheets"],
        before,
        "and no device"
    );

    // The person lets fingers draw as well.
    page.press(".pen-in-use button").await;
    page.wait_until("said no more", "!document.querySelector('.pen-in-use')", 10)
        .await;
    page.press(".rail [data-tool=wire]").await;
    let (start, end) = between(page, &from[1], &to[1]).await;
    page.finger(start, end).await;
    wires(page, 2).await;
}

/// Not every engine says that a finger is held: the app sees it by itself.
pub async fn a_finger_held_opens_a_menu(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    let [from, _] = two_devices(page).await;
    page.press(".rail [data-tool=select]").await;
    let at = page.middle_of(&pin(&from[0])).await;
    page.hold(at).await;
    page.wait_for("#menu-here button").await;
    journey.picture("menu").await;
    page.keys("\u{e00c}").await;
}

/// How much each text of the sheet is wider or narrower than the same text in large type, scaled down: small type
/// laid out at another size drifts apart or overlaps.
const WIDTHS: &str = "(() => { \
    const sheet = document.querySelector('#drawing > g'); \
    const large = sheet.cloneNode(false); \
    const scale = sheet.getCTM().a; \
    const found = []; \
    for (const text of sheet.querySelectorAll('.g-item text, .g-wire text')) { \
        if (text.textContent.trim().length < 4) continue; \
        const style = getComputedStyle(text); \
        const own = text.getComputedTextLength(); \
        const probe = document.createElement('canvas').getContext('2d'); \
        const size = parseFloat(style.fontSize); \
        probe.font = `${style.fontWeight} ${size * 100}px ${style.fontFamily}`; \
        const wanted = probe.measureText(text.textContent).width / 100; \
        found.push([text.textContent, own / wanted]); \
    } return found; })()";

/// Type of 2 mm is as wide as its letters are.
pub async fn letters_are_as_wide_as_they_should_be(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    super::super::steps::open_teasel(page).await;
    page.press(".zoom button:nth-of-type(3)").await;
    let found = page.eval(WIDTHS).await;
    let found = found.as_array().cloned().unwrap_or_default();
    assert!(found.len() > 20, "the sheet has names: {}", found.len());
    let mut off: Vec<(f64, String)> = found
        .iter()
        .filter_map(|it| Some(((it[1].as_f64()? - 1.0).abs(), it[0].to_string())))
        .collect();
    off.sort_by(|a, b| b.0.total_cmp(&a.0));
    println!("{}: widest off {:?}", page.engine(), &off[..3]);
    journey.picture("letters").await;
    // Letters of 8 to 9 px on whole dots are up to a sixth wider or narrower; on a denser screen they are not. Type
    // laid out at the size of the sheet was off by 27 in 100.
    assert!(off[0].0 < 0.18, "{:?}", &off[..5]);
}

/// Longest that findings may take after an edit on 600 wires, ms, the median of a few: well below the second after
/// which a person presses again (common practice, no source).
const FOUND_MS: f64 = 900.0;

/// The time from an edit on a large project to the frame that shows its findings.
pub async fn an_edit_on_600_wires_is_found_soon(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    let times_ms = edits_of_600_wires(page, 7).await;
    let median_ms = times_ms[times_ms.len() / 2];
    println!(
        "{}: 600 wires, edit to painted findings: median {median_ms:.0} ms, worst {:.0} ms",
        page.engine(),
        times_ms[times_ms.len() - 1]
    );
    assert!(median_ms < FOUND_MS, "{times_ms:?}");
}
