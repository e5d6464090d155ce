//! Labels as they come out of a printer: all that are asked for, at their true size, read back from the PDF that Chromium
//! makes of the saved page.

use std::{path::Path, process::Command};

use loomwright_core::{
    document::{Document, Marking},
    reports::{self, Paper, Part, labels},
    testing::{aircraft, asked},
};
use loomwright_tests::{engines, under_target};

use crate::{
    browser::printed::{Printed, pages},
    samples::{sorrel, teasel},
};

const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// A printer's own error is larger, and so is a cut with scissors.
const ALLOWED_MM: f64 = 0.25;

/// The sheets of labels of a paper: on each the texts of labels, with their places in mm.
fn drawn(paper: &Paper) -> Vec<Vec<(String, f64, f64)>> {
    let sheets = paper.parts.iter().filter_map(|part| match part {
        Part::Drawing { svg, told } if told.starts_with("labels") => Some(svg),
        _ => None,
    });
    let label = |text: &str| {
        let number = |name: &str| -> f64 {
            let value = text
                .split_once(&format!("{name}=\""))
                .expect("it is written")
                .1;
            let value = value.split('"').next().expect("it ends");
            value.parse().expect("a number")
        };
        let words = text.split_once('>').expect("an end of the tag").1;
        let words = words.split('<').next().expect("a text").to_owned();
        (words, number("x"), number("y"))
    };
    let of = |svg: &String| {
        let texts = svg.split("<text ").skip(1);
        let large = texts.filter(|text| text.contains("font-weight"));
        large.map(label).collect()
    };
    sheets.map(of).collect()
}

/// Prints a page with Chromium as a file.
fn print(name: &str, html: &str) -> Vec<Printed> {
    let browser = engines::Browser::chromium().unwrap_or_else(|missing| panic!("{missing}"));
    let folder = under_target("labels");
    std::fs::create_dir_all(&folder).expect("target can be written");
    let file = |kind: &str| folder.join(format!("{name}.{kind}"));
    std::fs::write(file("html"), html).expect("target can be written");
    let pdf = file("pdf");
    let _ = std::fs::remove_file(&pdf);
    let ran = Command::new(browser.browser)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-pdf-header-footer",
        ])
        .arg("--virtual-time-budget=20000")
        .arg(format!(
            "--user-data-dir={}",
            folder.join("profile").display()
        ))
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(format!("file://{}", file("html").display()))
        .output()
        .expect("Chromium starts");
    assert!(
        Path::new(&pdf).exists(),
        "{}",
        String::from_utf8_lossy(&ran.stderr)
    );
    pages(&pdf)
}

/// The places of labels on the pages that have a line for the ruler, in mm from the first of them.
fn places(all: &mut [(f64, f64)]) -> Vec<(f64, f64)> {
    all.sort_by(|a, b| {
        (a.1.round(), a.0)
            .partial_cmp(&(b.1.round(), b.0))
            .expect("numbers")
    });
    let first = all.first().copied().unwrap_or_default();
    all.iter()
        .map(|it| (it.0 - first.0, it.1 - first.1))
        .collect()
}

fn held(name: &str, document: &Document) -> usize {
    let paper = reports::paper(&asked(document), "labels").expect("it is listed");
    let sheets = drawn(&paper);
    let printed = print(name, &paper.to_html());
    let is_sheet = |page: &&Printed| {
        page.words.iter().any(|it| it.0 == "ruler") && page.words.iter().any(|it| it.0 == "line")
    };
    let with_rule = printed.iter().filter(is_sheet);
    let with_rule: Vec<&Printed> = with_rule
        .filter(|page| {
            page.words
                .windows(2)
                .any(|it| it[0].0 == "this" && it[1].0 == "line")
        })
        .collect();
    assert_eq!(
        with_rule.len(),
        sheets.len(),
        "{name}: a page for each sheet of labels"
    );
    let mut found = 0;
    for (n, (page, sheet)) in with_rule.iter().zip(&sheets).enumerate() {
        let mut texts: Vec<&str> = sheet.iter().map(|it| it.0.as_str()).collect();
        texts.sort_unstable();
        texts.dedup();
        let mut origin: Option<(f64, f64)> = None;
        for text in texts {
            let mut wanted: Vec<(f64, f64)> = (sheet.iter())
                .filter(|it| it.0 == text)
                .map(|it| (it.1, it.2))
                .collect();
            let mut on_paper: Vec<(f64, f64)> = (page.words.iter())
                .filter(|it| it.0 == text)
                .map(|it| (it.1[0] / POINTS_PER_MM, it.1[1] / POINTS_PER_MM))
                .collect();
            assert_eq!(
                on_paper.len(),
                wanted.len(),
                "{name}, sheet {}: {text}",
                n + 1
            );
            found += wanted.len();
            let (wanted_from, printed_from) = (places(&mut wanted), places(&mut on_paper));
            for (a, b) in wanted_from.iter().zip(&printed_from) {
                let off = (a.0 - b.0).abs().max((a.1 - b.1).abs());
                assert!(
                    off < ALLOWED_MM,
                    "{name}, {text}: {a:?} mm drawn, {b:?} mm printed"
                );
            }
            // Labels of different wires too: all are moved by the same.
            let moved = (on_paper[0].0 - wanted[0].0, on_paper[0].1 - wanted[0].1);
            let origin = *origin.get_or_insert(moved);
            let off = (moved.0 - origin.0).abs().max((moved.1 - origin.1).abs());
            assert!(
                off < ALLOWED_MM,
                "{name}, {text}: {moved:?}, others {origin:?}"
            );
        }
    }
    assert_eq!(
        found,
        labels::count(document),
        "{name}: as many as are asked for"
    );
    found
}

#[test]
fn every_label_is_printed_at_its_true_size() {
    let counts = [
        held("sorrel", &sorrel()),
        held("teasel", &teasel()),
        held("aircraft", &aircraft(200)),
    ];
    println!("labels printed: {counts:?}");
    let mut small = sorrel();
    small.project.label_mm = Some(6.0);
    assert_eq!(held("sorrel-6mm", &small), counts[0]);
}

/// The page says how the wire is marked, and prints no labels for a wire that is marked itself.
#[test]
fn marks_on_the_insulation_have_no_sheet_of_labels() {
    let mut document = teasel();
    document.project.marking = Some(Marking::Insulation);
    let paper = reports::paper(&asked(&document), "labels").expect("it is listed");
    let printed = print("insulation", &paper.to_html());
    let has = |word: &str| {
        printed
            .iter()
            .flat_map(|it| &it.words)
            .any(|it| it.0 == word)
    };
    assert!(has("11-23).") && !has("ruler"), "{:?}", printed.first());
}
