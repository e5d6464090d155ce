//! The app speaks the hangar's language, not that of drawing programs.

use super::text::{is_word, parts, without_tests};
use super::{assert_none, rust_files_below};

/// Words that do not stand on a label, and what does.
const AVOID: [(&[&str], &str); 13] = [
    (
        &["net", "nets", "net name", "net class", "netlist"],
        "circuit, wire, wire list",
    ),
    (&["ratsnest", "airwire"], "open connection, not wired yet"),
    (
        &["footprint", "pad", "pads", "layer", "layers"],
        "nothing: there are none",
    ),
    (
        &["symbol", "symbols", "part library", "component library"],
        "device, my devices",
    ),
    (&["place part", "place symbol"], "add device"),
    (
        &["hierarchical", "sub-sheet", "off-page", "off-sheet"],
        "sheet, continued on sheet 4",
    ),
    (
        &["annotate", "back-annotate"],
        "number, renumber, as-built update",
    ),
    (&["erc", "drc"], "wiring check, check list"),
    (
        &["junction dot", "no-connect", "bus entry"],
        "splice or stud; spare, not used",
    ),
    (&["rubber-band", "autoroute", "autowire"], "move, route"),
    (
        &["sweep", "operating point", "simulation", "simulate"],
        "what stops if, load at",
    ),
    (
        &["form-board", "formboard", "topology"],
        "harness board drawing, harness layout",
    ),
    (
        &[
            "canvas",
            "artboard",
            "stencil",
            "palette",
            "ribbon",
            "inspector",
            "wizard",
        ],
        "drawing, sheet, tools, details",
    ),
];

/// Where texts end up on screen or paper.
const SPEAKS: [&str; 4] = [
    "app/src",
    "core/src/rules",
    "core/src/reports",
    "core/src/edit",
];

#[test]
fn labels_use_the_words_of_the_trade() {
    let mut offences = Vec::new();
    for file in SPEAKS.iter().flat_map(|folder| rust_files_below(folder)) {
        let source = without_tests(&file.text);
        for (line, text) in parts(&source).texts {
            if !is_for_people(&text) {
                continue;
            }
            if let Some((word, instead)) = word_to_avoid(&text) {
                offences.push(format!("{}:{line}: \"{word}\" (say: {instead})", file.path));
            }
        }
    }
    assert_none("these words belong to other trades", &offences);
}

/// A text with a space or a capital is read by a person; the others are names of classes and keys.
fn is_for_people(text: &str) -> bool {
    text.contains(' ') || text.starts_with(char::is_uppercase)
}

fn word_to_avoid(text: &str) -> Option<(&'static str, &'static str)> {
    let text = text.to_lowercase();
    let holds = |word: &str| {
        text.match_indices(word).any(|(at, _)| {
            let joins = |letter: Option<char>| is_word(letter) || letter == Some('-');
            !joins(text[..at].chars().next_back()) && !joins(text[at + word.len()..].chars().next())
        })
    };
    AVOID.iter().find_map(|(words, instead)| {
        words
            .iter()
            .find(|word| holds(word))
            .map(|word| (*word, *instead))
    })
}

#[test]
fn words_are_found_whole() {
    assert_eq!(
        word_to_avoid("The net is open").map(|found| found.0),
        Some("net")
    );
    assert_eq!(word_to_avoid("Nothing on the internet, a magnet"), None);
    assert_eq!(word_to_avoid("Symbol").map(|found| found.0), Some("symbol"));
    assert!(is_for_people("Symbol") && is_for_people("two words") && !is_for_people("symbol"));
}
