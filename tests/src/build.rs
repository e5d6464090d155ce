//! The app, built for the browser into `target/dist`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::tools::{Missing, Tools, run};
use crate::under_target;

/// What a browser on the market understands, so `wasm-opt` may use it.
const WASM_FEATURES: [&str; 6] = [
    "--enable-bulk-memory",
    "--enable-nontrapping-float-to-int",
    "--enable-sign-ext",
    "--enable-mutable-globals",
    "--enable-reference-types",
    "--enable-multivalue",
];

/// Builds the app in release and gives the folder to serve.
///
/// # Errors
/// Names a missing tool, or says that the build itself failed; cargo's own words stand above it.
pub fn release() -> Result<PathBuf, Missing> {
    let tools = Tools::ensure()?;
    let mut trunk = tools.trunk();
    trunk.args(["build", "--release"]);
    run(&mut trunk).map_err(|why| {
        Missing::new(
            "the built app",
            why,
            "the lines above say what did not compile",
        )
    })?;
    let dist = under_target("dist");
    if let Some(wasm_opt) = &tools.wasm_opt {
        shrink(wasm_opt, &dist);
    }
    Ok(dist)
}

/// Runs `wasm-opt` over the wasm files of a folder. A file that it cannot read stays as it was:
/// it works all the same.
fn shrink(wasm_opt: &Path, dist: &Path) {
    let files = fs::read_dir(dist)
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.path());
    for file in files.filter(|file| file.extension().is_some_and(|end| end == "wasm")) {
        let smaller = file.with_extension("smaller");
        let mut command = Command::new(wasm_opt);
        command
            .arg("-Os")
            .args(WASM_FEATURES)
            .arg(&file)
            .arg("-o")
            .arg(&smaller);
        let done = run(&mut command)
            .and_then(|()| fs::rename(&smaller, &file).map_err(|error| error.to_string()));
        if let Err(why) = done {
            println!("{} stays as trunk wrote it: {why}", file.display());
        }
    }
}
