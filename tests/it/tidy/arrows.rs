//! Who may import whom. The same table stands in DEVELOPERS.md.

use super::paths::Crate;
use super::text::{is_word, parts};
use super::{SourceFile, assert_none, rust_files_below};

/// A module of the core, and the modules that its code (not its tests) may name.
const MAY_IMPORT: [(&str, &[&str]); 17] = [
    ("order", &[]),
    ("markup", &[]),
    ("units", &[]),
    ("ids", &[]),
    ("sources", &[]),
    // A table must be checkable alone.
    ("standards", &["units", "sources"]),
    // Records stay loadable when a kind of device is unknown.
    ("document", &["units", "ids"]),
    // A kind of device is a ready-made record.
    ("catalogue", &["document", "units", "ids", "sources"]),
    // An edit never waits for the analysis and never refuses on electrical grounds.
    ("edit", &["document", "catalogue", "units", "ids"]),
    // Who is joined to whom comes from records, never from touching lines, and knows no rule.
    ("netlist", &["document", "standards", "units", "ids"]),
    // Nothing passes or fails in the solver.
    (
        "solve",
        &["netlist", "document", "standards", "units", "ids"],
    ),
    // Nor in what follows from the solved circuit: it says what is there and what should be read.
    (
        "analysis",
        &["solve", "netlist", "document", "standards", "units", "ids"],
    ),
    (
        "noise",
        &[
            "analysis",
            "solve",
            "netlist",
            "document",
            "standards",
            "units",
            "ids",
            "sources",
        ],
    ),
    // The same verdict with or without a screen or a file.
    (
        "rules",
        &[
            "noise",
            "analysis",
            "solve",
            "netlist",
            "edit",
            "document",
            "catalogue",
            "standards",
            "units",
            "ids",
            "sources",
        ],
    ),
    (
        "reports",
        &[
            "rules",
            "noise",
            "analysis",
            "solve",
            "netlist",
            "document",
            "catalogue",
            "standards",
            "units",
            "ids",
            "sources",
        ],
    ),
    // Marks and volts arrive as plain data from whoever paints.
    (
        "drawing",
        &["netlist", "document", "catalogue", "units", "ids"],
    ),
    // A file with faults in it still opens. The table of wires says which gauge an area in a list is.
    (
        "exchange",
        &["edit", "document", "standards", "units", "ids"],
    ),
];

/// What every module may name: maps and sorts, and text made harmless, which know nothing of wiring.
const ANYONES: [&str; 2] = ["order", "markup"];

/// Modules that stand above the table and may name everything: the test language and the command.
const ABOVE: [&str; 3] = ["testing", "bin", "lib"];

#[test]
fn core_modules_import_along_the_arrows() {
    assert_none(
        "core's modules import only what the table in arrows.rs allows",
        &against_the_arrows(&rust_files_below("core/src")),
    );
}

/// What files of the core name and may not. Tests may name anything.
fn against_the_arrows(files: &[SourceFile]) -> Vec<String> {
    let is_module =
        |name: &str| ABOVE.contains(&name) || MAY_IMPORT.iter().any(|(known, _)| *known == name);
    let mut offences: Vec<String> = files
        .iter()
        .filter(|file| !is_module(module_of(&file.path)))
        .map(|file| format!("{}: its module is not in the table", file.path))
        .collect();
    for (file, name) in Crate::new("loomwright_core", "core/src", files).root_names() {
        let module = module_of(&file);
        let known = MAY_IMPORT.iter().find(|(known, _)| *known == module);
        let may = |(_, allowed): &(&str, &[&str])| {
            name == module
                || !is_module(&name)
                || ANYONES.contains(&name.as_str())
                || allowed.contains(&name.as_str())
        };
        if !known.is_none_or(may) {
            offences.push(format!("{file}: {module} names {name}"));
        }
    }
    offences
}

/// The module at the root of core that a file belongs to.
fn module_of(path: &str) -> &str {
    let path = path.trim_start_matches("core/src/");
    let module = path.split('/').next().unwrap_or(path);
    module.trim_end_matches(".rs")
}

#[test]
fn an_import_against_the_arrows_is_told() {
    let found = |text: &str| {
        let file = |path: &str, text: &str| SourceFile {
            path: path.into(),
            text: text.into(),
        };
        against_the_arrows(&[
            file("core/src/lib.rs", "pub mod document;"),
            file("core/src/document/wire.rs", text),
        ])
    };
    let bad = ["core/src/document/wire.rs: document names edit"];
    assert_eq!(found("use crate::edit::Change;"), bad);
    assert_eq!(
        found("pub use super::super::{edit::Change, ids::WireId};"),
        bad
    );
    assert_eq!(found("fn f() { crate::edit::go(); }"), bad);
    assert_eq!(found("use crate::ids::WireId;\n// crate::edit"), [""; 0]);
    assert_eq!(
        found("#[cfg(test)]\nmod tests { use crate::edit::Change; }"),
        [""; 0]
    );
}

/// Where the app may use the browser's own types: one folder, and the drawing surface, where events
/// come in and ink goes out.
const BROWSER_CODE: [&str; 2] = ["app/src/platform/", "app/src/surface/"];

#[test]
fn the_app_keeps_its_own_arrows() {
    let mut offences = Vec::new();
    for file in rust_files_below("app/src") {
        // Everyone may make a text harmless and read a number.
        let code = parts(&file.text)
            .code
            .replace("loomwright_core::markup", "")
            .replace("loomwright_core::units::number", "");
        let mut forbid = |names: &[&str], why: &str| {
            for name in names.iter().filter(|name| names_it(&code, name)) {
                offences.push(format!("{}: names {name}; {why}", file.path));
            }
        };
        if !BROWSER_CODE
            .iter()
            .any(|allowed| file.path.starts_with(allowed))
        {
            forbid(
                &["web_sys", "js_sys", "wasm_bindgen"],
                "only platform and the drawing surface may",
            );
        }
        if file.path.starts_with("app/src/tools/") {
            forbid(&["leptos", "session"], "a tool is a pure state machine");
        }
        if file.path.starts_with("app/src/widgets/") {
            forbid(&["loomwright_core"], "a widget knows nothing of wiring");
        }
    }
    assert_none("the app's parts keep to themselves", &offences);
}

/// Whether `code` holds `name` followed by `::`, as a whole name.
fn names_it(code: &str, name: &str) -> bool {
    code.match_indices(&format!("{name}::"))
        .any(|(at, _)| !is_word(code[..at].chars().next_back()))
}
