//! Journeys at the drawing: a stretch of a wire is put elsewhere and stays, a resting pointer brings a card.

use loomwright_core::{exchange, testing::aircraft};

use super::steps::{begin, open_file, open_teasel, stored_project};
use super::{At, Page, Screen, journey};

/// The middle of the longest piece of a wire as drawn, and whether it is upright.
async fn longest_piece(page: &Page, wire: &str) -> (At, bool) {
    let found = page
        .eval(&format!(
            "(() => {{ const group = document.querySelector('#drawing [data-wire=\"{wire}\"], \
                 #drawing [data-key=\"wire:{wire}\"]'); \
             let best = null; \
             for (const line of group.querySelectorAll('path')) {{ \
                 const m = line.getScreenCTM(); \
                 const points = [...line.getAttribute('d').matchAll(/[ML]([-0-9.]+) ([-0-9.]+)/g)] \
                     .map(it => new DOMPoint(+it[1], +it[2]).matrixTransform(m)); \
                 for (let i = 1; i < points.length; i++) {{ \
                     const [a, b] = [points[i - 1], points[i]]; \
                     const far = Math.hypot(a.x - b.x, a.y - b.y); \
                     if (!best || far > best.far) \
                         best = {{ far, x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, \
                                   upright: Math.abs(a.x - b.x) < 1 }}; \
                 }} }} \
             return best; }})()"
        ))
        .await;
    let number = |name: &str| found[name].as_f64().expect("a piece of the wire");
    let at = At {
        x: number("x"),
        y: number("y"),
    };
    (at, found["upright"] == true)
}

#[test]
fn a_stretch_is_dragged_and_stays() {
    journey("stretch", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let wire = "a11-1";
        let (at, upright) = longest_piece(page, wire).await;
        page.press_at(at).await;
        page.wait_for(".panel .pair").await;
        let (at, _) = longest_piece(page, wire).await;
        let to = match upright {
            true => At {
                x: at.x - 40.0,
                ..at
            },
            false => At {
                y: at.y - 40.0,
                ..at
            },
        };
        page.screenshot("before").await;
        page.drag(at, to).await;
        page.screenshot("dragged").await;
        let kept = stored_project(page).await;
        let held: Vec<_> = (kept["sheets"].as_object().expect("sheets").values())
            .filter_map(|sheet| sheet["held"][wire].as_object())
            .collect();
        assert_eq!(held.len(), 1, "it is kept on its sheet");
        page.press_named(".panel button", "Reset path").await;
        let kept = stored_project(page).await.to_string();
        assert!(!kept.contains("\"held\""), "and let go");

        // A pointer that rests on the wire brings its card up.
        let (at, _) = longest_piece(page, wire).await;
        page.hover(at).await;
        page.wait_for(".hover-card").await;
        let card = page.text(".hover-card").await;
        assert!(card.contains("A11-1") && card.contains("22 AWG"), "{card}");
        page.screenshot("card").await;
    });
}

/// Every line of every wire as drawn, by wire.
const LINES: &str = "[...document.querySelectorAll('#drawing .scene > .g-wire')] \
    .map(it => it.dataset.wire + [...it.querySelectorAll('path')].map(it => it.getAttribute('d'))) \
    .sort().join('\\n')";

#[test]
fn a_full_sheet_is_shown_at_once_and_at_rest_is_that_of_the_document() {
    journey("full-sheet", Screen::LAPTOP, async |page| {
        begin(page).await;
        open_file(page, "made.json", &exchange::save(&aircraft(600))).await;
        let is_open = "!document.querySelector('#dialog') \
             && document.querySelectorAll('#drawing .scene > .g-item').length > 20";
        page.wait_until("the project is open", is_open, 60).await;
        page.press(".zoom [aria-label='Whole sheet']").await;
        let item = page.middle_of("#drawing .scene > .g-item").await;
        let to = At {
            x: item.x + 80.0,
            y: item.y + 40.0,
        };
        let note = "(() => { addEventListener('pointerup', () => requestAnimationFrame(() => \
             setTimeout(() => { window.at_first = LINES; }))); return true; })()";
        page.eval(&note.replace("LINES", LINES)).await;
        page.drag(item, to).await;
        page.wait_until(
            "the sheet is laid with care",
            &format!("window.at_first && {LINES} != window.at_first"),
            10,
        )
        .await;
        let at_rest = page.eval(LINES).await;
        page.reload().await;
        page.wait_until("the project is back", is_open, 60).await;
        assert_eq!(page.eval(LINES).await, at_rest);
    });
}
