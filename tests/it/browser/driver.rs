//! One Chromium with a profile of its own, behind its own chromedriver.

use std::io::{BufRead, BufReader};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use fantoccini::wd::WebDriverCompatibleCommand;
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use loomwright_tests::tools::Browser;
use serde_json::{Value, json};

const CHROMIUM_FLAGS: [&str; 9] = [
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

/// The process of chromedriver; ended with its browsers when dropped.
struct Driver {
    process: Child,
    port: u16,
}

impl Driver {
    fn start(browser: &Browser) -> Self {
        let mut process = Command::new(&browser.driver)
            .arg("--port=0")
            .process_group(0)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap_or_else(|error| panic!("{} does not start: {error}", browser.driver.display()));
        let output = process.stdout.take().expect("stdout is piped");
        let mut lines = BufReader::new(output).lines().map_while(Result::ok);
        let port = lines
            .find_map(|line| {
                line.split_once("successfully on port ")?
                    .1
                    .trim_end_matches('.')
                    .parse()
                    .ok()
            })
            .expect("chromedriver says on which port it listens");
        // Read on, or it stops when the pipe is full.
        std::thread::spawn(move || lines.for_each(drop));
        Self { process, port }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let group = format!("-{}", self.process.id());
        let _ = Command::new("kill")
            .args(["-KILL", "--", &group])
            .stderr(Stdio::null())
            .status();
        let _ = self.process.wait();
    }
}

/// A running browser and its profile.
pub struct Session {
    /// The WebDriver connection.
    pub client: Client,
    folder: PathBuf,
    profile: usize,
    chromium: PathBuf,
    driver: Driver,
}

impl Session {
    /// Starts a browser with an empty profile; downloads and pictures go to `folder`.
    pub async fn start(browser: &Browser, folder: &Path) -> Self {
        let driver = Driver::start(browser);
        let chromium = browser.chromium.clone();
        let client = connect(&driver, &chromium, folder, 0).await;
        Self {
            client,
            folder: folder.to_path_buf(),
            profile: 0,
            chromium,
            driver,
        }
    }

    /// Closes the browser and starts it again: with the same profile, as the person does the next
    /// evening, or with an empty one, as another person's computer.
    pub async fn restart(&mut self, profile: Profile) {
        let old = self.client.clone();
        old.close().await.expect("the browser closes");
        if profile == Profile::Empty {
            self.profile += 1;
        }
        self.client = connect(&self.driver, &self.chromium, &self.folder, self.profile).await;
    }

    /// Kills the browser with all its processes, as a machine does that loses power, and starts it again with
    /// the same profile.
    pub async fn kill(&mut self) {
        let profile = self.folder.join(format!("profile-{}", self.profile));
        let pattern = format!("user-data-dir={}", profile.display());
        let killed = Command::new("pkill")
            .args(["-KILL", "-f", "--", &pattern])
            .status();
        assert!(killed.is_ok_and(|it| it.success()), "the browser runs");
        self.client = connect(&self.driver, &self.chromium, &self.folder, self.profile).await;
    }

    /// Ends browser and driver.
    pub async fn end(self) {
        // The driver's drop ends what does not close by itself.
        let _ = self.client.close().await;
    }

    /// Where downloads and pictures go.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Sends a command of the browser's own debugging protocol.
    pub async fn devtools(&self, method: &str, params: Value) -> Value {
        let body = json!({ "cmd": method, "params": params });
        let command = Extension {
            path: "goog/cdp/execute",
            body,
        };
        let answer = self.client.issue_cmd(command).await;
        answer.unwrap_or_else(|error| panic!("{method} failed: {error}"))
    }

    /// What the page wrote to the console since the last call, errors only.
    pub async fn console_errors(&self) -> Vec<String> {
        let command = Extension {
            path: "se/log",
            body: json!({ "type": "browser" }),
        };
        let entries = self.client.issue_cmd(command).await.unwrap_or_default();
        let entries = entries.as_array().cloned().unwrap_or_default();
        let errors = entries.iter().filter(|entry| entry["level"] == "SEVERE");
        errors
            .filter_map(|entry| entry["message"].as_str().map(str::to_owned))
            .collect()
    }
}

/// Which profile a browser starts with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Profile {
    /// The one it had before.
    Same,
    /// One that nobody used yet.
    Empty,
}

async fn connect(driver: &Driver, chromium: &Path, folder: &Path, profile: usize) -> Client {
    let profile = folder.join(format!("profile-{profile}"));
    let mut flags: Vec<String> = CHROMIUM_FLAGS.map(str::to_owned).into();
    flags.push(format!("--user-data-dir={}", profile.display()));
    let wanted = json!({
        "browserName": "chrome",
        "goog:loggingPrefs": { "browser": "ALL" },
        "goog:chromeOptions": {
            "binary": chromium,
            "args": flags,
            "prefs": {
                "download.default_directory": folder,
                "download.prompt_for_download": false,
            },
        },
    });
    let wanted = wanted
        .as_object()
        .expect("it is written as an object")
        .clone();
    ClientBuilder::new(HttpConnector::new())
        .capabilities(wanted)
        .connect(&format!("http://127.0.0.1:{}", driver.port))
        .await
        .unwrap_or_else(|error| panic!("no browser session: {error}"))
}

/// A command of chromedriver beyond the standard ones.
#[derive(Debug)]
struct Extension {
    path: &'static str,
    body: Value,
}

impl WebDriverCompatibleCommand for Extension {
    fn endpoint(
        &self,
        base: &url::Url,
        session: Option<&str>,
    ) -> Result<url::Url, url::ParseError> {
        base.join(&format!(
            "session/{}/{}",
            session.unwrap_or_default(),
            self.path
        ))
    }

    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::POST, Some(self.body.to_string()))
    }
}
