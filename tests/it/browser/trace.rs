//! How long an edit takes to become painted findings on a project of 600 wires. The figure is
//! printed, not held: a busy machine is no fault of the app.

use loomwright_core::document::{Document, Extra, SheetSize, Shown};
use loomwright_core::edit::{self, Key, SheetPoint};
use loomwright_core::exchange;
use loomwright_core::testing::document;

use super::frames::AFTER_PAINT;
use super::steps::{begin, open_file, say_of_jack, select_device_with};
use super::{Page, Screen, journey};

const EDITS: usize = 20;

/// Remembers, for each edit, the time from the browser's event to the frame that shows the new
/// findings.
const WATCH: &str = "(() => { \
    window.trace = []; let began = 0; \
    window.addEventListener('change', () => { began = performance.now(); }, true); \
    const seen = new MutationObserver(() => { \
        if (!began) return; \
        const start = began; began = 0; \
        after_paint(() => window.trace.push(performance.now() - start)); }); \
    seen.observe(document.querySelector('#drawing .over-marks'), { childList: true, subtree: true }); \
    return true; })()";

/// Opens 600 wires, says so many times of a jack's body what it is, and gives the times from the event to the frame
/// that shows the findings, ms, the shortest first.
pub async fn edits_of_600_wires(page: &Page, edits: usize) -> Vec<f64> {
    begin(page).await;
    let project = exchange::save(&six_hundred_wires());
    open_file(page, "six-hundred.json", &project).await;
    page.wait_until(
        "the project is open",
        "!document.querySelector('#dialog')",
        30,
    )
    .await;
    page.wait_for(&super::steps::pin("terminal:JK1/ring")).await;
    select_device_with(page, "terminal:JK1/ring").await;
    page.eval(AFTER_PAINT).await;
    page.eval(WATCH).await;
    for done in 1..=edits {
        say_of_jack(page, done % 2 == 0).await;
        page.wait_until("painted", &format!("window.trace.length >= {done}"), 60)
            .await;
    }
    let times = page.eval("window.trace").await;
    let mut times_ms: Vec<f64> = times
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(serde_json::Value::as_f64)
        .collect();
    times_ms.sort_by(f64::total_cmp);
    assert_eq!(times_ms.len(), edits);
    times_ms
}

#[test]
fn an_edit_on_600_wires_is_traced() {
    journey("trace", Screen::LAPTOP, async |page| {
        let times_ms = edits_of_600_wires(page, EDITS).await;
        println!(
            "600 wires, {EDITS} edits, event to painted findings: median {:.1} ms, worst {:.1} ms",
            times_ms[EDITS / 2],
            times_ms[EDITS - 1]
        );
        page.screenshot("traced").await;
    });
}

#[test]
fn a_pack_of_600_wires_is_traced() {
    let project = exchange::save(&six_hundred_wires());
    journey("trace-pack", Screen::LAPTOP, async |page| {
        begin(page).await;
        open_file(page, "six-hundred.json", &project).await;
        page.wait_for(&super::steps::pin("terminal:JK1/ring")).await;
        page.press_named(".room-tab", "Log").await;
        page.wait_for(".new-entry").await;
        // From the press to the frame that shows the pack; the progress is seen on the way.
        page.eval(
            "(() => { window.seen = []; const start = performance.now(); \
             const look = () => { \
                 const bar = document.querySelector('progress'); \
                 if (bar) window.seen.push(bar.value); \
                 if (document.querySelector('#shown-paper h1') && !bar) \
                     window.took = performance.now() - start; \
                 else requestAnimationFrame(look); }; \
             [...document.querySelectorAll('.paper-choice button')].at(-1).click(); \
             requestAnimationFrame(look); return true; })()",
        )
        .await;
        page.wait_until("the pack is shown", "window.took > 0", 60)
            .await;
        let took_ms = page.eval("window.took").await;
        let steps = page.eval("new Set(window.seen).size").await;
        println!("the pack of 600 wires is shown after {took_ms} ms, progress in {steps} steps");
        crate::measured::keep(
            "pack",
            &format!("{:.1} s", took_ms.as_f64().unwrap_or_default() / 1e3),
        );
        assert!(steps.as_u64() > Some(3), "progress is shown on the way");
        page.screenshot("pack").await;
    });
}

const SHEETS: usize = 10;
const BRANCHES_PER_SHEET: usize = 20;

/// An aircraft of 200 branches (breaker, switch, load: three wires each) on ten sheets, and a mic
/// jack on the first of them.
fn six_hundred_wires() -> Document {
    let mut text = String::from(
        "system 14\nplace PANEL metal\nbattery BT1 at=PANEL\nground GB0 STUD tied at=PANEL\n\
         wire BN BT1.- GB0.STUD 2 1m\njack JK1 mic isolated at=PANEL\n",
    );
    for sheet in 1..=SHEETS {
        let numbers = 1..=BRANCHES_PER_SHEET;
        let names = |letter: &str, rest: &str| -> String {
            numbers
                .clone()
                .map(|n| format!(" {letter}{n}{rest}"))
                .collect()
        };
        text += &format!("bus MBUS{sheet}{}\n", names("CB", "=5"));
        text += &format!("ground GB{sheet} STUD{} tied at=PANEL\n", names("T", ""));
        text += &format!("wire B{sheet} BT1.+ MBUS{sheet}.STUD 2 1m\n");
        for n in numbers.clone() {
            let name = format!("{sheet}-{n}");
            text += &format!(
                "switch S{name} 1-2 at=PANEL\nload LT{name} 0.5 at=PANEL\n\
                 wire W{name}A MBUS{sheet}.CB{n} S{name}.1 20 1.2m\n\
                 wire W{name}B S{name}.2 LT{name}.+ 20 1.2m\n\
                 wire W{name}C LT{name}.- GB{sheet}.T{n} 20 1.2m\n",
            );
        }
    }
    let mut document = document(&text);
    document.project.title = "Six hundred wires".into();
    for sheet in 1..=SHEETS {
        let mut shown = vec![
            (format!("MBUS{sheet}"), 40.0, 40.0),
            (format!("GB{sheet}"), 340.0, 40.0),
        ];
        if sheet == 1 {
            shown.push(("JK1".into(), 40.0, 240.0));
        }
        for n in 1..=BRANCHES_PER_SHEET {
            let down_mm = 12.0 + 13.0 * n as f64;
            shown.push((format!("S{sheet}-{n}"), 140.0, down_mm));
            shown.push((format!("LT{sheet}-{n}"), 240.0, down_mm));
        }
        draw(&mut document, sheet, &shown);
    }
    document
}

/// Adds a sheet with these devices at these places, mm.
fn draw(document: &mut Document, number: usize, shown: &[(String, f64, f64)]) {
    let change = edit::add_sheet(document, &format!("Sheet {number}"), SheetSize::default());
    let change = change.expect("a sheet can be added");
    let sheet = change.added().find_map(|key| match key {
        Key::Sheet(id) => Some(id.clone()),
        _ => None,
    });
    let sheet = sheet.expect("the change adds a sheet");
    change
        .apply(document)
        .expect("it was made for this document");
    for (device, x_mm, y_mm) in shown {
        let spot = SheetPoint {
            sheet: sheet.clone(),
            x_mm: *x_mm,
            y_mm: *y_mm,
        };
        let shows = Shown::Device {
            device: device.as_str().into(),
            terminals: Vec::new(),
            extra: Extra::new(),
        };
        let change = edit::place_on_sheet(document, &spot, shows).expect("the sheet is there");
        change
            .apply(document)
            .expect("it was made for this document");
    }
}

#[test]
fn the_project_of_the_trace_has_its_600_wires() {
    let project = six_hundred_wires();
    assert_eq!(
        project.wires.len(),
        SHEETS * BRANCHES_PER_SHEET * 3 + SHEETS + 1
    );
    exchange::open(&exchange::save(&project)).expect("it opens again");
}
