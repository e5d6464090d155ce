//! A pencil on a tablet: wires from pins, ink on empty paper, details from below.

use super::steps::{begin_empty, ends_of_item, on_drawing, pin, stored_project};
use super::{At, Page, Screen, journey};

/// Tablets held upright, CSS pixels.
const UPRIGHT: [(u32, u32); 2] = [(1024, 1366), (820, 1180)];

async fn wires(page: &Page, count: usize) {
    let there = format!("document.querySelectorAll('#drawing .g-wire').length === {count}");
    page.wait_until("so many wires are drawn", &there, 10).await;
}

#[test]
fn a_pen_in_select_draws_wires_from_pins_to_wherever_it_goes_up() {
    journey("pencil-wire", Screen::TABLET, async |page| {
        super::editing::two_of(page, ["com radio", "com radio"]).await;
        page.press(".rail [data-tool=select]").await;
        let (from, to) = (ends_of_item(page, 0).await, ends_of_item(page, 1).await);
        let palm = on_drawing(page, 0.6, 0.9).await;
        let start = page.middle_of(&pin(&from[0])).await;
        let empty = on_drawing(page, 0.85, 0.25).await;
        page.pen(start, empty, palm).await;
        wires(page, 1).await;
        let project = stored_project(page).await;
        let wire = project["wires"]
            .as_object()
            .and_then(|it| it.values().next());
        assert_eq!(wire.expect("a wire is kept")["to"], "open");

        // On the body of the other unit: it asks, the nearest pin first.
        let start = page.middle_of(&pin(&from[1])).await;
        let body = page
            .eval(
                "(() => { const box = document.querySelectorAll('#drawing .g-item')[1]\
                 .getBoundingClientRect(); return [box.x + box.width / 2, box.y + 12]; })()",
            )
            .await;
        let at = |index: usize| body[index].as_f64().expect("the unit has a box");
        page.pen(start, At { x: at(0), y: at(1) }, palm).await;
        page.wait_for("#menu-here button").await;
        page.screenshot("which-pin").await;
        wires(page, 1).await;
        page.press("#menu-here button").await;
        wires(page, 2).await;
        assert!(!to.is_empty());
    });
}

#[test]
fn a_pen_leaves_ink_that_is_kept_hidden_and_erased() {
    journey("pencil-ink", Screen::TABLET, async |page| {
        begin_empty(page).await;
        let place = async |x: f64, y: f64| on_drawing(page, x, y).await;
        let (palm, a, b) = (
            place(0.6, 0.9).await,
            place(0.3, 0.3).await,
            place(0.5, 0.4).await,
        );
        page.finger(a, b).await;
        assert_eq!(
            page.count("#drawing .g-ink").await,
            0,
            "a finger leaves none"
        );
        let (a, b) = (place(0.3, 0.3).await, place(0.5, 0.4).await);
        page.pen(a, b, palm).await;
        page.wait_for("#drawing .g-ink").await;
        page.screenshot("written").await;
        let project = stored_project(page).await;
        assert!(project.to_string().contains("\"strokes\":[{"), "it is kept");
        page.press_named(".inks button", "Hide ink").await;
        page.wait_until(
            "it is hidden",
            "!document.querySelector('#drawing .g-ink')",
            5,
        )
        .await;
        page.press_named(".inks button", "Show ink").await;
        page.wait_for("#drawing .g-ink").await;
        page.press_named(".inks button", "Erase ink").await;
        let up = At {
            x: a.x,
            y: a.y - 30.0,
        };
        page.pen(
            up,
            At {
                x: a.x + 60.0,
                y: a.y + 60.0,
            },
            palm,
        )
        .await;
        page.wait_until(
            "it is gone",
            "!document.querySelector('#drawing .g-ink')",
            5,
        )
        .await;
        page.press(".strip button[aria-label^=Undo]").await;
        page.wait_for("#drawing .g-ink").await;
    });
}

#[test]
fn details_come_from_below_on_a_tablet_held_upright() {
    journey("pencil-details", Screen::TABLET, async |page| {
        super::steps::begin(page).await;
        for (width, height) in UPRIGHT {
            let screen = Screen {
                width,
                height,
                is_touch: true,
            };
            page.at_screen(screen).await;
            let place = "document.querySelector('#drawing > g').getAttribute('transform')";
            page.press("#drawing .g-item").await;
            page.wait_for(".panel .terminals").await;
            page.screenshot(&format!("details-{width}")).await;
            let boxes = page
                .eval(
                    "(() => { const panel = document.querySelector('.panel').getBoundingClientRect(); \
                     const sheet = document.querySelector('.drawing-place').getBoundingClientRect(); \
                     return [panel.height / innerHeight, panel.top >= sheet.bottom - 1, panel.left]; })()",
                )
                .await;
            assert!(boxes[0].as_f64().expect("a share") <= 0.34, "{boxes}");
            assert_eq!(boxes[1], true, "it is below the sheet: {boxes}");
            let before = page.eval(place).await;
            page.press(".panel > header button").await;
            page.wait_until("it closes", "!document.querySelector('.panel')", 5)
                .await;
            assert_eq!(page.eval(place).await, before, "the sheet stays");
        }
    });
}
