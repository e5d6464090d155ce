//! `tests/measured.md` is written by what measured its figures. A figure stands before a mark, `1.7 ms<!--sorrel/check-->`:
//! the mark names a benchmark of `core/benches`, or a measurement of a test that calls [`keep`].
//!
//! After `cargo bench -p loomwright-core --features testing`, `LOOMWRIGHT_WRITE=1 cargo test measured` takes its medians
//! over; tests that measure write theirs when they run with `LOOMWRIGHT_WRITE=1`.

use std::{fs, path::PathBuf, sync::Mutex};

use loomwright_tests::{is_writing, top, under_target};
use serde_json::Value;

/// Marks that are not of a benchmark, with who writes them: a test of this binary.
const BY_TESTS: [(&str, &str); 5] = [
    ("download", "size"),
    ("frames/", "browser/frames"),
    ("panel", "browser/panel"),
    ("still", "stillness"),
    ("pack", "browser/trace"),
];

/// Tests run side by side, the file is one.
static FILE: Mutex<()> = Mutex::new(());

fn path() -> PathBuf {
    top().join("tests/measured.md")
}

fn read() -> String {
    fs::read_to_string(path()).expect("the file is part of the project")
}

/// Keeps a figure in the file if figures are to be written. Says if the file has no mark of this name.
pub fn keep(mark: &str, figure: &str) {
    if !is_writing() {
        return;
    }
    let _alone = FILE
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    let text = replaced(&read(), mark, figure);
    let text = text.unwrap_or_else(|| panic!("tests/measured.md has no mark {mark}"));
    fs::write(path(), text).expect("the file can be written");
}

/// Holds the text between the marks `<!-- name -->` and `<!-- end of name -->`, which a test writes as a whole.
pub fn hold(name: &str, text: &str) {
    let _alone = FILE
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    let file = read();
    let [begin, end] = [
        format!("<!-- {name} -->\n"),
        format!("<!-- end of {name} -->\n"),
    ];
    let (before, rest) = file.split_once(&begin).expect("the mark before");
    let (there, after) = rest.split_once(&end).expect("the mark after");
    if is_writing() {
        fs::write(path(), format!("{before}{begin}{text}{end}{after}"))
            .expect("the file can be written");
        return;
    }
    assert!(
        there == text,
        "measured.md says otherwise; write it with LOOMWRIGHT_WRITE=1"
    );
}

/// The figure before a mark, as it is in the file.
pub fn kept(mark: &str) -> String {
    let text = read();
    let (before, _) = text
        .split_once(&format!("<!--{mark}-->"))
        .unwrap_or_else(|| panic!("tests/measured.md has no mark {mark}"));
    figure_before(before).to_owned()
}

/// The end of a text that is a figure with its unit: "1.7 ms", "1,039,387".
fn figure_before(before: &str) -> &str {
    let is_unit = |it: char| it.is_alphabetic() || it == 'µ' || it == '%';
    let number = before.trim_end_matches(is_unit);
    let number = match number.len() < before.len() {
        true => number.strip_suffix(' ').unwrap_or(number),
        false => number,
    };
    let is_number = |it: char| it.is_ascii_digit() || matches!(it, '.' | ',');
    let begins = number.trim_end_matches(is_number).len();
    &before[begins..]
}

/// The text with another figure before a mark, wherever it stands.
fn replaced(text: &str, mark: &str, figure: &str) -> Option<String> {
    let mark = format!("<!--{mark}-->");
    let parts: Vec<&str> = text.split(&mark).collect();
    let (last, before) = parts.split_last()?;
    let written = before.iter().map(|part| {
        let kept = part.len() - figure_before(part).len();
        format!("{}{figure}{mark}", &part[..kept])
    });
    (!before.is_empty()).then(|| written.collect::<String>() + last)
}

fn marks(text: &str) -> impl Iterator<Item = (&str, &str)> {
    text.match_indices("<!--").filter_map(|(at, open)| {
        let (mark, _) = text[at + open.len()..].split_once("-->")?;
        Some((&text[..at], mark))
    })
}

#[test]
fn every_measured_figure_has_something_that_measures_it() {
    let text = read();
    let benches = fs::read_dir(top().join("core/benches")).expect("the benches");
    let benches: String = benches
        .flatten()
        .map(|file| fs::read_to_string(file.path()).expect("a bench"))
        .collect();
    let mut seen = 0;
    // With a blank before it a mark encloses what a test writes as a whole.
    for (before, mark) in marks(&text).filter(|(_, mark)| !mark.starts_with(' ')) {
        let figure = figure_before(before);
        assert!(
            figure.starts_with(|it: char| it.is_ascii_digit()),
            "no figure before {mark}: {figure:?}"
        );
        let by_test = BY_TESTS.iter().any(|(begin, _)| mark.starts_with(begin));
        let parts = mark
            .split('/')
            .map(|part| part.split(", ").next().unwrap_or(part));
        // Names of a group and of sizes are put together while it runs.
        let by_bench = parts.into_iter().all(|part| benches.contains(part));
        assert!(by_test || by_bench, "nothing measures {mark}");
        seen += 1;
        if let (true, Some(now)) = (is_writing() && by_bench, median(mark)) {
            keep(mark, &now);
        }
    }
    assert!(seen > 20, "{seen} figures");
}

/// The median that a benchmark left in `target`, as it is written; none if it did not run here.
fn median(bench: &str) -> Option<String> {
    let file = under_target("criterion")
        .join(bench)
        .join("new/estimates.json");
    let estimates: Value = serde_json::from_slice(&fs::read(file).ok()?).ok()?;
    estimates["median"]["point_estimate"].as_f64().map(time)
}

/// A time of so many nanoseconds.
fn time(ns: f64) -> String {
    match ns / 1e6 {
        ms if ms < 0.095 => format!("{ms:.2} ms"),
        ms if ms < 9.95 => format!("{ms:.1} ms"),
        ms => format!("{ms:.0} ms"),
    }
}

#[test]
fn a_figure_is_found_before_its_mark_and_replaced() {
    let text = "| check | 1.7 ms<!--a--> (3) | 1,039,387<!--b-->, 0.6 ms<!--a--> |";
    assert_eq!(
        replaced(text, "a", "12 ms").as_deref(),
        Some("| check | 12 ms<!--a--> (3) | 1,039,387<!--b-->, 12 ms<!--a--> |")
    );
    assert_eq!(figure_before("| check | 1,039,387"), "1,039,387");
    assert_eq!(replaced(text, "c", "1"), None);
    assert_eq!(
        [time(5.68e6), time(2.3e4), time(17.7e6)],
        ["5.7 ms", "0.02 ms", "18 ms"]
    );
}
