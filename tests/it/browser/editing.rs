//! Journeys at the drawing: look, draw, make a mistake, mend it.

use super::steps::{
    add_device, begin, begin_empty, ends_of_item, on_drawing, open_teasel, pin, say_of_jack,
    select_device_with, stored_project,
};
use super::{Page, Screen, journey};

#[test]
fn the_sample_opens_with_its_one_fault() {
    journey("sample", Screen::LAPTOP, async |page| {
        begin(page).await;
        page.wait_until(
            "devices are drawn",
            "document.querySelectorAll('.g-item').length > 5",
            30,
        )
        .await;
        page.wait_for(".strip .counts [data-level=fault][data-n='1']")
            .await;
        page.wait_for(".strip .counts [data-level=hazard][data-n='0']")
            .await;
        page.press(".strip .counts").await;
        page.wait_for(".panel .finding[data-level=fault]").await;
        page.press(".panel .finding[data-level=fault] .row").await;
        page.wait_for(".panel .finding-body .working").await;
        let working = page.text(".panel .finding-body .working").await;
        assert!(
            working.contains('V'),
            "the arithmetic is shown: {working:?}"
        );
        page.screenshot("fault").await;
    });
}

#[test]
fn a_wire_is_drawn_with_the_mouse() {
    journey("wire-mouse", Screen::LAPTOP, async |page| {
        two_devices(page).await;
        let (from, to) = (ends_of_item(page, 0).await, ends_of_item(page, 1).await);
        page.press(".rail [data-tool=wire]").await;
        let (start, end) = (
            page.middle_of(&pin(&from[0])).await,
            page.middle_of(&pin(&to[0])).await,
        );

        page.drag_begin(start, end).await;
        page.keys("\u{e00c}").await;
        page.drag_end(end).await;
        assert_eq!(
            page.count("#drawing .g-wire").await,
            0,
            "Escape leaves nothing behind"
        );

        page.press(".rail [data-tool=wire]").await;
        page.drag(start, end).await;
        a_wire_joins(page, &from[0], &to[0]).await;
    });
}

#[test]
fn a_wire_is_drawn_with_a_finger() {
    journey("wire-touch", Screen::TABLET, async |page| {
        two_devices(page).await;
        let (from, to) = (ends_of_item(page, 0).await, ends_of_item(page, 1).await);
        page.press(".rail [data-tool=wire]").await;
        page.press(&pin(&from[0])).await;
        page.press(&pin(&to[0])).await;
        a_wire_joins(page, &from[0], &to[0]).await;

        let before = page
            .eval(SCALE)
            .await
            .as_f64()
            .expect("the drawing has a scale");
        page.pinch(on_drawing(page, 0.4, 0.7).await, 80.0, 240.0)
            .await;
        let after = page
            .eval(SCALE)
            .await
            .as_f64()
            .expect("the drawing has a scale");
        assert!(
            after > before * 1.5,
            "two fingers zoom: {before} to {after}"
        );
        assert_eq!(page.count("#drawing .g-wire").await, 1, "and draw nothing");
        page.screenshot("zoomed").await;
    });
}

#[test]
fn a_wire_is_drawn_with_a_pen_while_the_palm_lies_on_the_screen() {
    journey("wire-pen", Screen::TABLET, async |page| {
        two_devices(page).await;
        let (from, to) = (ends_of_item(page, 0).await, ends_of_item(page, 1).await);
        page.press(".rail [data-tool=wire]").await;
        let (start, end) = (
            page.middle_of(&pin(&from[0])).await,
            page.middle_of(&pin(&to[0])).await,
        );
        let before = page.eval(SCALE).await;
        page.pen(start, end, on_drawing(page, 0.6, 0.8).await).await;
        a_wire_joins(page, &from[0], &to[0]).await;
        assert_eq!(page.eval(SCALE).await, before, "the palm moves nothing");
    });
}

#[test]
fn a_wire_is_drawn_with_the_keyboard() {
    journey("wire-keys", Screen::LAPTOP, async |page| {
        two_devices(page).await;
        let (from, to) = (ends_of_item(page, 0).await, ends_of_item(page, 1).await);
        for (item, end) in [(0, &from[0]), (1, &to[0])] {
            let focus =
                format!("(document.querySelectorAll('#drawing .g-item')[{item}].focus(), true)");
            page.eval(&focus).await;
            page.keys("\u{e007}").await;
            let begin = format!(".panel [data-terminal='{end}'] .wired button[aria-label]");
            page.wait_for(&begin).await;
            page.eval(&format!(
                "(document.querySelector(\"{begin}\").focus(), true)"
            ))
            .await;
            page.keys("\u{e007}").await;
        }
        a_wire_joins(page, &from[0], &to[0]).await;
    });
}

#[test]
fn a_device_is_made_up_from_scratch() {
    journey("made-up", Screen::TABLET, async |page| {
        two_devices(page).await;
        let ends = ends_of_item(page, 0).await;
        select_device_with(page, &ends[0]).await;
        let loads = page.count(".panel .element").await;
        page.press(".panel .add-element > summary").await;
        page.wait_for(".panel .add-element select").await;
        let choose = |at: usize, value: &str| {
            format!(
                "(() => {{ const it = document.querySelectorAll('.panel .add-element select')[{at}]; \
                 it.value = '{value}'; it.dispatchEvent(new Event('change', {{bubbles: true}})); \
                 return true; }})()"
            )
        };
        let id = |end: &str| end.rsplit('/').next().unwrap_or_default().to_owned();
        page.eval(&choose(0, "resistor")).await;
        page.eval(&choose(1, &id(&ends[0]))).await;
        page.eval(&choose(2, &id(&ends[1]))).await;
        page.screenshot("adding").await;
        page.press(".panel .add-element > button").await;
        page.wait_until(
            "one more is inside",
            &format!(
                "document.querySelectorAll('.panel .element').length === {}",
                loads + 1
            ),
            5,
        )
        .await;
        let project = stored_project(page).await;
        assert!(project.to_string().contains("\"resistor\""));
        page.press(".panel .element:last-of-type [aria-label='Remove from device']")
            .await;
        page.wait_until(
            "it is out again",
            &format!("document.querySelectorAll('.panel .element').length === {loads}"),
            5,
        )
        .await;
    });
}

async fn two_devices(page: &Page) {
    two_of(page, ["map light", "toggle"]).await;
}

/// A new project with the first devices that two searches find.
pub async fn two_of(page: &Page, [first, second]: [&str; 2]) {
    begin_empty(page).await;
    add_device(page, first, on_drawing(page, 0.25, 0.3).await).await;
    add_device(page, second, on_drawing(page, 0.5, 0.5).await).await;
    page.screenshot("two-devices").await;
}

async fn a_wire_joins(page: &Page, from: &str, to: &str) {
    page.wait_until(
        "one wire",
        "document.querySelectorAll('#drawing .g-wire').length === 1",
        10,
    )
    .await;
    page.screenshot("wired").await;
    let project = stored_project(page).await;
    let wires = project["wires"].as_object().expect("wires by id");
    let ends: Vec<_> = wires
        .values()
        .map(|wire| (&wire["from"], &wire["to"]))
        .collect();
    assert_eq!(ends.len(), 1);
    assert_eq!(
        (ends[0].0.as_str(), ends[0].1.as_str()),
        (Some(from), Some(to))
    );
}

/// How far the drawing is zoomed in.
const SCALE: &str =
    "document.querySelector('#drawing > g').transform.baseVal.consolidate().matrix.a";

/// Where the sheet stands on the screen.
const STANDS: &str = "document.querySelector('#drawing > g').getAttribute('transform')";

/// The finding of a jack whose low touches the metal it is mounted in.
const FLAG: &str = "#drawing .flag-mark[data-rule=jack-on-structure]";
const ENTRY: &str = ".panel .finding[data-rule=jack-on-structure]";

#[test]
fn a_mistake_is_flagged_and_mended() {
    journey("mistake", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        page.wait_for(".strip .counts").await;
        assert_eq!(
            page.count(FLAG).await,
            0,
            "the sound panel has no such finding"
        );
        let sound = stored_project(page).await;

        // JK8 loses its washer.
        select_device_with(page, "terminal:jk8/ring").await;
        say_of_jack(page, false).await;
        let drawn = page
            .wait_until("the drawing is flagged", &shown(FLAG), 20)
            .await;
        page.wait_until("the details list it", &shown(ENTRY), 20)
            .await;
        println!(
            "flagged on the drawing after {} ms, polled",
            drawn.as_millis()
        );
        page.screenshot("flagged").await;
        page.press(".strip .counts").await;
        page.wait_for(ENTRY).await;
        let flawed = stored_project(page).await;
        assert_ne!(flawed, sound);

        // Undo and redo take the flag away and bring it back.
        page.press_named(".rail button", "Undo").await;
        page.wait_until("undone", &format!("!({})", shown(FLAG)), 20)
            .await;
        assert_eq!(stored_project(page).await, sound);
        page.press_named(".rail button", "Redo").await;
        page.wait_until("done again", &shown(FLAG), 20).await;
        assert_eq!(stored_project(page).await, flawed);

        // The offered mend.
        page.press(&format!("{ENTRY} .row")).await;
        page.wait_for(&format!("{ENTRY} .mend")).await;
        // What goes with it is said before the tap.
        page.wait_for(&format!("{ENTRY} .effects li")).await;
        page.screenshot("mend").await;
        page.press(&format!("{ENTRY} .mend")).await;
        page.wait_until("the flag goes", &format!("!({})", shown(FLAG)), 20)
            .await;
        page.wait_until("the entry goes", &format!("!({})", shown(ENTRY)), 20)
            .await;
        assert_eq!(
            stored_project(page).await,
            sound,
            "mended means isolated, and nothing else"
        );
    });
}

fn shown(css: &str) -> String {
    format!("document.querySelector({})", super::page::quoted(css))
}

#[test]
fn everything_is_there_after_a_reload_and_the_next_evening() {
    journey("reload", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        select_device_with(page, "terminal:jk8/ring").await;
        say_of_jack(page, false).await;
        page.wait_until("flagged", &shown(FLAG), 20).await;
        let project = stored_project(page).await;
        let items = page.count("#drawing .g-item").await;
        let wires = page.count("#drawing .g-wire").await;
        for evening in ["reloaded", "reopened"] {
            if evening == "reloaded" {
                page.reload().await;
            } else {
                page.come_back().await;
            }
            page.wait_until(evening, &shown(FLAG), 30).await;
            assert_eq!(stored_project(page).await, project, "{evening}");
            assert_eq!(page.count("#drawing .g-item").await, items, "{evening}");
            assert_eq!(page.count("#drawing .g-wire").await, wires, "{evening}");
            assert_eq!(
                page.count("#dialog").await,
                0,
                "{evening}: the notice was read"
            );
            page.screenshot(evening).await;
        }
        // The menu still knows both projects: the first sample and this one.
        page.press("button.project").await;
        page.wait_for("#dialog .projects li").await;
        assert_eq!(page.count("#dialog .projects li").await, 2);
    });
}

#[test]
fn a_state_is_chosen_and_the_sheet_is_moved_with_the_wheel() {
    journey("state", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let states = stored_project(page).await["states"].clone();
        let states: Vec<String> = states
            .as_object()
            .expect("states by id")
            .keys()
            .cloned()
            .collect();
        let shown = "document.querySelector('.state select').value";
        for state in &states {
            page.choose(".state select", state).await;
            page.wait_until(
                state,
                &format!("{shown} === {}", super::page::quoted(state)),
                10,
            )
            .await;
        }
        let scale = page
            .eval(SCALE)
            .await
            .as_f64()
            .expect("the drawing has a scale");
        page.wheel(on_drawing(page, 0.5, 0.5).await, -240.0).await;
        page.wait_until("the wheel zooms", &format!("{SCALE} > {scale}"), 10)
            .await;
        page.screenshot("zoomed").await;

        // Whoever was in another room, or on another sheet, finds this one as it was left.
        let left = page.eval(STANDS).await;
        let left = left.as_str().expect("it stands somewhere");
        let as_left = format!("{STANDS} === '{left}'");
        page.press_named(".room-tab", "Plan").await;
        page.wait_until("the other room", "!document.querySelector('#drawing')", 10)
            .await;
        page.press_named(".room-tab", "Draw").await;
        page.wait_until("back in the room", &as_left, 10).await;
        page.press(".tabs button:not([aria-current], .plain)").await;
        page.wait_until("another sheet", &format!("!({as_left})"), 10)
            .await;
        page.press(".tabs button").await;
        page.wait_until("back on the sheet", &as_left, 10).await;
    });
}

#[test]
fn the_list_of_devices_goes_by_family() {
    journey("families", Screen::TABLET, async |page| {
        begin_empty(page).await;
        let hint = page.text(".sheet-area .hint").await;
        assert!(hint.contains("begin"), "an empty sheet says how: {hint:?}");
        for tag in ["COM1", "COM2"] {
            page.press(".rail [data-tool=device]").await;
            page.press_named(".panel .family summary", "Radios, displays, charging ports")
                .await;
            page.screenshot("family").await;
            page.press(".panel [data-part=com]").await;
            let down = if tag == "COM1" { 0.2 } else { 0.6 };
            page.press_at(on_drawing(page, 0.3, down).await).await;
            let placed =
                format!("document.querySelector('#drawing')?.textContent.includes('{tag}')");
            page.wait_until(tag, &placed, 10).await;
        }
        assert_eq!(page.text(".sheet-area .hint").await, "");
    });
}

#[test]
fn fingers_find_what_they_press() {
    for (name, screen) in [
        ("fingers-tablet", Screen::TABLET),
        ("fingers-phone", Screen::PHONE),
    ] {
        journey(name, screen, async |page| {
            begin(page).await;
            page.wait_for(".rail button").await;
            page.screenshot("opened").await;
            let wide = page
                .eval("document.documentElement.scrollWidth - innerWidth")
                .await;
            assert!(
                wide.as_f64() <= Some(0.0),
                "nothing sticks out sideways: {wide} px"
            );
            let small = page.eval(SMALL_TARGETS).await;
            let small = small.as_array().cloned().unwrap_or_default();
            assert!(small.is_empty(), "44 px are what a thumb finds: {small:#?}");
            // Fingers zoom by pinching, on a phone by nothing else; the whole sheet has its button on both.
            for button in ["Wires of this sheet", "Whole sheet"] {
                let there = format!(".zoom [aria-label='{button}']");
                let wide = format!("{}.getBoundingClientRect().width >= 44", shown(&there));
                page.wait_until(button, &wide, 5).await;
            }
        });
    }
}

/// What can be pressed and is smaller than 44 CSS pixels either way.
const SMALL_TARGETS: &str = "[...document.querySelectorAll('button, select, input, summary')]\
    .filter(one => one.getClientRects().length && !one.closest('#drawing'))\
    .map(one => [one, (one.closest('label') ?? one).getBoundingClientRect()])\
    .filter(([one, box]) => box.width < 43.5 || box.height < 43.5)\
    .map(([one, box]) => `${one.getAttribute('aria-label') ?? one.textContent.trim()}: \
        ${Math.round(box.width)} x ${Math.round(box.height)}`)";
