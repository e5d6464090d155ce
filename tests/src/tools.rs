//! The tools that build and drive the app: found on PATH, else under `target/tools`, else installed
//! there. Nothing is installed outside the project but the Rust target and, for the journeys,
//! Debian's browsers.

use std::ffi::OsString;
use std::fmt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::{npm::Package, top, under_target};

/// The version of trunk used for builds.
const TRUNK_VERSION: &str = "0.21.14";
/// The npm package whose `wasm-opt` is used where none is on PATH.
const BINARYEN: Package = Package {
    name: "binaryen",
    version: "132.0.0",
};
const WASM_TARGET: &str = "wasm32-unknown-unknown";

/// A tool runs for seconds but compiles for minutes: optimize less to compile faster.
const QUICK_TO_COMPILE: [(&str, &str); 3] = [
    ("CARGO_PROFILE_RELEASE_LTO", "off"),
    ("CARGO_PROFILE_RELEASE_CODEGEN_UNITS", "16"),
    ("CARGO_PROFILE_RELEASE_OPT_LEVEL", "1"),
];

/// A missing tool or file that could not be installed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// What is missing.
    pub what: String,
    /// What was tried and how it failed.
    pub why: String,
    /// What the person can do.
    pub mend: String,
}

impl Missing {
    pub(crate) fn new(what: &str, why: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            why: why.into(),
            mend: mend.into(),
        }
    }
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} is missing: {}\n  help: {}",
            self.what, self.why, self.mend
        )
    }
}

impl std::error::Error for Missing {}

/// The tools of a build, all of the right version.
#[derive(Debug)]
pub struct Tools {
    trunk: PathBuf,
    wasm_bindgen: PathBuf,
    /// `None` without `wasm-opt` and without npm to install it; the build is then a little larger.
    pub(crate) wasm_opt: Option<PathBuf>,
}

impl Tools {
    /// Finds every tool of a build and installs what is missing.
    ///
    /// # Errors
    /// Names the first tool that could not be found or installed, and what to do.
    pub fn ensure() -> Result<Self, Missing> {
        ensure_wasm_target()?;
        let trunk = CargoTool {
            package: "trunk",
            version: TRUNK_VERSION.into(),
            locked: true,
        };
        let wasm_bindgen = CargoTool {
            package: "wasm-bindgen-cli",
            version: locked_version("wasm-bindgen")?,
            // Its own lock file names crates that the registry no longer offers.
            locked: false,
        };
        Ok(Self {
            trunk: trunk.ensure()?,
            wasm_bindgen: wasm_bindgen.ensure()?,
            wasm_opt: ensure_wasm_opt(),
        })
    }

    /// A command that runs trunk at the top of the project with every tool of the build on its PATH.
    pub(crate) fn trunk(&self) -> Command {
        let mut command = clean_command(&self.trunk);
        let own = [&self.trunk, &self.wasm_bindgen]
            .into_iter()
            .filter_map(|tool| tool.parent());
        let path = std::env::join_paths(own.map(Path::to_path_buf).chain(search_path()));
        // A folder with the separator in its name cannot be part of PATH; keep the old PATH then.
        if let Ok(path) = path {
            command.env("PATH", path);
        }
        command.current_dir(top());
        command
    }
}

/// A command without the variables that `cargo run` and `cargo test` set for our own package: a
/// nested cargo would see a change and build again.
pub(crate) fn clean_command(program: impl Into<OsString>) -> Command {
    let mut command = Command::new(program.into());
    for (name, _) in std::env::vars_os() {
        let Some(name) = name.to_str() else { continue };
        let ours = [
            "CARGO_PKG_",
            "CARGO_MANIFEST_",
            "CARGO_BIN_",
            "CARGO_CRATE_",
        ];
        if ours.iter().any(|prefix| name.starts_with(prefix)) || name == "LD_LIBRARY_PATH" {
            command.env_remove(name);
        }
    }
    command
}

/// A tool that `cargo install` installs.
pub(crate) struct CargoTool {
    pub(crate) package: &'static str,
    pub(crate) version: String,
    pub(crate) locked: bool,
}

impl CargoTool {
    fn program(&self) -> &'static str {
        self.package.trim_end_matches("-cli")
    }

    /// Finds the tool of this version, or installs it.
    pub(crate) fn ensure(&self) -> Result<PathBuf, Missing> {
        let home = under_target("tools");
        let installed = home.join("bin").join(self.program());
        let found = on_path(self.program())
            .into_iter()
            .chain([installed.clone()]);
        if let Some(tool) = found.into_iter().find(|tool| self.is_right_version(tool)) {
            return Ok(tool);
        }
        println!(
            "installing {} {} (once, some minutes)",
            self.package, self.version
        );
        let scratch = home.join("build");
        let mut command = clean_command("cargo");
        command
            .args([
                "install",
                self.package,
                "--version",
                &self.version,
                "--root",
            ])
            .arg(&home)
            .env("CARGO_TARGET_DIR", &scratch)
            .envs(QUICK_TO_COMPILE)
            .current_dir(top());
        if self.locked {
            command.arg("--locked");
        }
        let ran = run(&mut command);
        // The build's object files are large and not needed afterwards.
        let _ = std::fs::remove_dir_all(&scratch);
        let mend = format!(
            "connect to the network and run this again, or install it by hand: \
             cargo install {} --version {}",
            self.package, self.version
        );
        ran.map_err(|why| Missing::new(self.package, why, mend.clone()))?;
        if self.is_right_version(&installed) {
            Ok(installed)
        } else {
            let why = format!(
                "{} does not answer with version {}",
                installed.display(),
                self.version
            );
            Err(Missing::new(self.package, why, mend))
        }
    }

    fn is_right_version(&self, tool: &Path) -> bool {
        version_of(tool).is_some_and(|version| version == self.version)
    }
}

/// The second word that `tool --version` prints, or `None` if it does not run.
fn version_of(tool: &Path) -> Option<String> {
    let output = Command::new(tool)
        .arg("--version")
        .stdin(Stdio::null())
        .output()
        .ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    text.split_whitespace().nth(1).map(str::to_owned)
}

/// The version of a crate in our Cargo.lock: the tool's version must equal the library's.
fn locked_version(package: &str) -> Result<String, Missing> {
    let lock = std::fs::read_to_string(top().join("Cargo.lock")).map_err(|error| {
        Missing::new(
            "Cargo.lock",
            error.to_string(),
            "restore it from the repository",
        )
    })?;
    version_in_lock(&lock, package).ok_or_else(|| {
        let why = format!("it has no version of {package}");
        Missing::new("Cargo.lock", why, "run cargo check once")
    })
}

fn version_in_lock(lock: &str, package: &str) -> Option<String> {
    let name = format!("name = \"{package}\"");
    let mut lines = lock.lines().skip_while(|line| *line != name);
    let version = lines
        .nth(1)?
        .strip_prefix("version = \"")?
        .strip_suffix('"')?;
    Some(version.to_owned())
}

fn ensure_wasm_target() -> Result<(), Missing> {
    let hint = "install Rust with rustup, then run this again";
    let output = clean_command("rustc")
        .args(["--print", "sysroot"])
        .current_dir(top())
        .output()
        .map_err(|error| Missing::new("rustc", error.to_string(), hint))?;
    let sysroot = String::from_utf8_lossy(&output.stdout).trim().to_owned();
    if Path::new(&sysroot)
        .join("lib/rustlib")
        .join(WASM_TARGET)
        .join("lib")
        .is_dir()
    {
        return Ok(());
    }
    println!("adding the Rust target {WASM_TARGET}");
    let mut rustup = clean_command("rustup");
    rustup
        .args(["target", "add", WASM_TARGET])
        .current_dir(top());
    run(&mut rustup).map_err(|why| Missing::new(WASM_TARGET, why, hint))
}

fn ensure_wasm_opt() -> Option<PathBuf> {
    if let Some(tool) = on_path("wasm-opt")
        .into_iter()
        .find(|tool| version_of(tool).is_some())
    {
        return Some(tool);
    }
    let skipped = "the build continues without it and is a little larger";
    if on_path("npm").is_empty() {
        println!("no wasm-opt and no npm: {skipped}");
        return None;
    }
    match BINARYEN.ensure().map(|folder| folder.join("bin/wasm-opt")) {
        Ok(tool) if version_of(&tool).is_some() => Some(tool),
        Ok(tool) => {
            println!("{} does not run: {skipped}", tool.display());
            None
        }
        Err(why) => {
            println!("no wasm-opt ({why}): {skipped}");
            None
        }
    }
}

/// Installs Debian packages as root or with sudo.
pub(crate) fn install_debian(packages: &[&str]) -> Result<(), String> {
    let apt = on_path("apt-get").into_iter().next();
    let apt = apt.ok_or("this system has no apt-get")?;
    for step in [&["update"][..], &[&["install", "-y"], packages].concat()] {
        run(as_root(&apt)
            .args(step)
            .env("DEBIAN_FRONTEND", "noninteractive"))?;
    }
    Ok(())
}

/// The command itself for root, else through sudo without a prompt.
fn as_root(program: &Path) -> Command {
    let id = Command::new("id").arg("-u").output();
    let is_root = id.is_ok_and(|output| output.stdout.trim_ascii() == b"0");
    if is_root {
        return Command::new(program);
    }
    let mut command = Command::new("sudo");
    command.arg("-n").arg(program);
    command
}

/// Runs a command and shows its output; the error names the failed command and its result.
pub(crate) fn run(command: &mut Command) -> Result<(), String> {
    let shown = format!("{} {}", command.get_program().display(), words(command));
    match command.stdin(Stdio::null()).status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("`{}` ended with {status}", shown.trim_end())),
        Err(error) => Err(format!("`{}` did not start: {error}", shown.trim_end())),
    }
}

fn words(command: &Command) -> String {
    command
        .get_args()
        .map(|word| word.to_string_lossy())
        .collect::<Vec<_>>()
        .join(" ")
}

fn search_path() -> Vec<PathBuf> {
    std::env::var_os("PATH")
        .map(|path| std::env::split_paths(&path).collect())
        .unwrap_or_default()
}

/// Every file of that name in the folders of PATH, in order.
pub(crate) fn on_path(program: &str) -> Vec<PathBuf> {
    let files = search_path().into_iter().map(|folder| folder.join(program));
    files.filter(|file| file.is_file()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn version_in_lock_reads_the_line_below_the_name() {
        let lock = "[[package]]\nname = \"other\"\nversion = \"9.9.9\"\n\n\
                    [[package]]\nname = \"wanted\"\nversion = \"1.2.3\"\n";
        assert_eq!(version_in_lock(lock, "wanted").as_deref(), Some("1.2.3"));
        assert_eq!(version_in_lock(lock, "want"), None);
    }

    #[test]
    fn a_failed_command_is_named_with_its_words() {
        let why = run(Command::new("false").arg("one")).expect_err("false always fails");
        assert!(why.starts_with("`false one` ended with"), "{why}");
        let why = run(&mut Command::new("no-such-program-here")).expect_err("it does not exist");
        assert!(why.contains("did not start"), "{why}");
    }

    #[test]
    fn a_tool_that_does_not_run_has_no_version() {
        assert_eq!(version_of(Path::new("no-such-program-here")), None);
    }
}
