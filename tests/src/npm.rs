//! npm packages, each installed into its own folder under `target/tools`.

use std::path::PathBuf;
use std::process::Command;

use crate::tools::{Missing, install_debian, on_path, run};
use crate::under_target;

/// A package at a fixed version.
pub struct Package {
    /// Its name.
    pub name: &'static str,
    /// Its version.
    pub version: &'static str,
}

/// Checks the accessibility of a page: contrast, names, roles (MPL 2.0; used by tests only).
pub const AXE: Package = Package {
    name: "axe-core",
    version: "4.14.1",
};

/// A general router of orthogonal connectors (LGPL-2.1; used by tests only).
pub const LIBAVOID: Package = Package {
    name: "libavoid-js",
    version: "0.4.5",
};

impl Package {
    /// The folder of the package; installs it first if it is missing.
    ///
    /// # Errors
    /// Reports what is missing and how to get it.
    pub fn ensure(&self) -> Result<PathBuf, Missing> {
        let home = under_target("tools").join(format!("npm-{}-{}", self.name, self.version));
        let folder = home.join("node_modules").join(self.name);
        if folder.join("package.json").is_file() {
            return Ok(folder);
        }
        let hint = "install npm (Debian: apt-get install npm)";
        let missing = |why: String| Missing::new(self.name, why, hint);
        if on_path("npm").is_empty() {
            println!("installing npm");
            install_debian(&["npm"]).map_err(missing)?;
        }
        println!("installing the npm package {} {}", self.name, self.version);
        std::fs::create_dir_all(&home).map_err(|error| missing(error.to_string()))?;
        let mut npm = Command::new("npm");
        npm.args(["install", "--no-audit", "--no-fund", "--no-save"])
            .args(["--loglevel=error", "--prefix"])
            .arg(&home)
            .arg(format!("{}@{}", self.name, self.version));
        run(&mut npm).map_err(missing)?;
        Ok(folder)
    }
}
