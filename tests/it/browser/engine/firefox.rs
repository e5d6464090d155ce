//! Firefox behind geckodriver. The driver gives each browser a profile of its own.

use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;

use loomwright_tests::engines::Browser;
use serde_json::{Value, json};

use super::{Driver, Engine, Hands, Prints};

/// Firefox.
pub struct Firefox;

fn found() -> &'static Browser {
    static FOUND: OnceLock<Browser> = OnceLock::new();
    FOUND.get_or_init(|| Browser::firefox().unwrap_or_else(|missing| panic!("{missing}")))
}

impl Engine for Firefox {
    fn name(&self) -> &'static str {
        "firefox"
    }

    fn start(&self, folder: &Path) -> Driver {
        let mut command = Command::new(&found().driver);
        // Its own browser is asked for no port either: two at once must not meet.
        command.args(["--port", "0", "--websocket-port", "0", "--profile-root"]);
        Driver::that_tells(command.arg(folder), "Listening on 127.0.0.1:")
    }

    fn wanted(&self, folder: &Path, _: &Path) -> Value {
        json!({
            "browserName": "firefox",
            "moz:firefoxOptions": {
                "binary": found().browser,
                "args": ["-headless"],
                "prefs": {
                    "browser.download.folderList": 2,
                    "browser.download.dir": folder,
                    "browser.download.useDownloadDir": true,
                    "browser.download.always_ask_before_handling_new_types": false,
                    "browser.helperApps.neverAsk.saveToDisk": "application/json",
                    // A finger is a finger without a screen that says so.
                    "dom.w3c_touch_events.enabled": 1,
                },
            },
        })
    }

    fn hands(&self) -> Hands {
        Hands::Actions {
            touch: true,
            pen: false,
        }
    }

    fn prints(&self) -> Prints {
        Prints::Command
    }
}
