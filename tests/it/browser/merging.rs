//! Two builders: one hands the project on, both edit it apart, each takes the other's file in, and both have
//! the same bytes.

use loomwright_core::{exchange, units::Gauge};

use super::steps::{cut_list_of, open_file, open_teasel, save_file};
use super::{Page, Screen, journey};

/// Takes another file in, with the one that both began with.
async fn take_in(page: &Page, theirs: &[u8], base: &[u8]) {
    page.press_named(".room-tab", "Log").await;
    if page.count("details.compare[open]").await == 0 {
        page.press("details.compare > summary").await;
    }
    page.upload(".compare label:nth-of-type(1) input", "theirs.json", theirs)
        .await;
    page.wait_for(".compare label:nth-of-type(2) input").await;
    page.screenshot("compared").await;
    page.upload(".compare label:nth-of-type(2) input", "base.json", base)
        .await;
    page.wait_until(
        "the beginning is known",
        "!document.querySelector('.compare').textContent.includes('nobody can say')",
        10,
    )
    .await;
    page.screenshot("merged").await;
    press_take_in(page).await;
}

async fn press_take_in(page: &Page) {
    page.press(".compare button.main").await;
    page.wait_until(
        "it is taken in",
        "!document.querySelector('.compare button.main')",
        10,
    )
    .await;
}

#[test]
fn two_builders_come_to_the_same_bytes() {
    journey("two-builders", Screen::TABLET, async |page| {
        open_teasel(page).await;
        let base = save_file(page).await;
        cut_list_of(page, "P30A18").await;
        let tested = "#shown-paper input[aria-label=\"Tested: P30A18\"]";
        page.press(tested).await;
        page.wait_until(
            "the tick is out",
            &format!("!document.querySelector('{tested}').checked"),
            5,
        )
        .await;
        let ours = save_file(page).await;
        assert_ne!(ours, base);
        let mut document = exchange::open(&base).expect("our own file").document;
        document.wires.get_mut("p30a18").expect("P30A18").colour = "red".into();
        let theirs = exchange::save(&document);

        take_in(page, &theirs, &base).await;
        let first = save_file(page).await;
        let merged = exchange::open(&first).expect("our own file").document;
        let wire = &merged.wires["p30a18"];
        assert_eq!(
            (wire.colour.as_str(), wire.status.words()),
            ("red", "routed")
        );

        open_file(page, "theirs.json", &theirs).await;
        page.wait_until("it is open", "!document.querySelector('#dialog')", 10)
            .await;
        take_in(page, &ours, &base).await;
        assert!(
            save_file(page).await == first,
            "the same bytes on both sides"
        );
    });
}

/// Both changed the size of one wire: both values are told, with what each does to the aircraft.
#[test]
fn a_conflict_is_told_with_both_values_and_what_each_does() {
    journey("conflict", Screen::TABLET, async |page| {
        open_teasel(page).await;
        let base = save_file(page).await;
        let of = |awg: i8| {
            let mut document = exchange::open(&base).expect("our own file").document;
            let wire = document.wires.get_mut("p30a18").expect("P30A18");
            wire.gauge_awg = Some(Gauge(awg));
            exchange::save(&document)
        };
        open_file(page, "ours.json", &of(16)).await;
        page.wait_until("it is open", "!document.querySelector('#dialog')", 10)
            .await;
        page.press_named(".room-tab", "Log").await;
        page.press("details.compare > summary").await;
        page.upload(".compare input", "theirs.json", &of(26)).await;
        page.wait_for(".compare label:nth-of-type(2) input").await;
        page.upload(".compare label:nth-of-type(2) input", "base.json", &base)
            .await;
        page.wait_until(
            "the conflict",
            "document.querySelector('.compare').textContent.includes('mine 16, other 26, common 18')",
            10,
        )
        .await;
        page.wait_until(
            "what theirs does",
            "document.querySelector('.compare li ul')?.textContent.includes('1.42 V drop to USB2')",
            10,
        )
        .await;
        page.eval("document.querySelector('.compare li ul').scrollIntoView(false)")
            .await;
        page.screenshot("conflict").await;
        page.press_named(".compare li button", "Use the other")
            .await;
        press_take_in(page).await;
        let merged = exchange::open(&save_file(page).await)
            .expect("our own file")
            .document;
        assert_eq!(merged.wires["p30a18"].gauge_awg, Some(Gauge(26)));
    });
}
