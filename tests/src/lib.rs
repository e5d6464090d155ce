//! What `cargo serve` and the journeys share: the tools a build needs, the build of the app for the
//! browser, and a small server for its files. Standard library only, so that it starts fast on a
//! fresh machine.

pub mod build;
pub mod engines;
pub mod npm;
pub mod python;
pub mod server;
pub mod tools;

use std::path::{Path, PathBuf};

/// The top folder of the project.
pub fn top() -> &'static Path {
    let own = Path::new(env!("CARGO_MANIFEST_DIR"));
    own.parent().unwrap_or(own)
}

/// A folder under the project's `target/`, where only builds write.
pub fn under_target(name: &str) -> PathBuf {
    top().join("target").join(name)
}

/// True if tests are asked to write what they compare with: snapshots, tables, measured figures.
pub fn is_writing() -> bool {
    std::env::var_os("LOOMWRIGHT_WRITE").is_some()
}
