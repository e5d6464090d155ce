//! What may lie where, and what may stand in a file.

use super::text::{is_word, parts, without_tests};
use super::{all_files, assert_none, rust_files_below, top_names};

const AT_THE_TOP: [&str; 12] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "Trunk.toml",
    "app",
    "core",
    "public",
    "rust-toolchain.toml",
    "target",
    "tests",
];

#[test]
fn nothing_else_lies_at_the_top() {
    let others: Vec<String> = top_names()
        .into_iter()
        .filter(|name| !AT_THE_TOP.contains(&name.as_str()) && !name.starts_with('.'))
        .collect();
    assert_none(
        "the top of the project holds only what DEVELOPERS.md names",
        &others,
    );
}

/// Longer files are split; 250 lines are the aim.
const MOST_LINES: usize = 700;

#[test]
fn files_stay_readable() {
    let long: Vec<String> = ["core", "app", "tests"]
        .iter()
        .flat_map(|folder| rust_files_below(folder))
        .map(|file| (file.text.lines().count(), file.path))
        .filter(|(lines, _)| *lines > MOST_LINES)
        .map(|(lines, path)| format!("{path}: {lines} lines"))
        .collect();
    assert_none("no Rust file is longer than 700 lines", &long);
}

#[test]
fn nothing_is_left_for_later() {
    // Split, so that this file does not find itself.
    let marks = [
        concat!("#[", "ignore"),
        concat!("#[", "should_panic"),
        concat!("todo", "!("),
        concat!("unimplemented", "!("),
        concat!("FIX", "ME"),
    ];
    let mut offences = Vec::new();
    for file in ["core", "app", "tests"]
        .iter()
        .flat_map(|folder| rust_files_below(folder))
    {
        for (number, line) in file.text.lines().enumerate() {
            if let Some(mark) = marks.iter().find(|mark| line.contains(**mark)) {
                offences.push(format!("{}:{}: {mark}", file.path, number + 1));
            }
        }
    }
    assert_none("no test is switched off and no code is missing", &offences);
}

/// Where core may use them: a map that is only looked up by key, so that its order cannot show, and the
/// threads that the rules run on, whose results are put in order.
const ALLOWED: [(&str, &str); 2] = [
    ("core/src/rules/facts.rs", "HashMap"),
    ("core/src/rules/run.rs", "thread"),
];

#[test]
fn core_has_no_clock_no_files_and_no_order_by_chance() {
    let lib = include_str!("../../../core/src/lib.rs");
    let mut offences = Vec::new();
    if !lib.contains("#![forbid(unsafe_code)]") {
        offences.push("core/src/lib.rs does not forbid unsafe code".to_owned());
    }
    let names = ["HashMap", "HashSet"];
    let modules = ["time", "fs", "env", "net", "thread", "process"];
    for file in rust_files_below("core/src") {
        // The command reads files, and so may tests in files of their own.
        let is_test = file.path.ends_with("/tests.rs") || file.path.contains("/tests/");
        if is_test || file.path.starts_with("core/src/bin/") {
            continue;
        }
        let code = without_tests(&parts(&file.text).code);
        let std_module = |name: &&&str| std_modules(&code).any(|found| found == **name);
        let found = names.iter().filter(|name| holds(&code, name));
        for name in found.chain(modules.iter().filter(std_module)) {
            if ALLOWED.contains(&(file.path.as_str(), *name)) {
                continue;
            }
            offences.push(format!("{}: {name}", file.path));
        }
    }
    assert_none("same input, same bytes: core is pure", &offences);
}

/// The modules of std that a file uses: `std::fs`, and each name in `use std::{…}`.
fn std_modules(code: &str) -> impl Iterator<Item = &str> {
    code.split("std::").skip(1).flat_map(|rest| {
        let list = match rest.strip_prefix('{') {
            Some(list) => list.split(';').next().unwrap_or(list),
            None => rest.split(|c| !is_word(Some(c))).next().unwrap_or(rest),
        };
        list.split(|c| !is_word(Some(c)))
    })
}

#[test]
fn modules_of_std_are_found_in_lists_too() {
    let code = "use std::{\n    fmt,\n    thread,\n};\nlet a = std::fs::read(b);";
    let found: Vec<&str> = std_modules(code).filter(|name| !name.is_empty()).collect();
    assert_eq!(found, ["fmt", "thread", "fs"]);
}

fn holds(code: &str, name: &str) -> bool {
    code.match_indices(name).any(|(at, _)| {
        let after = code[at + name.len()..].chars().next();
        !is_word(code[..at].chars().next_back()) && !is_word(after)
    })
}

/// Hosts that a file may name: this machine, and names that are identifiers rather than places.
const HOSTS: [&str; 7] = [
    "127.0.0.1",
    "0.0.0.0",
    "localhost",
    "www.w3.org",
    "www.apache.org",
    "json-schema.org",
    "example.org",
];

#[test]
fn no_file_names_a_machine_or_a_registry() {
    let paths = [
        concat!("/wo", "rk/"),
        concat!("/ro", "ot/"),
        concat!("/ho", "me/"),
    ];
    let mut offences = Vec::new();
    for file in all_files().iter().filter(|file| file.path != "Cargo.lock") {
        for (number, line) in file.text.lines().enumerate() {
            let path = paths
                .iter()
                .find(|path| line.contains(**path))
                .map(|path| (*path).to_owned());
            let host = hosts(line).find(|host| !HOSTS.contains(&host.as_str()));
            for found in path.into_iter().chain(host) {
                offences.push(format!("{}:{}: {found}", file.path, number + 1));
            }
        }
    }
    assert_none(
        "files hold no path of a machine and no address but the listed ones",
        &offences,
    );
}

fn hosts(line: &str) -> impl Iterator<Item = String> {
    line.split("://")
        .skip(1)
        .map(|rest| {
            rest.chars()
                .take_while(|&letter| letter.is_alphanumeric() || ".-".contains(letter))
                .collect()
        })
        .filter(|host: &String| !host.is_empty())
}

#[test]
fn every_crate_comes_from_the_public_registry() {
    let lock = include_str!("../../../Cargo.lock");
    let others: Vec<String> = lock
        .lines()
        .filter(|line| line.starts_with("source = "))
        .filter(|line| {
            !line.starts_with(concat!(
                "source = \"registry+https:",
                "//github.com/rust-lang/"
            ))
        })
        .map(str::to_owned)
        .collect();
    assert_none(
        "Cargo.lock names no other registry and no repository",
        &others,
    );
}
