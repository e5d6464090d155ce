//! The journeys that matter most, in every engine that a person may have.
//!
//! One browser of each engine goes through all of them. Each journey has a server of its own, and with it an
//! address of its own: to the browser that is another app, of which it has kept nothing.

mod bars;
mod drawing;
mod kept;
mod paper;

use std::fs;
use std::net::{IpAddr, UdpSocket};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::task::Poll;
use std::time::Instant;

use loomwright_tests::{server::Server, under_target};

use super::engine::{Chromium, Engine, Firefox, WebKit};
use super::offline::copy;
use super::{MOUNT, Page, Screen, dist, in_engine};

/// Names a part of a journey's name, for someone who works on that one.
const ONLY: &str = "LOOMWRIGHT_JOURNEY";

/// A laptop, or a tablet held crosswise: all engines have a window of that size.
const SCREEN: Screen = Screen {
    width: 1180,
    height: 820,
    is_touch: false,
};

/// The built app with a script beside it that keeps what goes wrong.
fn app() -> &'static Path {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let folder = under_target("served-to-engines");
        let _ = fs::remove_dir_all(&folder);
        copy(dist(), &folder);
        let script = include_str!("beside.js");
        fs::write(folder.join("beside.js"), script).expect("target can be written");
        let page = folder.join("index.html");
        let text = fs::read_to_string(&page).expect("it was built");
        let head = "<head>\n<script src=\"beside.js\"></script>";
        let text = text.replacen("<head>", head, 1);
        fs::write(&page, text).expect("target can be written");
        folder
    })
}

/// A journey in a browser: its page, and the server that it is from.
struct Journey<'a> {
    page: &'a mut Page,
    server: Server,
    name: &'static str,
}

impl<'a> Journey<'a> {
    /// Opens the app from an address that this browser does not know.
    async fn begin(page: &'a mut Page, name: &'static str) -> Self {
        let server = Server::start(app(), ("127.0.0.1", 0), MOUNT).expect("a port is free");
        page.at_screen(SCREEN).await;
        page.visit(server.url()).await;
        Self { page, server, name }
    }

    /// Keeps a picture of the page.
    async fn picture(&self, what: &str) {
        self.page.screenshot(&format!("{}-{what}", self.name)).await;
    }

    /// Nothing went wrong in the page.
    async fn end(self) {
        let errors = self.page.take_console_errors().await;
        assert!(errors.is_empty(), "{}: {errors:#?}", self.name);
    }
}

/// Runs one journey after another in one browser, says how long each took, and gives the names of those that failed.
macro_rules! journeys {
    ($page:ident: $($journey:path),* $(,)?) => {{
        let mut failed = Vec::new();
        $(
            let name = stringify!($journey).rsplit("::").next().unwrap_or_default().trim();
            if !went_well($page, name, async |page| {
                let mut journey = Journey::begin(page, name).await;
                $journey(&mut journey).await;
                journey.end().await;
            }).await {
                failed.push(name);
            }
        )*
        failed
    }};
}

/// Runs one journey; one that fails leaves a picture, and the next ones are still run.
async fn went_well(page: &mut Page, name: &str, journey: impl AsyncFnOnce(&mut Page)) -> bool {
    if std::env::var(ONLY).is_ok_and(|only| !name.contains(&only)) {
        return true;
    }
    let begun = Instant::now();
    let ended = {
        let mut journey = Box::pin(journey(page));
        std::future::poll_fn(|context| {
            let polled = catch_unwind(AssertUnwindSafe(|| journey.as_mut().poll(context)));
            match polled {
                Ok(Poll::Pending) => Poll::Pending,
                Ok(Poll::Ready(())) => Poll::Ready(true),
                Err(_) => Poll::Ready(false),
            }
        })
        .await
    };
    let how = if ended { "well" } else { "FAILED" };
    let took_s = begun.elapsed().as_secs_f64();
    println!("{}, {name}: {how}, {took_s:.1} s", page.engine());
    if !ended {
        page.screenshot(&format!("{name}-failed")).await;
    }
    ended
}

fn in_every_way(engine: &'static dyn Engine) {
    let name = format!("engine-{}", engine.name());
    // Where nothing is yet: each journey goes to its own address.
    let blank = "about:blank".to_owned();
    in_engine(engine, &name, blank, SCREEN, async |page| {
        let failed = journeys!(page:
            bars::every_button_can_be_pressed,
            bars::no_bar_is_wider_than_the_screen,
            drawing::a_wire_by_mouse_finger_and_pen,
            drawing::a_pen_in_use_and_after,
            drawing::a_finger_held_opens_a_menu,
            drawing::letters_are_as_wide_as_they_should_be,
            kept::typed_undone_and_there_after_a_reload,
            kept::a_file_saved_and_opened,
            kept::without_a_network,
            kept::from_plain_http,
            kept::where_projects_are_kept_is_told,
            kept::without_webassembly,
            drawing::an_edit_on_600_wires_is_found_soon,
            kept::one_worker_serves_all_checks,
            paper::every_paper_and_its_fields,
            paper::every_sheet_is_printed_whole,
        );
        assert!(failed.is_empty(), "{}: {failed:#?}", page.engine());
    });
}

#[test]
fn the_journeys_in_chromium() {
    in_every_way(&Chromium);
}

#[test]
fn the_journeys_in_firefox() {
    in_every_way(&Firefox);
}

#[test]
fn the_journeys_in_webkit() {
    in_every_way(&WebKit);
}

/// An address of this machine that a browser does not take for its own; nothing is sent to find it.
fn address_from_outside() -> Option<IpAddr> {
    let socket = UdpSocket::bind(("0.0.0.0", 0)).ok()?;
    // 192.0.2.0/24 is for documentation (RFC 5737) and belongs to nobody.
    socket.connect(("192.0.2.1", 9)).ok()?;
    let address = socket.local_addr().ok()?.ip();
    (!address.is_loopback() && !address.is_unspecified()).then_some(address)
}
