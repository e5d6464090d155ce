//! What the project is built from: core without a browser, licences that go with ours, and no crate
//! twice without a reason.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

use super::assert_none;

/// The platforms that Loomwright is built for.
const PLATFORMS: [&str; 2] = ["wasm32-unknown-unknown", "x86_64-unknown-linux-gnu"];

/// What cargo knows of every crate that is built for a platform.
fn metadata(platform: &str) -> Value {
    let output = Command::new("cargo")
        .args([
            "metadata",
            "--format-version=1",
            "--locked",
            "--filter-platform",
            platform,
        ])
        .current_dir(loomwright_tests::top())
        .output()
        .expect("cargo runs");
    let words = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "cargo metadata failed: {words}");
    serde_json::from_slice(&output.stdout).expect("cargo writes JSON")
}

fn list(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().into_iter().flatten()
}

/// Names and versions of everything that is linked into a crate of ours. Macros and build scripts
/// run in the compiler and are left out with all that only they need.
fn linked(metadata: &Value, root: &str) -> BTreeSet<(String, String)> {
    let packages: BTreeMap<&str, &Value> = list(&metadata["packages"])
        .filter_map(|package| Some((package["id"].as_str()?, package)))
        .collect();
    let nodes: BTreeMap<&str, &Value> = list(&metadata["resolve"]["nodes"])
        .filter_map(|node| Some((node["id"].as_str()?, node)))
        .collect();
    let is_root = |id: &&str| packages[id]["name"] == root;
    let mut open: Vec<&str> = nodes.keys().copied().filter(is_root).collect();
    assert_eq!(open.len(), 1, "one crate is called {root}");
    let mut seen: BTreeSet<&str> = open.iter().copied().collect();
    while let Some(id) = open.pop() {
        for dependency in list(&nodes[id]["deps"]) {
            let is_linked = list(&dependency["dep_kinds"]).any(|kind| kind["kind"].is_null());
            let Some(id) = dependency["pkg"]
                .as_str()
                .filter(|id| is_linked && !is_macro(packages[id]))
            else {
                continue;
            };
            if seen.insert(id) {
                open.push(id);
            }
        }
    }
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let named = seen
        .iter()
        .map(|id| (text(&packages[id]["name"]), text(&packages[id]["version"])));
    named.collect()
}

fn is_macro(package: &Value) -> bool {
    list(&package["targets"]).any(|target| list(&target["kind"]).any(|kind| kind == "proc-macro"))
}

const BROWSER_CRATES: [&str; 6] = [
    "wasm-bindgen",
    "web-sys",
    "js-sys",
    "leptos",
    "gloo-storage",
    "console_error_panic_hook",
];

#[test]
fn core_links_no_browser_crate() {
    let mut offences = Vec::new();
    for platform in PLATFORMS {
        for (name, version) in linked(&metadata(platform), "loomwright-core") {
            let is_browser = BROWSER_CRATES.contains(&name.as_str()) || name.starts_with("gloo");
            if is_browser {
                offences.push(format!("{platform}: {name} {version}"));
            }
        }
    }
    assert_none("core is linked without a browser", &offences);
    let app = linked(&metadata(PLATFORMS[0]), "loomwright-app");
    assert!(
        app.iter().any(|(name, _)| name == "wasm-bindgen"),
        "the walk finds the app's own"
    );
}

/// Licences that allow what MIT OR Apache-2.0 allows.
const LICENCES: [&str; 13] = [
    "MIT",
    "MIT-0",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "ISC",
    "Zlib",
    "0BSD",
    "CC0-1.0",
    "BSL-1.0",
    "Unicode-3.0",
    "Unlicense",
];

/// Crates with other licences that only tests use: their files stay out of what we ship.
const TEST_ONLY: [(&str, &str); 1] = [("webdriver", "MPL-2.0")];

#[test]
fn licences_go_with_ours() {
    let mut offences = BTreeSet::new();
    for platform in PLATFORMS {
        for package in list(&metadata(platform)["packages"]) {
            let name = package["name"].as_str().unwrap_or_default();
            let licence = package["license"].as_str().unwrap_or("no licence named");
            if !is_allowed(licence) && !TEST_ONLY.contains(&(name, licence)) {
                offences.insert(format!("{name}: {licence}"));
            }
        }
    }
    assert_none(
        "every crate's licence is on the list",
        &Vec::from_iter(offences),
    );
}

/// Whether an SPDX expression can be met with listed licences alone.
fn is_allowed(expression: &str) -> bool {
    let expression = expression.replace('/', " OR ");
    // Crates write AND between parentheses of OR, or plain ORs.
    expression.split(" AND ").all(|part| {
        let part = part.trim().trim_start_matches('(').trim_end_matches(')');
        part.split(" OR ")
            .any(|licence| LICENCES.contains(&licence.trim()))
    })
}

#[test]
fn licence_expressions_are_read() {
    assert!(is_allowed("MIT OR GPL-3.0") && is_allowed("MIT/Apache-2.0"));
    assert!(is_allowed("(MIT OR Apache-2.0) AND Unicode-3.0"));
    assert!(!is_allowed("GPL-3.0") && !is_allowed("MIT AND GPL-3.0"));
}

/// Crates that the app still carries in two versions. The list may only get shorter.
const TWICE_IN_THE_APP: [&str; 4] = ["equator", "gloo-utils", "hashbrown", "thiserror"];

#[test]
fn the_app_carries_no_crate_twice() {
    let mut versions: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (name, version) in linked(&metadata(PLATFORMS[0]), "loomwright-app") {
        versions.entry(name).or_default().push(version);
    }
    versions.retain(|_, versions| versions.len() > 1);
    let twice: Vec<String> = versions.into_keys().collect();
    assert_eq!(
        twice, TWICE_IN_THE_APP,
        "crates in two versions, found and listed"
    );
}
