//! One browser with a profile of its own, behind its own driver.

use std::path::{Path, PathBuf};
use std::process::Command;

use fantoccini::wd::WebDriverCompatibleCommand;
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

use super::engine::{Driver, Engine};

/// A running browser and its profile.
pub struct Session {
    /// The WebDriver connection.
    pub client: Client,
    /// The engine that runs.
    pub engine: &'static dyn Engine,
    folder: PathBuf,
    profile: usize,
    driver: Driver,
}

impl Session {
    /// Starts a browser with an empty profile; downloads and pictures go to `folder`.
    pub async fn start(engine: &'static dyn Engine, folder: &Path) -> Self {
        let driver = engine.start(folder);
        let client = connect(engine, &driver, folder, 0).await;
        Self {
            client,
            engine,
            folder: folder.to_path_buf(),
            profile: 0,
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
        self.client = connect(self.engine, &self.driver, &self.folder, self.profile).await;
    }

    /// Kills the browser with all its processes, as a machine does that loses power, and starts it again with
    /// the same profile.
    pub async fn kill(&mut self) {
        let profile = profile_folder(&self.folder, self.profile);
        let pattern = format!("user-data-dir={}", profile.display());
        let killed = Command::new("pkill")
            .args(["-KILL", "-f", "--", &pattern])
            .status();
        assert!(killed.is_ok_and(|it| it.success()), "the browser runs");
        self.client = connect(self.engine, &self.driver, &self.folder, self.profile).await;
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

    /// Sends a command of Chromium's own debugging protocol.
    pub async fn devtools(&self, method: &str, params: Value) -> Value {
        let body = json!({ "cmd": method, "params": params });
        let answer = self.command("goog/cdp/execute", body).await;
        answer.unwrap_or_else(|error| panic!("{method} failed: {error}"))
    }

    /// Sends a command that the WebDriver client has no words for.
    pub async fn command(
        &self,
        path: &'static str,
        body: Value,
    ) -> Result<Value, fantoccini::error::CmdError> {
        self.client.issue_cmd(Extension { path, body }).await
    }

    /// What the page wrote to the console since the last call, errors only; of Chromium.
    pub async fn console_errors(&self) -> Vec<String> {
        let body = json!({ "type": "browser" });
        let entries = self.command("se/log", body).await.unwrap_or_default();
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

fn profile_folder(folder: &Path, profile: usize) -> PathBuf {
    folder.join(format!("profile-{profile}"))
}

async fn connect(engine: &dyn Engine, driver: &Driver, folder: &Path, profile: usize) -> Client {
    let wanted = engine.wanted(folder, &profile_folder(folder, profile));
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

/// A command beyond those that the client knows.
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
