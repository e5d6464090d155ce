//! Journey to the papers of the check room: loads by phase, endurance, what stops if a part fails.

use loomwright_core::{exchange, testing::aircraft};

use super::steps::{begin, open_file, open_teasel};
use super::{Screen, journey};

#[test]
fn loads_endurance_and_failures_open_in_the_check_room() {
    journey("analysis", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        page.press_named("nav button", "Check").await;
        page.wait_for(".page summary").await;
        assert_eq!(page.count(".page details[open] table").await, 0);
        page.press_named(".page > details > summary", "Loads by phase")
            .await;
        page.wait_for(".page details[open] table.list td").await;
        page.press_named(".page > details > summary", "Endurance without alternator")
            .await;
        page.wait_for(".page details[open] svg polyline").await;
        let said = page.text(".page").await;
        for words in ["EBUS", "constant power: draws", "15.0 Ah usable"] {
            assert!(said.contains(words), "no {words:?} in {said}");
        }
        page.screenshot("endurance").await;
        page.press_named(
            ".page > details > summary",
            "What stops if a part fails open",
        )
        .await;
        page.wait_until(
            "the review is done",
            "document.querySelector('.page').textContent.includes('failures tried')",
            20,
        )
        .await;
        let said = page.text(".page").await;
        assert!(said.contains("USB2"), "no USB2 in {said}");
        page.press_named(
            ".page > details > summary",
            "What a wire shorted to structure does",
        )
        .await;
        page.wait_until(
            "the shorts are done",
            "document.querySelector('.page').textContent.includes('of them may burn')",
            20,
        )
        .await;
        page.press_named(".page > details > summary", "Always hot")
            .await;
        page.wait_until(
            "the paper is there",
            "document.querySelector('.page').textContent.includes('Unprotected length')",
            5,
        )
        .await;
        page.screenshot("shorts").await;
    });
}

#[test]
fn a_long_review_runs_beside_the_page_and_can_be_stopped() {
    let project = exchange::save(&aircraft(12_000));
    journey("review", Screen::TABLET, async |page| {
        begin(page).await;
        open_file(page, "large.json", &project).await;
        page.wait_until(
            "the project is open",
            "!document.querySelector('#dialog')",
            60,
        )
        .await;
        page.press_named("nav button", "Check").await;
        let shorts = "What a wire shorted to structure does";
        page.press_named(".page > details > summary", shorts).await;
        page.wait_for("details[open] progress").await;
        page.screenshot("review").await;
        // The page takes a touch while the worker computes.
        page.press_named("details[open] button", "Stop").await;
        page.wait_until(
            "it has stopped",
            "!document.querySelector('details[open] progress')",
            5,
        )
        .await;
        assert_eq!(page.count("details[open] table").await, 0);
    });
}

#[test]
fn noise_is_hunted_in_the_check_room_and_what_was_found_is_kept() {
    journey("noise", Screen::TABLET, async |page| {
        open_teasel(page).await;
        page.press_named("nav button", "Check").await;
        page.press_named(".page > details > summary", "Noise in the headset")
            .await;
        page.press_named(".choices button", "a whine that follows the engine's speed")
            .await;
        page.wait_for(".suspect dl").await;
        // Where it is heard comes first, then the next test.
        assert_eq!(page.count(".next").await, 2);
        page.press_named(".next button", "JK5").await;
        page.press_named(".next button", "Keep what is marked")
            .await;
        page.wait_for(".answers .found").await;
        page.screenshot("suspects").await;
        assert_eq!(page.count(".next").await, 1, "it is answered");
        page.reload().await;
        page.press_named("nav button", "Check").await;
        page.press_named(".page > details > summary", "Noise in the headset")
            .await;
        page.press_named(".choices button", "a whine that follows the engine's speed")
            .await;
        page.wait_for(".answers .found").await;
        let said = page.text(".answers").await;
        assert!(
            said.contains("Found: heard at: JK5 (the builder, "),
            "{said}"
        );
        page.press_named(".answers button", "Remove").await;
        page.wait_until(
            "the question is back",
            "document.querySelectorAll('.next').length === 2",
            5,
        )
        .await;
    });
}

#[test]
fn a_route_is_added_in_the_plan_room_and_kept() {
    journey("routes", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        page.press_named("nav button", "Plan").await;
        page.press_named(".page button", "Add a route").await;
        let kept =
            "[...document.querySelectorAll('.page input')].some(it => it.value === 'New route')";
        page.wait_until("the route is listed", kept, 5).await;
        page.reload().await;
        page.press_named("nav button", "Plan").await;
        page.wait_until("the route is still there", kept, 5).await;
        page.press_named(".page button", "Remove this route").await;
        let fewer = "![...document.querySelectorAll('.page button')].some(it => \
                     it.textContent === 'Remove this route')";
        page.wait_until("one route less", fewer, 5).await;
    });
}
