//! Journeys of someone who enters much: find, follow, repeat, try before doing.

use super::steps::{
    begin, ends_of_item, on_drawing, open_teasel, pin, select_device_with, stored_project,
};
use super::{Screen, journey};

const ENTER: &str = "\u{e007}";

#[test]
fn anything_is_found_with_one_key_and_followed_from_end_to_end() {
    journey("find", Screen::LAPTOP, async |page| {
        begin(page).await;
        page.keys("/").await;
        page.wait_for("#find").await;
        page.wait_until(
            "the field has the focus",
            "document.activeElement.id === 'find'",
            5,
        )
        .await;
        page.keys("P8A6").await;
        page.wait_for(".found-list .row").await;
        page.screenshot("found").await;
        page.keys(ENTER).await;
        page.wait_until("the box goes", "!document.querySelector('#dialog')", 5)
            .await;
        page.wait_for(".panel .circuit summary").await;
        page.press(".panel .circuit summary").await;
        page.wait_for(".panel .circuit li button").await;
        let lines = page.count(".panel .circuit li").await;
        assert!(lines > 3, "a circuit has more than {lines} lines");
        page.wait_for(".panel .circuit [aria-current=true]").await;
        page.middle_of(".panel .circuit li:last-child").await;
        page.screenshot("followed").await;
    });
}

#[test]
fn a_moved_end_shows_what_it_changes_before_it_is_done() {
    journey("move-end", Screen::TABLET, async |page| {
        begin(page).await;
        page.press(".bar button[aria-label=Find]").await;
        page.fill("#find", "P8A6").await;
        page.press(".found-list .row").await;
        page.press(".panel .move-end summary").await;
        let before = stored_project_or_none(page).await;
        page.fill(
            ".panel .move-end .field:nth-of-type(2) input",
            &format!("NOWHERE 1{ENTER}"),
        )
        .await;
        page.wait_for(".panel .move-end .wrong:not(:empty)").await;
        page.fill(
            ".panel .move-end .field:nth-of-type(2) input",
            &format!("GB1 T9{ENTER}"),
        )
        .await;
        page.wait_for(".panel .move-end button.main").await;
        page.wait_for(".panel .move-end li").await;
        page.middle_of(".panel .move-end button.main").await;
        page.screenshot("would-change").await;
        assert_eq!(
            before,
            stored_project_or_none(page).await,
            "nothing is done yet"
        );
        page.press(".panel .move-end button.main").await;
        page.wait_until(
            "hazards or faults came",
            "Number(document.querySelector('.counts [data-level=hazard]').dataset.n) > 0 || \
             Number(document.querySelector('.counts [data-level=fault]').dataset.n) > 1",
            5,
        )
        .await;
    });
}

async fn stored_project_or_none(page: &super::Page) -> Option<serde_json::Value> {
    let kept = page
        .eval("JSON.parse(localStorage.getItem('loomwright.index') ?? '{}').open ?? ''")
        .await;
    match kept.as_str() {
        Some("") | None => None,
        Some(_) => Some(stored_project(page).await),
    }
}

#[test]
fn a_wire_is_repeated_for_the_next_pins_with_one_key() {
    journey("again", Screen::LAPTOP, async |page| {
        super::editing::two_of(page, ["com radio", "com radio"]).await;
        let (from, to) = (ends_of_item(page, 0).await, ends_of_item(page, 1).await);
        page.press(".rail [data-tool=wire]").await;
        let (start, end) = (
            page.middle_of(&pin(&from[0])).await,
            page.middle_of(&pin(&to[0])).await,
        );
        page.drag(start, end).await;
        page.wait_for("#drawing .g-wire").await;
        page.keys("nn").await;
        page.wait_until(
            "two more are drawn",
            "document.querySelectorAll('#drawing .g-wire').length === 3",
            5,
        )
        .await;
        page.screenshot("again").await;
    });
}

#[test]
fn a_jack_is_made_once_more_with_its_wires() {
    journey("once-more", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let (items, wires) = (
            page.count("#drawing .g-item").await,
            page.count("#drawing .g-wire").await,
        );
        select_device_with(page, "terminal:jk8/ring").await;
        page.press_named(".panel button", "Duplicate with wires")
            .await;
        page.wait_until(
            "a jack and its wires came",
            &format!(
                "document.querySelectorAll('#drawing .g-item').length === {} && \
                 document.querySelectorAll('#drawing .g-wire').length > {wires}",
                items + 1
            ),
            5,
        )
        .await;
        page.screenshot("once-more").await;
    });
}

#[test]
fn a_device_is_made_from_a_pin_table() {
    journey("pin-table", Screen::TABLET, async |page| {
        begin(page).await;
        page.press(".rail [data-tool=device]").await;
        page.press(".panel .pin-table summary").await;
        page.fill(".panel .pin-table .field input", "XM1\u{e004}")
            .await;
        page.put_text(
            ".panel .pin-table textarea",
            "Pin\tFunction\n1\tPOWER\n2\tGROUND\n3\tSERIAL TX\n3\tSPARE\n",
        )
        .await;
        page.press(".panel .pin-table button.main").await;
        page.wait_for(".panel .pin-table .wrong:not(:empty)").await;
        page.put_text(
            ".panel .pin-table textarea",
            "Pin\tFunction\n1\tPOWER\n2\tGROUND\n3\tSERIAL TX\n4\tSPARE\n",
        )
        .await;
        page.press(".panel .pin-table button.main").await;
        page.press_at(on_drawing(page, 0.3, 0.75).await).await;
        page.wait_for(&pin("terminal:xm1/3")).await;
        page.screenshot("placed").await;
    });
}

#[test]
fn the_other_button_opens_a_menu_and_fingers_take_nothing_back() {
    journey("menu", Screen::TABLET, async |page| {
        super::editing::two_of(page, ["com radio", "com radio"]).await;
        let (from, to) = (ends_of_item(page, 0).await, ends_of_item(page, 1).await);
        page.press(".rail [data-tool=wire]").await;
        let start = page.middle_of(&pin(&from[0])).await;
        let end = page.middle_of(&pin(&to[0])).await;

        // A finger that aims has a glass beside it.
        page.drag_begin(start, end).await;
        page.wait_for(".lens g g").await;
        page.screenshot("lens").await;
        page.drag_end(end).await;
        page.wait_for("#drawing .g-wire").await;
        page.wait_until("the glass goes", "!document.querySelector('.lens')", 5)
            .await;

        // Two fingers that tap take nothing back; the button does.
        page.pinch(on_drawing(page, 0.6, 0.8).await, 90.0, 90.0)
            .await;
        page.wait_for("#drawing .g-wire").await;
        page.press_named(".rail button", "Undo").await;
        page.wait_until(
            "the wire is taken back",
            "document.querySelectorAll('#drawing .g-wire').length === 0",
            5,
        )
        .await;

        page.press(".rail [data-tool=select]").await;
        page.eval(
            "(() => { const box = document.querySelector('#drawing .g-item').getBoundingClientRect(); \
             document.querySelector('#drawing').dispatchEvent(new MouseEvent('contextmenu', \
             { bubbles: true, cancelable: true, clientX: box.x + box.width / 2, \
               clientY: box.y + 14 })); return true; })()",
        )
        .await;
        page.wait_for("#menu-here button").await;
        page.screenshot("menu").await;
        page.press_named("#menu-here button", "Delete from the aircraft: 1 sheet")
            .await;
        page.wait_until(
            "one device is left",
            "document.querySelectorAll('#drawing .g-item').length === 1",
            5,
        )
        .await;
    });
}

#[test]
fn a_circuit_is_followed_and_a_wire_typed_on_a_phone() {
    journey("phone", Screen::PHONE, async |page| {
        begin(page).await;
        page.press(".bar button[aria-label=Find]").await;
        page.fill("#find", "L2A").await;
        page.press(".found-list .row").await;
        page.press(".panel .circuit summary").await;
        page.wait_for(".panel .circuit li button").await;
        page.middle_of(".panel .circuit li:nth-child(3)").await;
        page.screenshot("circuit").await;
        let wide = page
            .eval("document.documentElement.scrollWidth <= innerWidth")
            .await;
        assert_eq!(wide, true, "nothing sticks out of the screen");

        page.press_named(".room-tab", "Build").await;
        page.wait_for("#wire-grid td").await;
        page.screenshot("wires").await;
        page.press("#wire-grid tbody tr:nth-of-type(1) td:nth-of-type(1)")
            .await;
        page.press_named(".grid-tools button", "Edit").await;
        page.keys(&format!("Q1A22{ENTER}")).await;
        page.wait_until(
            "it is typed",
            "document.querySelector('#wire-grid tbody td').textContent === 'Q1A22'",
            5,
        )
        .await;
    });
}
