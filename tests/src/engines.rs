//! The browsers that journeys run in, and what drives them: found on this machine, else installed.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::tools::{CargoTool, Missing, install_debian, on_path};

/// The version of geckodriver that drives Firefox; Debian has no package of it.
const GECKODRIVER_VERSION: &str = "0.37.1";

/// A browser and the program that steers it over the WebDriver protocol.
#[derive(Debug, Clone)]
pub struct Browser {
    /// The browser itself.
    pub browser: PathBuf,
    /// Its driver.
    pub driver: PathBuf,
}

impl Browser {
    /// Finds Chromium and chromedriver; on Debian, as root or with sudo, installs them.
    ///
    /// # Errors
    /// Says what is missing and how to get it.
    pub fn chromium() -> Result<Self, Missing> {
        let find = || {
            Some(Self {
                browser: first(&["chromium", "chromium-browser", "google-chrome"])?,
                driver: first(&["chromedriver", "chromium.chromedriver"])?,
            })
        };
        let packages = ["chromium", "chromium-driver"];
        found_or_installed("Chromium and its driver", &packages, find)
    }

    /// Finds Firefox and geckodriver, or installs them.
    ///
    /// # Errors
    /// Says what is missing and how to get it.
    pub fn firefox() -> Result<Self, Missing> {
        let find = || first(&["firefox-esr", "firefox"]);
        let driver = CargoTool {
            package: "geckodriver",
            version: GECKODRIVER_VERSION.into(),
            locked: false,
        };
        Ok(Self {
            browser: found_or_installed("Firefox", &["firefox-esr"], find)?,
            driver: driver.ensure()?,
        })
    }

    /// Finds the small browser that comes with WebKitGTK and its driver, or installs them.
    ///
    /// # Errors
    /// Says what is missing and how to get it.
    pub fn webkit() -> Result<Self, Missing> {
        let find = || {
            Some(Self {
                browser: mini_browser()?,
                driver: first(&["WebKitWebDriver"])?,
            })
        };
        found_or_installed("WebKitGTK and its driver", &["webkit2gtk-driver"], find)
    }
}

/// A screen in memory, for a browser that needs one.
///
/// # Errors
/// Says what is missing and how to get it.
pub fn xvfb() -> Result<PathBuf, Missing> {
    found_or_installed("a screen in memory", &["xvfb"], || first(&["Xvfb"]))
}

/// What reads the text of a PDF and where each word is.
///
/// # Errors
/// Says what is missing and how to get it.
pub fn pdf_reader() -> Result<PathBuf, Missing> {
    let find = || first(&["pdftotext"]);
    found_or_installed("a reader of PDF files", &["poppler-utils"], find)
}

/// What paints the pages of a PDF.
///
/// # Errors
/// Says what is missing and how to get it.
pub fn pdf_painter() -> Result<PathBuf, Missing> {
    let find = || first(&["pdftoppm"]);
    found_or_installed("a painter of PDF files", &["poppler-utils"], find)
}

/// The system's Python with the bindings of WebKitGTK, which prints where the driver cannot.
///
/// # Errors
/// Says what is missing and how to get it.
pub fn webkit_python() -> Result<PathBuf, Missing> {
    const ASK: &str =
        "import gi; gi.require_version('WebKit2', '4.1'); from gi.repository import WebKit2";
    // Another Python on PATH knows nothing of the system's packages.
    let python = PathBuf::from("/usr/bin/python3");
    let find = || {
        let asked = Command::new(&python).args(["-c", ASK]).output().ok()?;
        asked.status.success().then(|| python.clone())
    };
    let packages = ["python3-gi", "gir1.2-webkit2-4.1"];
    found_or_installed("WebKitGTK for Python", &packages, find)
}

fn first(names: &[&str]) -> Option<PathBuf> {
    names
        .iter()
        .find_map(|name| on_path(name).into_iter().next())
}

/// It lies beside the libraries and not on PATH, in a folder named after machine and version.
fn mini_browser() -> Option<PathBuf> {
    let folders = |folder: &Path| {
        let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
        entries.map(|entry| entry.path()).collect::<Vec<_>>()
    };
    let mut homes = folders(Path::new("/usr/libexec"));
    for library in folders(Path::new("/usr/lib")) {
        homes.extend(folders(&library));
    }
    let of_webkit = |home: &PathBuf| {
        let name = home.file_name().unwrap_or_default().to_string_lossy();
        name.starts_with("webkit2gtk-") || name.starts_with("webkitgtk-")
    };
    let programs = homes.into_iter().filter(of_webkit);
    let mut programs = programs.map(|home| home.join("MiniBrowser"));
    programs.find(|program| program.is_file())
}

fn found_or_installed<T>(
    what: &str,
    packages: &[&str],
    find: impl Fn() -> Option<T>,
) -> Result<T, Missing> {
    if let Some(found) = find() {
        return Ok(found);
    }
    let names = packages.join(" ");
    println!("installing {names}");
    let hint =
        format!("install it so that its programs are on PATH (Debian: apt-get install {names})");
    install_debian(packages).map_err(|why| Missing::new(what, why, hint.clone()))?;
    find().ok_or_else(|| Missing::new(what, "apt-get did not bring it", hint))
}
