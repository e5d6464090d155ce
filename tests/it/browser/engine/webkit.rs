//! The small browser of WebKitGTK behind WebKitWebDriver, on a screen in memory. Its profile is forgotten with it.

use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use loomwright_tests::engines::{self, Browser};
use serde_json::{Value, json};

use super::{Driver, Engine, Group, Hands, Prints};

/// `WebKitGTK`.
pub struct WebKit;

fn found() -> &'static Browser {
    static FOUND: OnceLock<Browser> = OnceLock::new();
    FOUND.get_or_init(|| Browser::webkit().unwrap_or_else(|missing| panic!("{missing}")))
}

/// A screen that is larger than any window of a journey, and its name.
pub fn screen() -> (Group, String) {
    let xvfb = engines::xvfb().unwrap_or_else(|missing| panic!("{missing}"));
    let mut command = Command::new(xvfb);
    command.args(["-displayfd", "1", "-screen", "0", "1600x1600x24"]);
    Group::that_tells(&mut command, |line| {
        let number: u32 = line.trim().parse().ok()?;
        Some(format!(":{number}"))
    })
}

impl Engine for WebKit {
    fn name(&self) -> &'static str {
        "webkit"
    }

    fn start(&self, folder: &Path) -> Driver {
        let (screen, display) = screen();
        // The driver wants a port by number; nobody else asks for this one in the meantime.
        let free = TcpListener::bind(("127.0.0.1", 0)).and_then(|it| it.local_addr());
        let port = free.expect("a port is free").port();
        // Where downloads go is a setting of the desktop.
        let downloads = format!("XDG_DOWNLOAD_DIR=\"{}\"\n", folder.display());
        std::fs::write(folder.join("user-dirs.dirs"), downloads).expect("target can be written");
        let mut command = Command::new(&found().driver);
        command
            .args(["-p", &port.to_string()])
            .env("DISPLAY", display)
            .env("XDG_CONFIG_HOME", folder)
            .env_remove("WAYLAND_DISPLAY")
            .stdout(Stdio::null());
        let driver = Driver {
            group: Group::start(&mut command),
            beside: vec![screen],
            port,
        };
        let begun = Instant::now();
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            let waited = begun.elapsed();
            assert!(waited < Duration::from_secs(20), "WebKitWebDriver listens");
            std::thread::sleep(Duration::from_millis(20));
        }
        driver
    }

    fn wanted(&self, _: &Path, _: &Path) -> Value {
        json!({
            "webkitgtk:browserOptions": {
                "binary": found().browser,
                "args": ["--automation"],
            },
        })
    }

    fn hands(&self) -> Hands {
        Hands::Actions {
            touch: false,
            pen: true,
        }
    }

    fn prints(&self) -> Prints {
        Prints::Program
    }
}
