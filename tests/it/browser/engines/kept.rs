//! What is typed is kept, in the browser and in files, with a network and without.

use loomwright_tests::server::Server;

use super::super::offline::KEPT;
use super::super::steps::{
    COPY_LINK, begin, begin_empty, menu, open_file, open_teasel, save_file, stored_project,
};
use super::super::{MOUNT, Page};
use super::{Journey, address_from_outside, app};

const ENTRIES: &str = "document.querySelectorAll('.entry').length";

async fn write_in_log(page: &Page, text: &str) {
    let before = page.count(".entry").await;
    page.press(".room-tab:nth-of-type(6)").await;
    page.fill(".new-entry textarea", text).await;
    page.press(".new-entry button").await;
    let more = format!("{ENTRIES} > {before}");
    page.wait_until("it is written", &more, 10).await;
}

/// Typed, taken back, made again, and there the next time.
pub async fn typed_undone_and_there_after_a_reload(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    open_teasel(page).await;
    let before = stored_project(page).await;
    write_in_log(page, "Measured 13.8 V at the bus").await;
    let after = stored_project(page).await;
    assert!(after.to_string().contains("13.8 V at the bus"));
    page.press(".strip .plain[aria-label^=Undo]").await;
    page.wait_until(
        "undone",
        "!document.body.textContent.includes('13.8 V at the bus')",
        10,
    )
    .await;
    assert_eq!(stored_project(page).await, before);
    page.press(".strip .plain[aria-label^=Redo]").await;
    page.wait_until(
        "redone",
        "document.body.textContent.includes('13.8 V at the bus')",
        10,
    )
    .await;
    assert_eq!(stored_project(page).await, after);
    page.reload().await;
    page.wait_for("#drawing .g-frame").await;
    assert_eq!(stored_project(page).await, after);
    assert_eq!(page.count("#dialog").await, 0, "the notice was read");
}

/// A project goes out as a file and comes in again.
pub async fn a_file_saved_and_opened(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    open_teasel(page).await;
    let file = save_file(page).await;
    let text = String::from_utf8(file.clone()).expect("a text");
    let saved: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(saved, stored_project(page).await);
    menu(page, super::super::steps::NEW_PROJECT).await;
    super::super::steps::sheet_is_empty(page).await;
    open_file(page, "again.json", &file).await;
    page.wait_until("it is open", "!document.querySelector('#dialog')", 20)
        .await;
    page.wait_for("#drawing .g-wire").await;
    assert_eq!(stored_project(page).await, saved);
}

/// After the first visit the network may go.
pub async fn without_a_network(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    begin(page).await;
    page.wait_until("it is kept", KEPT, 60).await;
    journey.server.cut(true);
    page.reload().await;
    page.wait_for("#drawing .g-wire").await;
    menu(page, super::super::steps::OPEN_TEASEL).await;
    page.wait_for("#drawing .g-wire").await;
    // What is asked of the network is refused, and rightly so.
    page.take_console_errors().await;
    journey.server.cut(false);
}

/// A tablet in the hangar that opens the app from a laptop: what does not work there is said, and nothing breaks.
pub async fn from_plain_http(journey: &mut Journey<'_>) {
    let Some(address) = address_from_outside() else {
        println!("this machine has no address but its own: not tried from outside");
        return;
    };
    let server = Server::start(app(), ("0.0.0.0", 0), MOUNT).expect("a port is free");
    let url = server.url().replace("0.0.0.0", &address.to_string());
    let page = &mut *journey.page;
    page.visit(url).await;
    begin_empty(page).await;
    assert_eq!(page.eval("isSecureContext").await, false);
    page.press("button.project").await;
    page.press_named("#dialog .menu button", COPY_LINK).await;
    page.wait_until("the box closes", "!document.querySelector('#dialog')", 10)
        .await;
    page.wait_until(
        "it says what came of it",
        "document.querySelector('.strip .said').textContent.trim()",
        10,
    )
    .await;
    page.press(".strip .at-risk").await;
    page.wait_until(
        "it says what does not work",
        "document.querySelector('#dialog').textContent.includes('without a network')",
        10,
    )
    .await;
    page.screenshot("plain-http").await;
}

/// Said once in the strip, and in the menu for ever.
pub async fn where_projects_are_kept_is_told(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    begin(page).await;
    let told = page.count(".strip .at-risk").await > 0;
    let webkit = page.engine() == "webkit";
    assert!(told || !webkit, "seven days is said where it is so");
    if told {
        page.press(".strip .at-risk").await;
    } else {
        menu_entry(page).await;
    }
    page.wait_for("#dialog button.main").await;
    let text = page.text("#dialog").await;
    assert!(
        text.contains("kept in this browser on this device"),
        "{text}"
    );
    assert_eq!(text.contains("7 days"), webkit, "{text}");
    journey.picture("keeping").await;
    page.press("#dialog button.main").await;
    page.wait_until(
        "read",
        "!document.querySelector('.strip .at-risk, #dialog')",
        10,
    )
    .await;
    menu_entry(page).await;
    page.wait_for("#dialog button.main").await;
}

async fn menu_entry(page: &Page) {
    page.press("button.project").await;
    page.press_named("#dialog .menu button", "Where projects are kept")
        .await;
}

/// A browser that cannot run the program says so.
pub async fn without_webassembly(journey: &mut Journey<'_>) {
    let url = format!("{}?no-wasm", journey.server.url());
    let page = &mut *journey.page;
    page.visit(url).await;
    page.wait_for("#not-started").await;
    let text = page
        .eval("document.querySelector('#not-started').innerText")
        .await;
    let text = text.as_str().unwrap_or_default();
    assert!(text.contains("WebAssembly"), "{text}");
    assert!(!text.contains("could not be loaded"), "one reason: {text}");
    page.screenshot("without-wasm").await;
}

/// Checks that the page leaves to a worker: the second goes to the same one, which is warm.
pub async fn one_worker_serves_all_checks(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    begin(page).await;
    let project = super::super::large::starved(100);
    open_file(
        page,
        "large.json",
        &loomwright_core::exchange::save(&project),
    )
    .await;
    page.wait_until("it is open", "!document.querySelector('#dialog')", 60)
        .await;
    let rests = "!document.querySelector('.strip .checking')";
    page.wait_until("it is checked", rests, 120).await;
    let begun = page.eval("window.journeyWorkers").await;
    assert_ne!(begun, 0, "it is for a worker");
    for text in ["First", "Second", "Third"] {
        write_in_log(page, text).await;
        page.wait_until("it is checked again", rests, 120).await;
    }
    assert_eq!(page.eval("window.journeyWorkers").await, begun);
}
