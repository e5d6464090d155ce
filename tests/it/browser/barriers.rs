//! What a general checker of web pages (axe-core, from the registry) says of every room and box.

use serde_json::Value;

use super::page::quoted;
use super::steps::{begin, open_teasel};
use super::{Page, Screen, journey};
use loomwright_tests::npm::AXE;

/// Loads the checker into the page.
async fn load(page: &Page) {
    let folder = AXE.ensure().unwrap_or_else(|missing| panic!("{missing}"));
    let script = std::fs::read_to_string(folder.join("axe.min.js")).expect("the package has it");
    page.eval(&format!("(() => {{ {script}\n; return true; }})()"))
        .await;
}

/// What it finds that is serious or worse, by rule and by place.
async fn barriers(page: &Page, place: &str) -> Vec<String> {
    page.eval(
        "(() => { window.found = undefined; \
         axe.run(document, { resultTypes: ['violations'] }).then(it => { window.found = it; }); \
         return true; })()",
    )
    .await;
    page.wait_until("the checker is done", "window.found !== undefined", 30)
        .await;
    let found = page.eval("window.found.violations").await;
    let serious = |rule: &&Value| matches!(rule["impact"].as_str(), Some("serious" | "critical"));
    let told = |rule: &Value| {
        let nodes = rule["nodes"].as_array().cloned().unwrap_or_default();
        let first = nodes.first().map(|node| node["html"].to_string());
        format!(
            "{place}: {} at {} places: {}",
            rule["id"],
            nodes.len(),
            first.unwrap_or_default()
        )
    };
    let found = found.as_array().cloned().unwrap_or_default();
    found.iter().filter(serious).map(told).collect()
}

async fn every_place(page: &Page, theme: &str) -> Vec<String> {
    page.eval(&format!(
        "(document.documentElement.setAttribute('data-theme', {}), true)",
        quoted(theme)
    ))
    .await;
    let mut found = Vec::new();
    for room in ["Plan", "Draw", "Check", "Build", "Test", "Log"] {
        page.press_named(".room-tab", room).await;
        page.wait_until(
            "the room is there",
            "document.querySelector('.room > *')",
            10,
        )
        .await;
        found.extend(barriers(page, &format!("{room}, {theme}")).await);
    }
    page.press_named(".room-tab", "Draw").await;
    page.press(".strip .counts").await;
    page.wait_for(".panel .findings").await;
    found.extend(barriers(page, &format!("findings, {theme}")).await);
    page.press(".rail [data-tool=device]").await;
    found.extend(barriers(page, &format!("devices, {theme}")).await);
    page.press("button[aria-label='Wires of this sheet']").await;
    found.extend(barriers(page, &format!("wires of the sheet, {theme}")).await);
    page.press(".panel > header button").await;
    for open in [
        "button.project",
        "button[aria-label=Settings]",
        "button[aria-label=Find]",
    ] {
        page.press(open).await;
        page.wait_for("#dialog").await;
        found.extend(barriers(page, &format!("{open}, {theme}")).await);
        page.press("#dialog header button").await;
    }
    found
}

#[test]
fn no_room_and_no_box_holds_a_serious_barrier() {
    journey("barriers", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        load(page).await;
        let mut found = Vec::new();
        for theme in ["light", "dark", "sun"] {
            found.extend(every_place(page, theme).await);
        }
        assert!(found.is_empty(), "{found:#?}");
    });
}

#[test]
fn nor_does_a_tablet() {
    journey("barriers-tablet", Screen::TABLET, async |page| {
        begin(page).await;
        load(page).await;
        let found = every_place(page, "light").await;
        assert!(found.is_empty(), "{found:#?}");
    });
}
