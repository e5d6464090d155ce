//! Projects whose checks would make the page wait.

use std::fmt::Write as _;

use loomwright_core::{
    document::Document,
    exchange,
    rules::{self, Counts},
    testing::{aircraft, document},
};

use super::steps::{NEW_PROJECT, begin, menu, open_file};
use super::{Page, Screen, journey};

/// More loads than one battery carries through a thin wire: each that gives way is looked for.
pub fn starved(loads: usize) -> Document {
    let mut text = String::from(
        "battery BT1 ah=16
         bus MBUS CB1=500
         ground GB1 STUD
         wire A BT1.+ MBUS.STUD 20 5m
         wire Z GB1.STUD BT1.- 20 5m
         ",
    );
    for n in 0..loads {
        let (amps, m) = (1.0 + (n % 7) as f64 * 0.1, 1 + n % 5);
        let _ = writeln!(
            text,
            "load L{n} {amps} cutoff=10\nwire P{n} MBUS.CB1 L{n}.+ 20 {m}m\nwire N{n} L{n}.- GB1.STUD 20 1m"
        );
    }
    for n in 0..12 {
        let _ = writeln!(text, "state S{n} running");
    }
    document(&text)
}

async fn open(page: &Page, project: &Document) {
    open_file(page, "large.json", &exchange::save(project)).await;
    page.wait_until("it is open", "!document.querySelector('#dialog')", 60)
        .await;
}

/// Waits until the strip counts what the same rules find natively.
async fn counts(page: &Page, project: &Document) {
    let Counts {
        hazards,
        faults,
        cautions,
        not_checked,
        ..
    } = rules::check(project).counts;
    let all = [
        ("hazard", hazards),
        ("fault", faults),
        ("caution", cautions),
        ("unchecked", not_checked),
    ];
    let shown = all.map(|(level, n)| {
        format!("document.querySelector('.strip [data-level={level}]').dataset.n === '{n}'")
    });
    page.wait_until("the findings", &shown.join(" && "), 120)
        .await;
}

#[test]
fn a_check_that_takes_minutes_lets_the_page_go_on() {
    journey("slow-check", Screen::TABLET, async |page| {
        begin(page).await;
        open(page, &starved(1_500)).await;
        page.wait_for(".strip .checking").await;
        page.press_named(".room-tab", "Log").await;
        page.fill(".new-entry textarea", "Written while it is checked")
            .await;
        page.press_named(".new-entry button", "Add to the log")
            .await;
        page.wait_until(
            "it is written",
            "document.querySelector('.entry')?.textContent.includes('Written while')",
            60,
        )
        .await;
        assert_eq!(page.count(".strip .checking").await, 1, "it goes on");
        page.screenshot("checking").await;
        menu(page, NEW_PROJECT).await;
        page.wait_until(
            "there is nothing left to check",
            "!document.querySelector('.strip .checking')",
            20,
        )
        .await;
    });
}

#[test]
fn a_check_that_takes_seconds_is_told_when_it_is_done() {
    journey("slower-check", Screen::LAPTOP, async |page| {
        begin(page).await;
        let project = starved(100);
        open(page, &project).await;
        counts(page, &project).await;
        assert_eq!(page.count(".strip .checking").await, 0);
        page.press(".strip .counts").await;
        page.screenshot("told").await;
        // What a swap does is worked out by the page: only when the person lets it wait.
        page.press_named(".room-tab", "Log").await;
        page.press("details.swap > summary").await;
        page.choose(".swap label:nth-of-type(1) select", "L7").await;
        page.choose(".swap label:nth-of-type(2) select", "part:usb-port-60")
            .await;
        page.wait_for(".swap h4 + .paper-fields").await;
        assert_eq!(page.count(".swap .on-paper").await, 0);
        page.press_named(".swap button", "Calculate").await;
        page.wait_until(
            "it is told",
            "document.querySelector('.swap .on-paper')",
            60,
        )
        .await;
    });
}

/// A large project without trouble is checked by the page itself, with its mends.
#[test]
fn a_large_aircraft_is_checked_as_any_other() {
    journey("large-aircraft", Screen::LAPTOP, async |page| {
        begin(page).await;
        let mut project = aircraft(600);
        project
            .wires
            .values_mut()
            .for_each(|wire| wire.number = "P1A18".into());
        let state = project.states.values().next().expect("a state").clone();
        for n in 0..4 {
            project
                .states
                .insert(format!("more-{n}").as_str().into(), state.clone());
        }
        open(page, &project).await;
        counts(page, &project).await;
        page.press(".strip .counts").await;
        page.wait_until(
            "mends are offered",
            "document.querySelector('.panel .findings button, .panel button.mend, .panel .mends button')",
            20,
        )
        .await;
    });
}
