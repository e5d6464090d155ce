//! Who may import whom. The same table stands in DEVELOPERS.md.

use super::text::{is_word, parts, without_tests};
use super::{SourceFile, assert_none, rust_files_below};

/// A module of the core, and the modules that its code (not its tests) may name.
const MAY_IMPORT: [(&str, &[&str]); 16] = [
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
    (
        "noise",
        &[
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
    // A file with faults in it still opens.
    ("exchange", &["edit", "document", "units", "ids"]),
];

/// What every module may name: maps and sorts, and text made harmless, which know nothing of wiring.
const ANYONES: [&str; 2] = ["order", "markup"];

/// Modules that stand above the table and may name everything: the test language and the command.
const ABOVE: [&str; 3] = ["testing", "bin", "lib"];

#[test]
fn core_modules_import_along_the_arrows() {
    let offences: Vec<String> = rust_files_below("core/src")
        .iter()
        .flat_map(against_the_arrows)
        .collect();
    assert_none(
        "core's modules import only what the table in arrows.rs allows",
        &offences,
    );
}

fn against_the_arrows(file: &SourceFile) -> Vec<String> {
    let path = file
        .path
        .trim_start_matches("core/src/")
        .trim_end_matches(".rs");
    let names: Vec<&str> = path.split('/').collect();
    let module = names[0];
    if ABOVE.contains(&module) || is_test_file(&file.path) {
        return Vec::new();
    }
    let Some((_, allowed)) = MAY_IMPORT.iter().find(|(name, _)| *name == module) else {
        return vec![format!(
            "{}: module {module} is not in the table",
            file.path
        )];
    };
    let code = without_tests(&parts(&file.text).code);
    let depth = names.len() - usize::from(names.last() == Some(&"mod"));
    let mut offences = Vec::new();
    for (line, name) in crate_names(&code, depth) {
        let is_module =
            MAY_IMPORT.iter().any(|(known, _)| *known == name) || ABOVE.contains(&name.as_str());
        if is_module
            && name != module
            && !ANYONES.contains(&name.as_str())
            && !allowed.contains(&name.as_str())
        {
            offences.push(format!("{}:{line}: {module} names {name}", file.path));
        }
    }
    offences
}

/// The line and first name of every path from the crate's root in `code`, written `crate::…` or, at
/// the top level of a file `depth` modules deep, with `super::` as often as it takes.
fn crate_names(code: &str, depth: usize) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for root in ["crate::".to_owned(), "super::".repeat(depth)] {
        for (at, _) in code.match_indices(&root) {
            let before = code[..at].chars().next_back();
            let line_start = code[..at].rfind('\n').map_or(0, |end| end + 1);
            let inside_a_block = code[line_start..].starts_with(' ');
            if is_word(before) || before == Some(':') || (root != "crate::" && inside_a_block) {
                continue;
            }
            let line = code[..at].matches('\n').count() + 1;
            let names = first_names(&code[at + root.len()..]);
            found.extend(names.into_iter().map(|name| (line, name)));
        }
    }
    found
}

/// The first name of a path, or of each path in `{a::b, c}`.
fn first_names(path: &str) -> Vec<String> {
    let name = |text: &str| -> String {
        text.trim_start()
            .chars()
            .take_while(|&letter| is_word(Some(letter)))
            .collect()
    };
    let Some(list) = path.strip_prefix('{') else {
        return vec![name(path)];
    };
    let mut names = Vec::new();
    let (mut depth, mut start) = (0_usize, 0);
    for (at, letter) in list.char_indices() {
        match letter {
            '{' => depth += 1,
            '}' if depth == 0 => {
                names.push(name(&list[start..at]));
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                names.push(name(&list[start..at]));
                start = at + 1;
            }
            _ => {}
        }
    }
    names.retain(|name| !name.is_empty());
    names
}

fn is_test_file(path: &str) -> bool {
    path.ends_with("/tests.rs") || path.contains("/tests/")
}

#[test]
fn paths_are_read_in_every_form() {
    let code = "use crate::{\n    edit::{Change, Key},\n    ids::WireId,\n};\nuse crate::units;\n\
                fn f() { crate::rules::check(); }\nuse super::super::solve::x;\n    super::super::no();\n";
    let names: Vec<String> = crate_names(code, 2)
        .into_iter()
        .map(|(_, name)| name)
        .collect();
    assert_eq!(names, ["edit", "ids", "units", "rules", "solve"]);
}

#[test]
fn an_import_against_the_arrows_is_told() {
    let file = |path: &str, text: &str| SourceFile {
        path: path.into(),
        text: text.into(),
    };
    let bad = file("core/src/document/wire.rs", "use crate::edit::Change;\n");
    assert_eq!(
        against_the_arrows(&bad),
        ["core/src/document/wire.rs:1: document names edit"]
    );
    let good = file(
        "core/src/document/wire.rs",
        "use crate::ids::WireId;\n// crate::edit\n",
    );
    assert!(against_the_arrows(&good).is_empty());
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
