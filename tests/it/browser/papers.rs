//! Journeys with papers: a wire ticked through its build on a phone, a wrong value read, labels printed.

use serde_json::Value;

use super::steps::{begin, cut_list_of, open_teasel, stored_project};
use super::{Page, Screen, journey};

/// Width and height of A4 paper, in (ISO 216: 210 mm by 297 mm).
const A4_IN: (f64, f64) = (210.0 / 25.4, 297.0 / 25.4);

/// A tick or field of the paper, by what it is about.
fn field(about: &str) -> String {
    format!("#shown-paper input[aria-label=\"{about}\"]")
}

async fn status(page: &Page, wire: &str) -> Value {
    stored_project(page).await["wires"][wire]["status"].clone()
}

#[test]
fn a_wire_is_ticked_through_its_build_on_a_phone() {
    journey("papers-ticks", Screen::PHONE, async |page| {
        begin(page).await;
        cut_list_of(page, "L4C22N").await;
        page.screenshot("cuts").await;
        let steps = ["Cut", "Marked", "End A", "End B", "Routed", "Tested"];
        let words = ["cut", "marked", "end_a", "end_b", "routed", "tested"];
        for (step, word) in steps.iter().zip(words) {
            page.press(&field(&format!("{step}: L4C22N"))).await;
            page.wait_until(
                step,
                &format!(
                    "document.querySelector('{}')?.checked",
                    field(&format!("{step}: L4C22N"))
                ),
                5,
            )
            .await;
            assert_eq!(status(page, "l4c22n").await, word);
        }
        page.screenshot("ticked").await;
        page.reload().await;
        assert_eq!(status(page, "l4c22n").await, "tested");
    });
}

/// Wires are numbered by the scheme that is typed; what is built keeps its number, and that is said.
#[test]
fn wires_are_numbered_by_the_builders_scheme() {
    journey("papers-numbers", Screen::TABLET, async |page| {
        begin(page).await;
        page.press_named(".room-tab", "Build").await;
        page.press_named(".paper-choice button", "Labels").await;
        let before = stored_project(page).await;
        page.fill(
            ".paper-fields label:nth-of-type(3) input",
            "{letter}{circuit}{segment}-{gauge}{ground}",
        )
        .await;
        page.keys("\u{e004}").await;
        page.press_named(".paper-fields button", "Number unbuilt wires")
            .await;
        page.wait_until(
            "what is built is told",
            "document.querySelector('.strip').textContent.includes('keep their numbers')",
            5,
        )
        .await;
        page.screenshot("numbered").await;
        let after = stored_project(page).await;
        let number = |project: &Value, wire: &str| project["wires"][wire]["number"].clone();
        // Marked and laid in: the number is on the wire.
        assert_ne!(after["wires"]["l1c18"]["status"], "planned");
        assert_eq!(number(&after, "l1c18"), number(&before, "l1c18"));
        assert_eq!(after["wires"]["q1a18"]["status"], "planned");
        let new = number(&after, "q1a18");
        assert!(new.as_str().is_some_and(|it| it.ends_with("-18")), "{new}");
    });
}

#[test]
fn a_wrong_value_becomes_a_finding_with_suspects() {
    journey("papers-readings", Screen::TABLET, async |page| {
        open_teasel(page).await;
        page.press_named(".room-tab", "Test").await;
        page.fill("input[type=search]", "JK5").await;
        let read = "#shown-paper tr:has(td:nth-of-type(3)) td.e input";
        page.wait_for(read).await;
        page.screenshot("ring-out").await;
        // The first way to JK5 reads open, the next one is sound.
        let keys = page
            .eval(
                "[...document.querySelectorAll('#shown-paper [data-entry*=continuity]')]\
                 .map(it => it.dataset.entry)",
            )
            .await;
        let keys: Vec<String> = serde_json::from_value(keys).expect("keys");
        assert_eq!(keys.len(), 3, "tip, ring and sleeve of JK5: {keys:?}");
        for (key, value) in keys.iter().zip(["open", "0.2", "0.3"]) {
            let css = format!("#shown-paper [data-entry={}]", super::page::quoted(key));
            page.fill(&css, value).await;
            page.keys("\u{e004}").await;
            page.wait_until(
                value,
                &format!(
                    "document.activeElement?.dataset.entry !== {}",
                    super::page::quoted(key)
                ),
                5,
            )
            .await;
        }
        page.wait_until(
            "the paper says what is wrong",
            "document.querySelector('#shown-paper')?.textContent.includes('FAIL')",
            5,
        )
        .await;
        page.screenshot("read").await;
        // A tick says that a line is right, without a figure.
        page.press("#shown-paper [data-tick*=isolation]").await;
        page.wait_until(
            "the tick is kept",
            "document.querySelector('#shown-paper [data-tick*=isolation]')?.checked \
             && document.querySelector('#shown-paper [data-entry*=isolation]').value === 'ok'",
            5,
        )
        .await;
        page.press_named(".room-tab", "Check").await;
        page.wait_until(
            "the finding names the wires of the way",
            "document.body.textContent.includes('Measurement disagrees with the drawing')",
            10,
        )
        .await;
        page.screenshot("found").await;
        page.reload().await;
        let kept = stored_project(page).await;
        assert_eq!(
            kept["readings"].as_object().map(serde_json::Map::len),
            Some(4)
        );
    });
}

#[test]
fn labels_are_printed_and_every_paper_is_shown() {
    journey("papers-print", Screen::LAPTOP, async |page| {
        begin(page).await;
        page.eval("(window.print = () => {}, true)").await;
        for (room, titles) in [
            (
                "Build",
                &[
                    "Wire list",
                    "Cut list and build sheet",
                    "Labels",
                    "Connector pages",
                    "Jack cards",
                    "Order list",
                    "Progress",
                    "Breaker and fuse schedule",
                    "Ground block map",
                    "Placards and panel legend",
                ][..],
            ),
            ("Test", &["Ring-out sheet", "First power-up"]),
            (
                "Log",
                &[
                    "Load sheet and endurance",
                    "Card: alternator out",
                    "Card: low volts",
                    "Card: smoke or smell of burning",
                    "Card: what cannot be turned off",
                    "Pack for inspection and next owner",
                ],
            ),
        ] {
            page.press_named(".room-tab", room).await;
            for (n, title) in titles.iter().enumerate() {
                page.press_named(".paper-choice button", title).await;
                page.wait_until(
                    title,
                    "document.querySelector('#shown-paper h1') && !document.querySelector('progress')",
                    30,
                )
                .await;
                page.screenshot(&format!("{room}-{n}")).await;
                let letter = page.pdf(&format!("{room}-{n}")).await;
                let a4 = page.pdf_on(&format!("{room}-{n}-a4"), A4_IN).await;
                assert!(letter.starts_with(b"%PDF") && a4.starts_with(b"%PDF"));
            }
        }
    });
}

/// What would be printed now.
async fn printed(page: &Page) -> String {
    page.eval("(window.dispatchEvent(new Event('beforeprint')), true)")
        .await;
    page.text("#paper").await
}

#[test]
fn the_load_sheet_stands_beside_a_revision_and_what_is_seen_is_printed() {
    journey("papers-beside", Screen::TABLET, async |page| {
        open_teasel(page).await;
        page.press_named(".room-tab", "Log").await;
        page.press("details.revisions > summary").await;
        page.fill(".revisions textarea", "Before the lamps").await;
        page.press_named(".revisions button", "Keep a version")
            .await;
        page.wait_for(".revision-list li").await;
        let kept = stored_project(page).await;
        let revisions = kept["revisions"].as_object().expect("revisions");
        let key = revisions.keys().next().expect("it is kept");

        page.press_named(".paper-choice button", "Load sheet and endurance")
            .await;
        page.wait_for("#shown-paper h1").await;
        let beside = "Before and after the change";
        assert!(!page.text("#shown-paper").await.contains(beside));
        page.choose(".paper-fields select", key).await;
        page.wait_until(
            "it stands beside the revision",
            &format!("document.querySelector('#shown-paper').textContent.includes('{beside}')"),
            10,
        )
        .await;
        page.screenshot("beside").await;
        assert!(printed(page).await.contains(beside));
        page.press_named(".room-tab", "Build").await;
        page.press_named(".paper-choice button", "Wire list").await;
        page.choose(".paper-fields select", "status").await;
        page.fill("input[type=search]", "JK5").await;
        page.wait_until(
            "only some rows are shown",
            "document.querySelector('#shown-paper').textContent.includes('Only rows that contain')",
            10,
        )
        .await;
        let seen = "document.querySelectorAll('#shown-paper tbody tr').length";
        let rows = page.eval(seen).await;
        let paper = printed(page).await;
        assert!(paper.contains("Only rows that contain"), "{paper}");
        let on_paper = page
            .eval("document.querySelectorAll('#paper tbody tr').length")
            .await;
        assert_eq!(rows, on_paper);
    });
}
