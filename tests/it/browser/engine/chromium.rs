//! Chromium behind chromedriver.

use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;

use loomwright_tests::engines::Browser;
use serde_json::{Value, json};

use super::{Driver, Engine, Hands, Prints};

const FLAGS: [&str; 9] = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--force-color-profile=srgb",
];

/// Chromium.
pub struct Chromium;

fn found() -> &'static Browser {
    static FOUND: OnceLock<Browser> = OnceLock::new();
    FOUND.get_or_init(|| Browser::chromium().unwrap_or_else(|missing| panic!("{missing}")))
}

impl Engine for Chromium {
    fn name(&self) -> &'static str {
        "chromium"
    }

    fn start(&self, _: &Path) -> Driver {
        let mut command = Command::new(&found().driver);
        Driver::that_tells(command.arg("--port=0"), "successfully on port ")
    }

    fn wanted(&self, folder: &Path, profile: &Path) -> Value {
        let mut flags: Vec<String> = FLAGS.map(str::to_owned).into();
        flags.push(format!("--user-data-dir={}", profile.display()));
        json!({
            "browserName": "chrome",
            "goog:loggingPrefs": { "browser": "ALL" },
            "goog:chromeOptions": {
                "binary": found().browser,
                "args": flags,
                "prefs": {
                    "download.default_directory": folder,
                    "download.prompt_for_download": false,
                },
            },
        })
    }

    fn hands(&self) -> Hands {
        Hands::Protocol
    }

    fn prints(&self) -> Prints {
        Prints::Protocol
    }
}
