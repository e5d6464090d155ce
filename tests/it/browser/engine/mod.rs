//! The browsers that journeys run in: what is the same in all of them is the WebDriver protocol, what is not is here.

mod chromium;
mod firefox;
pub mod webkit;

use std::io::{BufRead, BufReader};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use serde_json::Value;

pub use chromium::Chromium;
pub use firefox::Firefox;
pub use webkit::WebKit;

/// One engine.
pub trait Engine: Sync {
    /// Its name, for folders and messages.
    fn name(&self) -> &'static str;

    /// Starts its driver; what the browser downloads goes to `folder`.
    fn start(&self, folder: &Path) -> Driver;

    /// What is asked of the driver: a browser with this profile, whose downloads go to `folder`.
    fn wanted(&self, folder: &Path, profile: &Path) -> Value;

    /// How its driver points.
    fn hands(&self) -> Hands;

    /// How it prints.
    fn prints(&self) -> Prints;
}

/// How a driver points at things.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hands {
    /// Chromium's own protocol: mouse, fingers, pen, and a screen that is touched.
    Protocol,
    /// The actions of WebDriver; what it has none for is dispatched by a script.
    Actions {
        /// Fingers arrive as fingers.
        touch: bool,
        /// A pen arrives as a pen.
        pen: bool,
    },
}

/// How a page is printed into a PDF.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Prints {
    /// Chromium's own protocol.
    Protocol,
    /// The command of WebDriver.
    Command,
    /// A small program with the same engine that loads the page again.
    Program,
}

/// The process of a driver and what it needs beside it; ended with its browsers when dropped.
pub struct Driver {
    group: Group,
    beside: Vec<Group>,
    /// Where it listens.
    pub port: u16,
}

impl Driver {
    /// Starts a driver that says on which port it listens, behind `mark`.
    fn that_tells(command: &mut Command, mark: &'static str) -> Self {
        let (group, port) = Group::that_tells(command, |line| {
            let digits = line.split_once(mark)?.1;
            digits.trim_end_matches('.').parse().ok()
        });
        Self {
            group,
            beside: Vec::new(),
            port,
        }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        // The browsers go before the screen that they draw on.
        self.group.end();
        self.beside.iter_mut().for_each(Group::end);
    }
}

/// How often a driver is started before it counts as broken.
const STARTS: usize = 4;

/// A process and all that it starts.
pub struct Group(Child);

impl Group {
    fn start(command: &mut Command) -> Self {
        let started = command
            .process_group(0)
            .stdin(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        let program = command.get_program().display();
        Self(started.unwrap_or_else(|error| panic!("{program} does not start: {error}")))
    }

    /// Starts a process and reads its output until `read` finds what is wanted. A driver that finds its port taken
    /// by another ends at once: it is started again.
    fn that_tells<T>(command: &mut Command, read: impl Fn(&str) -> Option<T>) -> (Self, T) {
        for _ in 0..STARTS {
            let mut group = Self::start(command.stdout(Stdio::piped()));
            let output = group.0.stdout.take().expect("stdout is piped");
            let mut lines = BufReader::new(output).lines().map_while(Result::ok);
            if let Some(found) = lines.find_map(|line| read(&line)) {
                // Read on, or it stops when the pipe is full.
                std::thread::spawn(move || lines.for_each(drop));
                return (group, found);
            }
            group.end();
        }
        panic!(
            "{} ends {STARTS} times at its start",
            command.get_program().display()
        );
    }

    /// Ends it with all that it started.
    pub fn end(&mut self) {
        let group = format!("-{}", self.0.id());
        let _ = Command::new("kill")
            .args(["-KILL", "--", &group])
            .stderr(Stdio::null())
            .status();
        let _ = self.0.wait();
    }
}
