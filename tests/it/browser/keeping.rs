//! Nothing is lost: the browser killed, storage full or refused, two windows, a crash of the program, a file
//! of a newer program, and states that were kept.

use std::time::Duration;

use super::page::quoted;
use super::steps::{
    begin, come_back, cut_list_of, menu, open_file, open_teasel, save_file, say_of_jack,
    select_device_with, stored_project,
};
use super::{Page, Screen, journey};

/// What the menu calls handing the file on.
const SHARE_FILE: &str = "Share the file…";

/// Fills the small storage to the last character.
const FILL: &str = "(() => { let size = 1 << 22, part = 0; \
    while (size >= 1) { \
        try { localStorage.setItem('filler' + part, 'x'.repeat(size)); part += 1; } \
        catch { size = Math.floor(size / 2); } } \
    return part; })()";

const EMPTY: &str = "(() => { for (const key of Object.keys(localStorage)) \
    if (key.startsWith('filler')) localStorage.removeItem(key); return true; })()";

/// A database on a disk without room.
const DISK_FULL: &str = "(() => { IDBObjectStore.prototype.put = () => { \
    throw new DOMException('no room', 'QuotaExceededError'); }; return true; })()";

/// What stands in the note of the device that is selected.
const NOTE: &str = ".panel textarea";

async fn note(page: &Page, text: &str) {
    page.fill(NOTE, text).await;
    page.press(".panel h2").await;
}

async fn saved_note(page: &Page) -> String {
    String::from_utf8(save_file(page).await).expect("a project file is text")
}

#[test]
fn a_project_too_large_for_the_small_storage_moves_without_a_word() {
    journey("moves", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        page.eval(FILL).await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "Washer checked twice, and once more before closing.").await;
        tokio::time::sleep(Duration::from_millis(500)).await;
        assert_eq!(page.count(".strip .refused").await, 0, "nobody notices");
        come_back(page).await;
        assert!(saved_note(page).await.contains("Washer checked twice"));
    });
}

#[test]
fn a_full_storage_is_told_and_the_file_is_offered() {
    journey("full", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        page.eval(FILL).await;
        page.eval(DISK_FULL).await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "Washer checked twice, and once more before closing.").await;
        page.wait_for(".strip .refused button").await;
        page.screenshot("told").await;
        let told = page.text(".strip .refused").await;
        assert!(told.contains("full"), "{told:?}");

        let before = page.downloads(".json");
        page.press(".strip .refused button").await;
        let (_, file) = page.downloaded(".json", &before).await;
        let file = String::from_utf8(file).expect("a project file is text");
        assert!(
            file.contains("Washer checked twice"),
            "the file holds what storage could not"
        );

        // With room again, the next edit is kept and the warning goes.
        page.eval(EMPTY).await;
        say_of_jack(page, false).await;
        page.wait_until(
            "the warning goes",
            "!document.querySelector('.strip .refused')",
            10,
        )
        .await;
        let kept = stored_project(page).await.to_string();
        assert!(kept.contains("Washer checked twice"));
    });
}

#[test]
fn a_private_window_works_and_says_that_nothing_is_kept() {
    journey("private", Screen::LAPTOP, async |page| {
        page.before_the_page(
            "Object.defineProperty(window, 'localStorage', { get() { \
                throw new DOMException('refused', 'SecurityError'); } }); \
             Object.defineProperty(window, 'indexedDB', { value: null }); \
             navigator.locks.request = () => Promise.reject(new DOMException('', 'SecurityError'));",
        )
        .await;
        page.reload().await;
        open_teasel(page).await;
        page.wait_for(".strip .refused button").await;
        let told = page.text(".strip .refused").await;
        assert!(told.contains("private window"), "{told:?}");
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "Still drawn").await;
        assert!(saved_note(page).await.contains("Still drawn"));
    });
}

#[test]
fn the_database_alone_is_enough() {
    journey("no-small-storage", Screen::LAPTOP, async |page| {
        let refuse = "Object.defineProperty(window, 'localStorage', { get() { \
                throw new DOMException('refused', 'SecurityError'); } });";
        page.before_the_page(refuse).await;
        page.reload().await;
        open_teasel(page).await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "In the database").await;
        tokio::time::sleep(Duration::from_millis(500)).await;
        assert_eq!(page.count(".strip .refused").await, 0);
        page.reload().await;
        begin(page).await;
        assert!(saved_note(page).await.contains("In the database"));
    });
}

/// Kills the whole browser while it saves one edit after another, faster than any hand, a few times or as
/// often as LOOMWRIGHT_KILLS says: whatever was safe at the moment of the kill is there afterwards. An edit is
/// in flight until the page says that its saving outlives the machine.
#[test]
fn a_browser_killed_while_saving_loses_at_most_the_edit_in_flight() {
    let kills = std::env::var("LOOMWRIGHT_KILLS").ok();
    let kills: u64 = kills.and_then(|it| it.parse().ok()).unwrap_or(5);
    journey("killed", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let mut kept = 0;
        let mut most_in_flight = 0;
        for kill in 0..kills {
            select_device_with(page, "terminal:jk8/ring").await;
            page.wait_for(NOTE).await;
            // Each edit is one saving. The first, made in peace, tells the number of its saving.
            page.eval(&format!(
                "(() => {{ window.made = {kept}; window.once = () => {{ \
                    const note = document.querySelector({}); if (!note) return; \
                    note.value = 'edit ' + (window.made + 1) + '.'; \
                    note.dispatchEvent(new Event('change', {{ bubbles: true }})); \
                    window.made += 1; }}; \
                 window.safe = () => Number(document.documentElement.dataset.kept) || 0; \
                 window.before = window.safe(); window.once(); return true; }})()",
                quoted(NOTE)
            ))
            .await;
            page.wait_until("it is safe", "window.safe() > window.before", 10)
                .await;
            page.eval(
                "(() => { window.first = window.safe() - window.made; \
                 setInterval(window.once, 40); return true; })()",
            )
            .await;
            // Not always at the same moment of a saving.
            let wait_ms = 150 + (kill * 37) % 211;
            tokio::time::sleep(Duration::from_millis(wait_ms)).await;
            let seen = page
                .eval("[window.safe() - window.first, window.made]")
                .await;
            let [safe, made] = [0, 1].map(|at| seen[at].as_u64().expect("a number"));
            assert!(made > kept, "kill {kill}: no edit was made");
            page.come_back_from_a_kill().await;
            page.wait_for("#drawing .g-item").await;
            select_device_with(page, "terminal:jk8/ring").await;
            page.wait_for(NOTE).await;
            let value = format!("document.querySelector({}).value", quoted(NOTE));
            let note = page.eval(&value).await;
            let note = note.as_str().unwrap_or_default();
            let number = note.trim_start_matches("edit ").trim_end_matches('.');
            let number = number.parse();
            kept = number.unwrap_or_else(|_| panic!("kill {kill}: {note:?} after {made} edits"));
            assert!(
                kept >= safe,
                "kill {kill}: {kept} kept of {safe} that were safe"
            );
            most_in_flight = most_in_flight.max(made.saturating_sub(kept));
        }
        println!("{kills} kills; at most {most_in_flight} edits of 40 ms were in flight");
    });
}

#[test]
fn one_window_edits_and_the_other_follows_and_may_take_over() {
    journey("two-windows", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let [first, second] = page.second_window().await;
        page.wait_for("#drawing .g-item").await;
        page.wait_for(".strip .refused").await;
        let told = page.text(".strip .refused").await;
        assert!(told.contains("another window"), "{told:?}");
        page.screenshot("follows").await;

        page.in_window(&first).await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "Seen in both").await;
        page.in_window(&second).await;
        select_device_with(page, "terminal:jk8/ring").await;
        let shown = |text: &str| {
            format!(
                "document.querySelector('.panel textarea')?.value === {}",
                quoted(text)
            )
        };
        page.wait_until("it follows live", &shown("Seen in both"), 10)
            .await;
        // An edit here is refused, with a word.
        note(page, "Not mine to write").await;
        page.wait_until(
            "it says why",
            "document.querySelector('.strip .said').textContent.includes('another window')",
            5,
        )
        .await;

        page.press_named(".strip button", "Edit here").await;
        page.wait_until("it edits", "!document.querySelector('.strip .refused')", 10)
            .await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "From the second").await;
        page.in_window(&first).await;
        page.wait_until("the first follows", &shown("From the second"), 10)
            .await;
        // When the second is closed the first edits again.
        page.in_window(&second).await;
        page.close_window(&first).await;
        page.wait_until(
            "it edits again",
            "!document.querySelector('.strip .refused')",
            10,
        )
        .await;
        let kept = stored_project(page).await.to_string();
        assert!(kept.contains("From the second"));
    });
}

/// A window that a tablet has put to sleep cannot let go of the project: it is taken from it, and once awake
/// it follows.
#[test]
fn a_window_asleep_is_taken_over_from_and_follows_when_it_wakes() {
    journey("asleep", Screen::TABLET, async |page| {
        open_teasel(page).await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "Before it slept").await;
        let [first, second] = page.second_window().await;
        page.wait_for(".strip .refused").await;
        page.in_window(&first).await;
        page.sleeps(true).await;
        page.in_window(&second).await;
        page.press_named(".strip button", "Edit here").await;
        page.wait_until("it edits", "!document.querySelector('.strip .refused')", 15)
            .await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "While it slept").await;
        page.in_window(&first).await;
        page.sleeps(false).await;
        page.wait_for(".strip .refused").await;
        page.wait_until(
            "it follows",
            "document.querySelector('.panel textarea')?.value === 'While it slept'",
            10,
        )
        .await;
        let kept = stored_project(page).await.to_string();
        assert!(kept.contains("While it slept"));
    });
}

/// The system's share sheet gets the file where there is one; a browser without one gives the file to the
/// person.
#[test]
fn the_file_is_handed_to_the_share_sheet_where_there_is_one() {
    journey("share", Screen::TABLET, async |page| {
        open_teasel(page).await;
        let file = save_file(page).await;
        let before = page.downloads(".json");
        // This browser has no sheet of its own; what would open it is caught.
        page.eval(
            "(() => { Object.defineProperty(navigator, 'canShare', { configurable: true, \
                value: data => data.files.length === 1 }); \
              Object.defineProperty(navigator, 'share', { configurable: true, value: async data => { \
                window.handed = [data.files[0].name, data.files[0].type, await data.files[0].text()]; } }); \
              return true; })()",
        )
        .await;
        menu(page, SHARE_FILE).await;
        page.wait_until("it is handed on", "window.handed", 10)
            .await;
        let handed = page.eval("window.handed").await;
        assert_eq!(handed[0], "teasel.json");
        assert_eq!(handed[1], "application/json");
        assert_eq!(handed[2].as_str().map(str::as_bytes), Some(&*file));
        assert_eq!(page.downloads(".json"), before, "and not saved beside");
        page.eval("(() => { Object.defineProperty(navigator, 'canShare', { value: () => false }); return true; })()")
            .await;
        menu(page, SHARE_FILE).await;
        let saved = page.downloaded(".json", &before).await.1;
        assert!(saved == file);
    });
}

#[test]
fn a_crash_offers_the_project_and_a_report_that_names_nothing_of_it() {
    journey("crash", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "Rescued").await;
        // A page that makes no elements any more breaks any program.
        page.eval(
            "(() => { for (const name of ['createElement', 'createElementNS', 'createTextNode']) \
                Document.prototype[name] = () => { throw new Error('broken'); }; \
                Node.prototype.cloneNode = () => { throw new Error('broken'); }; return true; })()",
        )
        .await;
        page.press_named(".room-tab", "Log").await;
        page.wait_for("#crash:not([hidden])").await;
        page.screenshot("crash").await;
        let report = page.text("#crash-text").await;
        assert!(report.contains(".rs:"), "{report:?}");
        assert!(!report.contains("Teasel"), "{report:?}");
        let before = page.downloads(".json");
        page.press("#crash-file").await;
        let (_, file) = page.downloaded(".json", &before).await;
        assert!(String::from_utf8_lossy(&file).contains("Rescued"));
        page.take_console_errors().await;
    });
}

#[test]
fn a_file_of_a_newer_program_is_looked_at_and_given_back_as_it_came() {
    journey("newer-file", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let file = String::from_utf8(save_file(page).await).expect("text");
        let newer = file.replacen(
            "\"version\": 1,",
            "\"version\": 7,\n  \"later\": [1, 2],",
            1,
        );
        open_file(page, "newer.json", newer.as_bytes()).await;
        page.wait_for(".strip .refused").await;
        let told = page.text(".strip .refused").await;
        assert!(told.contains("newer Loomwright"), "{told:?}");
        page.screenshot("looks").await;
        select_device_with(page, "terminal:jk8/ring").await;
        note(page, "Not written").await;
        let again = save_file(page).await;
        assert!(again == newer.as_bytes(), "as it came");
    });
}

#[test]
fn a_state_is_kept_told_against_and_gone_back_to() {
    journey("revisions", Screen::TABLET, async |page| {
        open_teasel(page).await;
        page.press_named(".room-tab", "Log").await;
        page.press("details.revisions > summary").await;
        page.fill(".revisions textarea", "Before the inspection")
            .await;
        page.choose(".revisions select", "Shown for inspection")
            .await;
        page.press_named(".revisions button", "Keep a version")
            .await;
        page.wait_for(".revision-list li").await;
        let before = stored_project(page).await;
        assert_eq!(
            before["revisions"].as_object().map(serde_json::Map::len),
            Some(1)
        );

        cut_list_of(page, "P30A18").await;
        page.press("#shown-paper input[aria-label=\"Tested: P30A18\"]")
            .await;
        page.press_named(".room-tab", "Log").await;
        page.press("details.revisions > summary").await;
        page.press_named(".revisions button", "Changed since the last inspection")
            .await;
        page.wait_for(".revisions .told li").await;
        let told = page.text(".revisions .told").await;
        for words in [
            "P30A18",
            "No new finding.",
            "Loads and endurance do not change",
        ] {
            assert!(told.contains(words), "no {words:?} in {told:?}");
        }
        page.screenshot("told").await;

        // Two revisions beside each other: what comes after the second is not between them.
        page.fill(".revisions textarea", "Ticked").await;
        page.press_named(".revisions button", "Keep a version")
            .await;
        page.wait_until(
            "both are kept",
            "document.querySelectorAll('.revision-list li').length === 2",
            10,
        )
        .await;
        cut_list_of(page, "P30B18").await;
        page.press("#shown-paper input[aria-label=\"Tested: P30B18\"]")
            .await;
        page.press_named(".room-tab", "Log").await;
        page.press("details.revisions > summary").await;
        let ticked = stored_project(page).await;
        let revisions = ticked["revisions"].as_object().expect("revisions");
        let second = revisions.iter().find(|(_, it)| it["reason"] == "Ticked");
        page.choose(
            "details.revisions > label select",
            second.expect("it is kept").0,
        )
        .await;
        page.press(".revision-list li:last-child button:nth-of-type(1)")
            .await;
        page.wait_for(".revisions .told li").await;
        let told = page.text(".revisions .told ol").await;
        assert!(
            told.contains("P30A18") && !told.contains("P30B18"),
            "{told:?}"
        );

        page.press(".revision-list li:last-child button:nth-of-type(2)")
            .await;
        page.wait_until(
            "it went back",
            "document.querySelector('.strip .said').textContent.includes('Went back')",
            10,
        )
        .await;
        let after = stored_project(page).await;
        assert_eq!(after["wires"], before["wires"]);

        // The browser keeps states by itself as well.
        page.press("details.revisions > summary").await;
        if page.count("details.revisions[open]").await == 0 {
            page.press("details.revisions > summary").await;
        }
        page.press_named(".revisions button", "Show copies").await;
        page.wait_until(
            "there is one",
            "document.querySelectorAll('.revision-list').length === 2",
            10,
        )
        .await;
        page.screenshot("earlier").await;
        menu(page, "Save as a file").await;
    });
}

#[test]
fn a_small_project_goes_into_a_link_and_a_large_one_does_not() {
    journey("link", Screen::LAPTOP, async |page| {
        begin(page).await;
        // A browser that nobody looks at has no clipboard.
        let catch = "(() => { Object.defineProperty(navigator.clipboard, 'writeText', \
            { value: async (text) => { window.copied = text; } }); return true; })()";
        page.eval(catch).await;
        menu(page, "Copy a project link").await;
        page.wait_until(
            "it says so",
            "document.querySelector('.strip .said').textContent.includes('too large')",
            10,
        )
        .await;

        menu(page, "New project").await;
        super::steps::add_device(
            page,
            "com radio",
            super::steps::on_drawing(page, 0.4, 0.4).await,
        )
        .await;
        let file = save_file(page).await;
        menu(page, "Copy a project link").await;
        page.wait_until("it is copied", "window.copied", 10).await;
        let link = page.eval("window.copied").await;
        let link = link.as_str().expect("text").to_owned();

        page.move_to_another_computer().await;
        page.visit("about:blank".into()).await;
        page.visit(link.clone()).await;
        begin(page).await;
        assert!(save_file(page).await == file, "the same project");
        let address = page.eval("location.href").await;
        assert!(!address.as_str().expect("text").contains('#'), "{address}");

        // One that lost its end opens nothing, and says so.
        page.visit("about:blank".into()).await;
        page.visit(link[..link.len() - 40].to_owned()).await;
        page.wait_until(
            "it says so",
            "document.querySelector('.strip .said')?.textContent.includes('damaged')",
            10,
        )
        .await;
        assert!(save_file(page).await == file, "what was open is open");
    });
}
