//! Without a network: after the first visit the app is there for ever, and a newer one waits to be asked for.

use std::fs;
use std::path::Path;

use loomwright_tests::{server::Server, under_target};

use super::steps::begin;
use super::{Screen, dist, journey};

/// Copies a folder with all that is in it.
pub fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("target can be written");
    for entry in fs::read_dir(from).expect("it was built").flatten() {
        let (from, to) = (entry.path(), to.join(entry.file_name()));
        match from.is_dir() {
            true => copy(&from, &to),
            false => fs::copy(&from, &to)
                .map(drop)
                .expect("target can be written"),
        }
    }
}

/// True when a whole generation serves this page.
pub const KEPT: &str = "navigator.serviceWorker.controller && \
    caches.open('loomwright-serving').then((it) => it.match('serving')).then(Boolean)";

const STYLES: &str = "fetch('loomwright.css').then((it) => it.text())";

#[test]
fn the_app_works_without_a_network_and_updates_when_asked() {
    let folder = under_target("served");
    let _ = fs::remove_dir_all(&folder);
    copy(dist(), &folder);
    // Under another path than other journeys: any will do.
    let mount = "/some/static/host/";
    let server = Server::start(&folder, ("127.0.0.1", 0), mount).expect("a port is free");
    journey("offline", Screen::TABLET, async |page| {
        page.visit(server.url()).await;
        begin(page).await;
        page.wait_until("it is kept", KEPT, 30).await;

        server.cut(true);
        page.reload().await;
        page.wait_for("#drawing .g-frame").await;
        page.screenshot("without-network").await;
        // What needs a second program, and a sample, are there as well.
        page.press_named(".room-tab", "Check").await;
        page.come_back().await;
        page.wait_for("#drawing .g-frame").await;
        page.take_console_errors().await;

        // A newer program on the host is told of, and waits.
        let styles = folder.join("loomwright.css");
        let mut newer = fs::read_to_string(&styles).expect("it is served");
        newer += "/* newer */\n";
        fs::write(&styles, newer).expect("target can be written");
        server.cut(false);
        page.reload().await;
        page.wait_for(".strip .newer button").await;
        page.screenshot("newer").await;
        let now = page.eval(STYLES).await;
        assert!(
            !now.as_str().expect("text").contains("newer */"),
            "it waits"
        );
        page.reload().await;
        page.wait_for(".strip .newer button").await;

        // Not while something is unsaved.
        page.eval(
            "(() => { Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError'); }; \
              IDBObjectStore.prototype.put = () => { throw new DOMException('', 'QuotaExceededError'); }; \
              return true; })()",
        )
        .await;
        page.press_named(".room-tab", "Log").await;
        page.fill(".new-entry textarea", "Not kept").await;
        page.press_named(".new-entry button", "Add to the log")
            .await;
        page.wait_for(".strip .newer button:disabled").await;
        page.visit(server.url()).await;
        page.wait_for(".strip .newer button:enabled").await;
        page.press(".strip .newer button").await;
        page.wait_until(
            "the newer one runs",
            "fetch('loomwright.css').then((it) => it.text()).then((it) => it.includes('newer */'))",
            20,
        )
        .await;
        page.wait_for("#drawing .g-frame").await;
        assert_eq!(page.count(".strip .newer").await, 0);
        page.take_console_errors().await;
    });
}

/// The page's own policy lets in nothing but our files, and nothing in the page needs more.
#[test]
fn the_page_has_a_strict_policy_and_keeps_it() {
    let page = fs::read_to_string(dist().join("index.html")).expect("it was built");
    let policy = page
        .split_once("Content-Security-Policy")
        .expect("a policy")
        .1;
    let policy = policy
        .split_once("content=\"")
        .expect("it says something")
        .1;
    let policy = policy.split('"').next().expect("an end");
    let mut parts = policy.split(';').map(str::trim);
    assert_eq!(parts.next(), Some("default-src 'none'"));
    for part in parts {
        let (what, from) = part.split_once(' ').expect("who and from where");
        for source in from.split(' ') {
            let is_own = ["'self'", "'none'", "data:", "blob:"].contains(&source);
            let is_wasm = what == "script-src" && source == "'wasm-unsafe-eval'";
            let is_ink = what == "style-src" && source == "'unsafe-inline'";
            assert!(is_own || is_wasm || is_ink, "{part}");
        }
        let runs = ["script-src", "worker-src"].contains(&what);
        assert!(
            !runs || !from.contains("data:") && !from.contains("blob:"),
            "{part}"
        );
    }
    for script in page.split("<script").skip(1) {
        let (tag, inside) = script.split_once('>').expect("a tag ends");
        assert!(tag.contains("src="), "a script inside the page: {tag}");
        assert!(inside.trim_start().starts_with("</script>"));
    }
    let is_script = |word: &str| word.starts_with("on") && word.contains('=');
    assert!(
        !page.split_whitespace().any(is_script),
        "an attribute that is a script"
    );
    assert!(!page.contains("://"), "another host");
}
