//! How figures are shown: lengths in one unit, named in each heading; zero without a sign.

use loomwright_core::{
    document::Document,
    reports::{self, PAPERS, always_hot, circuit},
    rules::check,
    testing::asked,
};

use crate::samples::{sorrel, teasel};

/// Every text that a person reads: papers in words and as a page, findings, what is not checked, circuits.
fn texts(document: &Document) -> Vec<(String, String)> {
    let mut all = Vec::new();
    for (name, ..) in PAPERS {
        let paper = reports::paper(&asked(document), name).expect("it is listed");
        all.push(((*name).to_owned(), paper.to_text()));
        // The pack holds every other paper.
        if *name == "pack" {
            let page = paper.to_html();
            let page = page
                .split('<')
                .map(|it| it.split_once('>').map_or(it, |it| it.1));
            all.push(("pack, page".into(), page.collect::<Vec<_>>().join("\n")));
        }
    }
    let verdict = check(document);
    for finding in &verdict.findings {
        let mut lines = vec![finding.message.clone(), finding.help.clone()];
        lines.extend(finding.working.iter().cloned());
        lines.extend(finding.mends.iter().map(|it| it.title.clone()));
        all.push((finding.rule.into(), lines.join("\n")));
    }
    for missing in &verdict.not_checked {
        all.push((missing.rule.into(), missing.because.clone()));
    }
    all.push(("always hot".into(), always_hot::table(document).to_text()));
    for id in document.wires.keys() {
        for line in circuit::follow(document, id) {
            all.push(("circuit".into(), line.text));
        }
    }
    all
}

/// Figures in a unit, "2.9 m", and headings that name it: "Length, m", "(m)".
fn in_unit(text: &str, unit: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, _) in text.match_indices(unit) {
        let after = text[at + unit.len()..].chars().next();
        let ends = after.is_none_or(|it| !it.is_alphanumeric() && it != '\u{b2}');
        let before = &text[..at];
        let figure = before
            .strip_suffix(' ')
            .and_then(|it| it.chars().next_back());
        let is_figure = figure.is_some_and(|it| it.is_ascii_digit() || it == ',');
        if ends && (is_figure || before.ends_with('(')) {
            let from = before.char_indices().rev().nth(20).map_or(0, |it| it.0);
            found.push(text[from..at + unit.len()].to_owned());
        }
    }
    found
}

#[test]
fn the_reader_of_figures_sees_them() {
    assert_eq!(in_unit("it runs 2.9 m beside", "m"), ["it runs 2.9 m"]);
    assert_eq!(in_unit("Length, m  Colour", "m").len(), 1);
    assert_eq!(in_unit("Length (m)", "m").len(), 1);
    assert!(in_unit("30 mm, 60 min, 2 mV, µH/m, from", "m").is_empty());
}

#[test]
fn lengths_are_in_feet_everywhere_or_nowhere() {
    for drawn in [sorrel(), teasel()] {
        for (in_feet, right, wrong) in [(true, "ft", "m"), (false, "m", "ft")] {
            let mut document = drawn.clone();
            document.project.show_feet = in_feet;
            // What a person wrote stays as it is written.
            document.log.clear();
            for accepted in document.accepted.values_mut() {
                accepted.reason = "as accepted".into();
            }
            let mut headings = 0;
            for (of, text) in texts(&document) {
                for found in in_unit(&text, wrong) {
                    // The interval of the circular, and altitudes of its charts, are in feet on any paper.
                    let of_a_standard =
                        found.ends_with("at most 6 ft") || found.ends_with("000 ft");
                    assert!(of_a_standard, "{of}: {found:?}");
                }
                headings += usize::from(text.contains(&format!("Length, {right}")));
            }
            // Wire list, cut list, both in the pack: as text and as a page.
            assert!(headings >= 4, "{headings} headings name {right}");
        }
    }
}

/// Files hold metres whatever is shown.
#[test]
fn files_hold_metres_whatever_is_shown() {
    let metres = sorrel();
    let mut feet = metres.clone();
    feet.project.show_feet = true;
    for name in ["wires", "cuts"] {
        let [a, b] = [&metres, &feet].map(|document| {
            let paper = reports::paper(&asked(document), name).expect("it is listed");
            (paper.to_csv(), paper.to_json())
        });
        assert_eq!(a, b, "{name}");
    }
    let order = reports::paper(&asked(&feet), "order").expect("it is listed");
    let json: serde_json::Value = serde_json::from_str(&order.to_json()).expect("JSON");
    let units: Vec<&str> = json
        .as_array()
        .expect("rows")
        .iter()
        .filter_map(|it| it["unit"].as_str())
        .collect();
    assert!(units.contains(&"m") && !units.contains(&"ft"));
}

#[test]
fn zero_has_no_sign_and_no_dash_stands_for_a_figure() {
    for document in [sorrel(), teasel()] {
        for (of, text) in texts(&document) {
            for (at, _) in text.match_indices("-0.0") {
                let rest: String = text[at + 1..]
                    .chars()
                    .take_while(|it| it.is_ascii_digit() || *it == '.')
                    .collect();
                assert!(
                    rest.bytes().any(|it| (b'1'..=b'9').contains(&it)),
                    "{of}: -{rest}"
                );
            }
            assert!(!text.contains("; – "), "{of}");
        }
        let loads = reports::paper(&asked(&document), "loads")
            .expect("it is listed")
            .to_text();
        assert!(!loads.contains("-0.00 A") && !loads.contains("+0.00 A"));
    }
}
