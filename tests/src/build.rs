//! The app, built for the browser into `target/dist`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::tools::{Missing, Tools, run};
use crate::under_target;

/// WebAssembly features that current browsers support, so `wasm-opt` may use them.
const WASM_FEATURES: [&str; 6] = [
    "--enable-bulk-memory",
    "--enable-nontrapping-float-to-int",
    "--enable-sign-ext",
    "--enable-mutable-globals",
    "--enable-reference-types",
    "--enable-multivalue",
];

/// Passes of `wasm-opt`. The size levels give fewer bytes, but those compress less well (638,553
/// bytes of brotli at `-Os`, 629,415 at `-O1` when tried). Then repeated assignments of the same
/// value are removed (3 KB), and functions with similar names, which are often similar inside, are
/// placed next to each other (13 KB; compiler names put the generic part first).
const PASSES: [&str; 4] = ["-O1", "--rse", "--vacuum", "--reorder-functions-by-name"];

/// Builds the app in release and returns the folder to serve.
///
/// # Errors
/// Names a missing tool, or reports that the build failed; cargo's own messages are above it.
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

/// Runs `wasm-opt` over the wasm files of a folder. A file that it cannot read stays unchanged and
/// still works. A run takes a minute, so the result is cached: trunk names a file after its
/// content.
fn shrink(wasm_opt: &Path, dist: &Path) {
    let kept = under_target("shrunk");
    let files = fs::read_dir(dist).into_iter().flatten().flatten();
    for file in files
        .map(|entry| entry.path())
        .filter(|file| file.extension() == Some("wasm".as_ref()))
    {
        let Some(name) = file.file_name() else {
            continue;
        };
        let smaller = kept.join(name);
        if !smaller.exists() {
            let _ = fs::remove_dir_all(&kept);
            let half_done = kept.join("half-done");
            let mut command = Command::new(wasm_opt);
            command
                .args(PASSES)
                .args(WASM_FEATURES)
                .arg(&file)
                .arg("-o")
                .arg(&half_done);
            let done = fs::create_dir_all(&kept)
                .map_err(|error| error.to_string())
                .and_then(|()| run(&mut command))
                .and_then(|()| fs::rename(&half_done, &smaller).map_err(|error| error.to_string()));
            if let Err(why) = done {
                println!("{} stays as trunk wrote it: {why}", file.display());
                continue;
            }
        }
        if let Err(error) = fs::copy(&smaller, &file) {
            println!("{} stays as trunk wrote it: {error}", file.display());
        }
    }
}
