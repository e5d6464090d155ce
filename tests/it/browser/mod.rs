//! Journeys of a person through the app in a real browser.
//!
//! A journey drives a browser over the WebDriver protocol: presses, drags and taps go in as the
//! browser's own input events, never as calls into the page. Each starts with an empty profile.
//! What a journey leaves behind (pictures, downloads) is in `target/journeys/NAME`.

mod analysis;
mod barriers;
mod details;
mod driver;
mod editing;
mod engine;
mod engines;
mod files;
mod frames;
mod grid;
mod hands;
mod hostile;
mod keeping;
mod large;
mod merging;
mod offline;
mod page;
mod panel;
mod papers;
mod pencil;
mod pictures;
pub mod printed;
mod quick;
mod steps;
mod stretch;
mod swapping;
mod trace;

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, OnceLock, PoisonError};

use loomwright_tests::{build, server::Server, under_target};

pub use driver::Session;
use engine::{Chromium, Engine};
pub use page::{At, Page, Screen};

/// Not at the root of the server: the app must work from any folder of a static host.
const MOUNT: &str = "/hangar/";

/// Names a folder with the built app, for someone who works on a journey and not on the app.
const BUILT: &str = "LOOMWRIGHT_DIST";

/// The folder of the built app; built once for all tests of this process.
pub fn dist() -> &'static Path {
    static DIST: OnceLock<PathBuf> = OnceLock::new();
    DIST.get_or_init(|| match std::env::var_os(BUILT) {
        Some(folder) => loomwright_tests::top().join(folder),
        None => build::release().unwrap_or_else(|missing| panic!("{missing}")),
    })
}

/// Where the built app is served; started once for all journeys.
fn app_url() -> String {
    static SERVER: OnceLock<Server> = OnceLock::new();
    let server = SERVER
        .get_or_init(|| Server::start(dist(), ("127.0.0.1", 0), MOUNT).expect("a port is free"));
    server.url()
}

/// Runs one journey on a page of the app, from an empty profile.
///
/// A journey also fails when the page wrote an error to the console; one that expects an error
/// takes it with [`Page::take_console_errors`]. A failed journey leaves the picture `failed.png`.
pub fn journey(name: &str, screen: Screen, steps: impl AsyncFnOnce(&mut Page)) {
    in_engine(&Chromium, name, app_url(), screen, steps);
}

/// The same in an engine, with the app at an address.
fn in_engine(
    engine: &'static dyn Engine,
    name: &str,
    url: String,
    screen: Screen,
    steps: impl AsyncFnOnce(&mut Page),
) {
    // Two browsers at once on a small machine only slow each other down.
    static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());
    let _turn = ONE_AT_A_TIME.lock().unwrap_or_else(PoisonError::into_inner);

    let folder = under_target("journeys").join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("target can be written");
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .expect("a runtime starts");
    let session = runtime.block_on(Session::start(engine, &folder));
    let mut page = runtime.block_on(Page::open(session, url, screen));
    let outcome = catch_unwind(AssertUnwindSafe(|| {
        runtime.block_on(async {
            steps(&mut page).await;
            let errors = page.take_console_errors().await;
            assert!(errors.is_empty(), "the console holds errors: {errors:#?}");
        });
    }));
    if outcome.is_err() {
        runtime.block_on(async {
            page.screenshot("failed").await;
            for error in page.take_console_errors().await {
                eprintln!("console: {error}");
            }
        });
    }
    runtime.block_on(page.close());
    if let Err(panic) = outcome {
        resume_unwind(panic);
    }
}
