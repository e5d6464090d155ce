//! Everything printed: both packs and every paper as PDF on A4 and on letter paper, each page read back.
//!
//! A file is printed by Chromium; `browser/engines` prints from the app, in three engines.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use loomwright_core::{
    document::Document,
    reports::{self, Edition, Paper, Part},
    testing::asked,
};
use loomwright_tests::{engines, under_target};

use crate::browser::printed::{self, Printed};
use crate::samples::{sorrel, teasel};

/// Paper as it comes from a printer, in points (ISO 216; ANSI/ASME Y14.1), narrow side first.
const PAPER: [(&str, (f64, f64)); 2] = [("A4", (595.3, 841.9)), ("letter", (612.0, 792.0))];
/// A3 (ISO 216), points.
const A3: (f64, f64) = (1190.6, 841.9);
/// Points in a millimeter.
const MM: f64 = 72.0 / 25.4;
const VERSION: &str = "version As flown, 0123456789ab";
const DATE: &str = "2026-11-30";

/// A paper as it is made for print.
fn made(document: &Document, name: &str) -> Paper {
    let mut paper = reports::paper(&asked(document), name).expect("it is listed");
    paper.edition = Edition {
        version: VERSION.into(),
        date: DATE.into(),
    };
    paper
}

/// Prints a paper on this kind of paper; gives the PDF.
fn print(paper: &Paper, on: &str, name: &str) -> PathBuf {
    let folder = under_target("pages");
    fs::create_dir_all(&folder).expect("target can be written");
    let page = folder.join(format!("{name}.html"));
    let pdf = folder.join(format!("{name}.pdf"));
    let _ = fs::remove_file(&pdf);
    // What a person chooses in the print dialog: the command line has no word for it.
    let text = paper.to_html();
    let chosen = ["portrait", "landscape"].iter().fold(text, |text, way| {
        let size = format!("{{ size: {way}; ");
        assert!(text.contains(&size), "the styles name no {way} page");
        text.replace(&size, &format!("{{ size: {on} {way}; "))
    });
    fs::write(&page, chosen).expect("target can be written");
    let browser = engines::Browser::chromium().unwrap_or_else(|missing| panic!("{missing}"));
    let mut command = Command::new(browser.browser);
    command.args([
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--no-pdf-header-footer",
    ]);
    command.arg(format!(
        "--user-data-dir={}",
        folder.join(format!("profile-{name}")).display()
    ));
    command.arg(format!("--print-to-pdf={}", pdf.display()));
    command.arg(format!("file://{}", page.display()));
    let output = command.output().expect("the browser starts");
    assert!(
        pdf.exists(),
        "{name}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    pdf
}

/// Words on one height.
type Line<'p> = (f64, Vec<&'p (String, [f64; 4])>);

/// The lines of a page: words on one height, from the left.
fn lines(page: &Printed) -> Vec<String> {
    let mut lines: Vec<Line> = Vec::new();
    for word in &page.words {
        let base = word.1[3];
        match lines.iter_mut().find(|it| (it.0 - base).abs() < 2.0) {
            Some(line) => line.1.push(word),
            None => lines.push((base, vec![word])),
        }
    }
    lines.sort_by(|a, b| a.0.total_cmp(&b.0));
    let text = |(_, mut words): Line| {
        words.sort_by(|a, b| a.1[0].total_cmp(&b.1[0]));
        let words: Vec<&str> = words.iter().map(|it| it.0.as_str()).collect();
        words.join(" ")
    };
    lines.into_iter().map(text).collect()
}

/// True if the page is a sheet: it has the paper of a sheet.
fn is_sheet(page: &Printed) -> bool {
    is_near(page.size, A3)
}

fn is_near(a: (f64, f64), b: (f64, f64)) -> bool {
    (a.0 - b.0).abs() < 2.0 && (a.1 - b.1).abs() < 2.0
}

/// What may begin a page: words of the paper that stand above or between its tables.
fn beginnings(paper: &Paper) -> Vec<String> {
    let mut all = vec![paper.title.clone()];
    for part in &paper.parts {
        match part {
            Part::Heading(text) | Part::Text(text) => all.push(text.clone()),
            Part::Caution(text) => all.push(format!("Caution {text}")),
            Part::Table(table) => all.push(table.title.clone()),
            _ => {}
        }
    }
    all
}

/// What every page of a paper has to hold; gives what it does not.
fn faults(paper: &Paper, pages: &[Printed], (on, size): (&str, (f64, f64))) -> Vec<String> {
    let mut faults = Vec::new();
    let begins = beginnings(paper);
    for (n, page) in pages.iter().enumerate() {
        let all = lines(page);
        let mut say = |what: String| faults.push(format!("page {} on {on}: {what}", n + 1));
        let text = all.join(" ");
        let head = match is_sheet(page) {
            true => all.first().cloned().unwrap_or_default(),
            false => all.iter().take(2).cloned().collect::<Vec<_>>().join(" "),
        };
        let number = format!("page {} of {}", n + 1, pages.len());
        let wanted: [&str; 5] = [&paper.aircraft, &paper.what, VERSION, DATE, &number];
        for it in wanted.into_iter().filter(|it| !head.contains(*it)) {
            say(format!("no {it:?} in {head:?}"));
        }
        let (wide, high) = page.size;
        if !(is_sheet(page) || is_near((wide, high), size) || is_near((high, wide), size)) {
            say(format!("it is {wide} x {high}"));
        }
        if !page.cut().is_empty() {
            say(format!("cut: {:?}", page.cut()));
        }
        // A page of few words is a drawing, or nearly empty: then its lowest word is high up.
        let lowest = page.words.iter().map(|it| it.1[3]).fold(0.0, f64::max);
        if lowest < 0.25 * high {
            say(format!("nearly empty: {text:?}"));
        }
        let boxes = page
            .words
            .iter()
            .filter(|it| it.0.contains(['\u{2610}', '\u{2611}']));
        for (_, [_, top, _, bottom]) in boxes {
            if bottom - top < 8.0 * MM {
                say(format!("a box of {:.1} mm", (bottom - top) / MM));
            }
        }
        if is_sheet(page) {
            let left = page.words.iter().map(|it| it.1[0]).fold(wide, f64::min);
            let right = page.words.iter().map(|it| it.1[2]).fold(0.0, f64::max);
            if right - left < 0.9 * wide {
                say(format!("the sheet is {:.0} mm wide", (right - left) / MM));
            }
            continue;
        }
        // A table goes on under its name only.
        let first = all.get(2).cloned().unwrap_or_default();
        let mut starts = begins.iter().map(|it| {
            let words: Vec<&str> = it.split_whitespace().collect();
            words.join(" ")
        });
        // A page with nothing but a drawing begins with words of that.
        let is_drawn = paper.parts.iter().any(|part| match part {
            Part::Drawing { svg, .. } => first.split(' ').all(|word| svg.contains(word)),
            _ => false,
        });
        if !is_drawn && !first.ends_with("continued") && !starts.any(|it| it.starts_with(&first)) {
            say(format!("begins with {first:?}"));
        }
    }
    faults
}

/// The first pages that name each paper.
fn begun(paper: &Paper, pages: &[Printed]) -> Vec<(String, usize)> {
    let page_of = |name: &str| {
        let names = |page: &Printed| {
            let head = lines(page).first().cloned().unwrap_or_default();
            let (_, after) = head.split_once(&format!("{}: ", paper.what))?;
            let names = after.split("; ");
            Some(names.into_iter().any(|it| it.starts_with(name)))
        };
        pages.iter().position(|page| names(page) == Some(true))
    };
    let names = paper.contents();
    names
        .map(|it| {
            let page = page_of(it).unwrap_or_else(|| panic!("no page names {it}"));
            (it.to_owned(), page + 1)
        })
        .collect()
}

/// True if no point of any page has a color.
fn is_gray(pdf: &Path) -> bool {
    let output = Command::new(engines::pdf_painter().unwrap_or_else(|missing| panic!("{missing}")))
        .args(["-r", "20"])
        .arg(pdf)
        .output()
        .expect("the painter of PDF files starts");
    // Pictures one after the other (PPM, three lines of heading, three bytes a point).
    let mut rest = output.stdout.as_slice();
    let mut is_gray = !rest.is_empty();
    while !rest.is_empty() {
        let mut heading = Vec::new();
        while heading.len() < 3 {
            let end = rest.iter().position(|it| *it == b'\n').expect("a heading");
            heading.push(String::from_utf8_lossy(&rest[..end]).into_owned());
            rest = &rest[end + 1..];
        }
        let sides = heading[1].split(' ').map(str::parse::<usize>);
        let points: usize = sides.map(|it| it.expect("a number")).product();
        let (picture, after) = rest.split_at(3 * points);
        let mut colors = picture.chunks(3);
        is_gray &= colors.all(|it| it[0].abs_diff(it[1]).max(it[1].abs_diff(it[2])) < 4);
        rest = after;
    }
    is_gray
}

#[test]
fn every_page_of_both_packs_is_whole_on_a4_and_on_letter_paper() {
    for (sample, document) in [("sorrel", sorrel()), ("teasel", teasel())] {
        let paper = made(&document, "pack");
        for on in PAPER {
            let pdf = print(&paper, on.0, &format!("{sample}-pack-{}", on.0));
            let pages = printed::pages(&pdf);
            let faults = faults(&paper, &pages, on);
            assert!(faults.is_empty(), "{sample}: {faults:#?}");
            let sheets = pages.iter().filter(|it| is_sheet(it)).count();
            assert_eq!(sheets, document.sheets.len(), "{sample}");
            assert!(is_gray(&pdf), "{sample}: a color");

            let first = lines(&pages[0]).join(" ");
            for wanted in [
                "Registration",
                "Hazards, open and accepted",
                "Signatures",
                "Licensed person",
            ] {
                assert!(first.contains(wanted), "{sample}: no {wanted:?}: {first}");
            }
            let accepted = document.accepted.values();
            let front = [first, lines(&pages[1]).join(" ")].join(" ");
            assert!(
                accepted.count() > 0 && front.contains("Accepted"),
                "{front}"
            );
            assert!(front.contains("Always hot"), "{front}");
            // The number after each name in the contents is its page; a long name runs over two lines of its column.
            let words = pages.iter().take(2).flat_map(|it| &it.words);
            let columns: String = words.map(|it| it.0.as_str()).collect();
            let front: String = front.split_whitespace().collect();
            for (name, page) in begun(&paper, &pages) {
                let entry: String = format!("{name}{page}").split_whitespace().collect();
                assert!(
                    front.contains(&entry) || columns.contains(&entry),
                    "{sample}: no {entry:?} in {front}"
                );
            }
        }
    }
}

#[test]
fn every_page_of_every_paper_is_whole() {
    let document = sorrel();
    for (n, (name, ..)) in reports::PAPERS.iter().enumerate() {
        if *name == "pack" {
            continue;
        }
        let paper = made(&document, name);
        let on = PAPER[n % 2];
        let pdf = print(&paper, on.0, &format!("sorrel-{name}"));
        let faults = faults(&paper, &printed::pages(&pdf), on);
        assert!(faults.is_empty(), "{name}: {faults:#?}");
    }
}

/// Lengths on every paper follow the setting: none in meters where feet are set.
#[test]
fn lengths_are_in_feet_where_feet_are_set() {
    for mut document in [sorrel(), teasel()] {
        document.project.show_feet = true;
        // Words of the builder stay as they are.
        document.log.clear();
        for it in document.accepted.values_mut() {
            it.reason.clear();
        }
        let mut told = BTreeSet::new();
        let text = made(&document, "pack").to_text();
        let words: Vec<&str> = text.split_whitespace().collect();
        for pair in words.windows(2) {
            let [number, unit] =
                [pair[0], pair[1]].map(|it| it.trim_matches(['(', ')', ',', '.', ';', ':']));
            let is_number =
                number.chars().any(|it| it.is_ascii_digit()) && number.parse::<f64>().is_ok();
            if is_number && ["m", "cm"].contains(&unit) || pair[0].ends_with(',') && pair[1] == "m"
            {
                told.insert(format!("{} {}", pair[0], pair[1]));
            }
        }
        assert!(told.is_empty(), "{}: {told:?}", document.project.title);
        assert!(text.contains(" ft"));
    }
}
