//! The app speaks the hangar's language, not that of drawing programs, and in plain words.

use super::text::{is_word, parts, without_tests};
use super::{SourceFile, assert_none, files_below};

/// Words, and what to say instead.
type Words = &'static [(&'static [&'static str], &'static str)];

/// Words that do not belong on a label.
const AVOID: Words = &[
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

/// Odd phrases, words of the code and other spellings.
const ODD: Words = &[
    (&["anew"], "again, recompute, lay out again"),
    (
        &["is told", "are told", "be told"],
        "is listed; or who says it",
    ),
    (&["told apart", "tell apart"], "identified, identify"),
    (&["for want of"], "missing, because ... is missing"),
    (&["stand against"], "is installed backwards"),
    (&["switches stand"], "in every switch position"),
    (&["stands"], "is"),
    (&["lies"], "is, runs"),
    (&["gives up", "give up"], "cancels, stops"),
    (&["goes by", "go by"], "follows, uses"),
    (&["parted"], "disconnected, separate"),
    (&["taken in"], "read, included"),
    (&["not said"], "not set"),
    (&["what to mind"], "safety"),
    (&["is no silence"], "is reported"),
    (&["asked for"], "target, needed"),
    (&["in turn"], "one at a time; or nothing"),
    (&["beside"], "next to, besides, with"),
    (&["for ever"], "indefinitely"),
    (&["torn"], "distorted"),
    (&["made off"], "terminated, termination"),
    (&["passed over"], "ignored"),
    (&["tied at", "tied nowhere"], "grounded at, not grounded"),
    (&["exchanged", "exchange the"], "swapped, reversed"),
    (&["mend", "mends", "mended"], "fix"),
    (&["protector", "protectors"], "breaker or fuse"),
    (&["colour", "colours", "coloured"], "color"),
    (&["licence", "judgement"], "license, judgment"),
    (&["aluminium", "fibre", "grey"], "aluminum, fiber, gray"),
    (
        &["neighbour", "neighbours", "behaviour"],
        "neighbor, behavior",
    ),
    (
        &["centre", "centimetre", "centimetres"],
        "center, centimeter",
    ),
    (&["energised", "recognised"], "energized, recognized"),
];

/// Whose texts are in plain words: a folder or a file a line.
const PLAIN: [&str; 4] = ["core/src", "app/src", "README.md", "DEVELOPERS.md"];

/// Words of the code, which comments may use.
const IN_CODE: [&str; 5] = ["protector", "protectors", "mend", "mends", "mended"];

fn held_files() -> impl Iterator<Item = SourceFile> {
    let files = PLAIN.iter().flat_map(|folder| files_below(folder));
    files.filter(|file| !file.path.contains("/tests"))
}

#[test]
fn labels_use_the_words_of_the_trade() {
    let files = held_files();
    // It explains the words of the code.
    let files = files.filter(|file| file.path != "DEVELOPERS.md");
    let offences: Vec<String> = files
        .flat_map(|file| offences(&file, texts(&file), AVOID))
        .collect();
    assert_none("these words belong to other trades", &offences);
}

#[test]
fn texts_are_in_plain_words() {
    let offences: Vec<String> = held_files()
        .flat_map(|file| offences(&file, texts(&file), ODD))
        .collect();
    assert_none("say it as you would in a hangar", &offences);
}

#[test]
fn comments_are_in_plain_words() {
    let mut offending = Vec::new();
    for file in held_files() {
        let found = offences(&file, comments(&file), ODD);
        let is_code = |line: &String| {
            IN_CODE
                .iter()
                .any(|word| line.contains(&format!("\"{word}\"")))
        };
        offending.extend(found.into_iter().filter(|line| !is_code(line)));
    }
    assert_none("say it as you would in a hangar", &offending);
}

/// Those of a file's texts with a word of a list: where, which, and what to say instead.
fn offences(file: &SourceFile, texts: Vec<(usize, String)>, words: Words) -> Vec<String> {
    let texts = texts.into_iter().map(|(at, text)| (at, as_read(&text)));
    let texts = texts.filter(|(_, text)| is_for_people(text));
    let found = texts.filter_map(|(at, text)| Some((at, word_to_avoid(&text, words)?)));
    found
        .map(|(at, (word, instead))| format!("{}:{at}: \"{word}\" (say: {instead})", file.path))
        .collect()
}

fn ends_with(file: &SourceFile, end: &str) -> bool {
    std::path::Path::new(&file.path).extension() == Some(end.as_ref())
}

/// The texts of a file that may be for people, with their lines: those in quotes of Rust and of JSON, and
/// what is not code on a page.
fn texts(file: &SourceFile) -> Vec<(usize, String)> {
    if !ends_with(file, "md") {
        let mut texts = parts(&without_tests(&file.text)).texts;
        // Headings that a pasted list may have, with bars between them, are read and never shown.
        texts.retain(|(_, text)| !text.contains('|'));
        return texts;
    }
    let lines = file.text.lines().zip(1..);
    lines
        .map(|(line, at)| {
            // The first cell of a table's row is the word that the row explains.
            let line = match line.strip_prefix('|') {
                Some(row) => row.split_once('|').map_or("", |(_, rest)| rest),
                None => line,
            };
            (at, without_code(line))
        })
        .collect()
}

/// The comments of a Rust file, line by line.
fn comments(file: &SourceFile) -> Vec<(usize, String)> {
    if !ends_with(file, "rs") {
        return Vec::new();
    }
    let comments = parts(&without_tests(&file.text)).comments;
    comments
        .into_iter()
        .map(|(at, text)| (at, without_code(&text)))
        .collect()
}

/// A line without what is between backticks.
fn without_code(line: &str) -> String {
    line.split('`').step_by(2).collect()
}

/// A text as a person reads it: on one line, without the places that a program fills.
fn as_read(text: &str) -> String {
    let mut depth = 0_usize;
    let mut shown = String::new();
    for letter in text.replace("\\\n", " ").chars() {
        match letter {
            '{' => depth += 1,
            '}' => depth = depth.saturating_sub(1),
            _ if depth == 0 => shown.push(letter),
            _ => {}
        }
    }
    shown.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A text with a space or a capital is read by a person; the others are names of classes and keys.
fn is_for_people(text: &str) -> bool {
    text.contains(' ') || text.starts_with(char::is_uppercase)
}

fn word_to_avoid(text: &str, words: Words) -> Option<(&'static str, &'static str)> {
    let text = text.to_lowercase();
    let holds = |word: &str| {
        text.match_indices(word).any(|(at, _)| {
            let joins = |letter: Option<char>| is_word(letter) || letter == Some('-');
            !joins(text[..at].chars().next_back()) && !joins(text[at + word.len()..].chars().next())
        })
    };
    words.iter().find_map(|(words, instead)| {
        let word = words.iter().find(|word| holds(word))?;
        Some((*word, *instead))
    })
}

#[test]
fn words_are_found_whole() {
    let word = |text, words| word_to_avoid(text, words).map(|found| found.0);
    assert_eq!(word("The net is open", AVOID), Some("net"));
    assert_eq!(word("Nothing on the internet, a magnet", AVOID), None);
    assert_eq!(word("Symbol", AVOID), Some("symbol"));
    assert_eq!(
        word("Not checked, for want of a figure", ODD),
        Some("for want of")
    );
    assert_eq!(word("no breaker or fuse between BT1 and P6", ODD), None);
    assert!(is_for_people("Symbol") && is_for_people("two words") && !is_for_people("symbol"));
}

#[test]
fn texts_are_read_as_a_person_does() {
    assert_eq!(
        as_read("a {beside} for \\\n   want of {n:.1} V"),
        "a for want of V"
    );
    let page = |line: &str| {
        let (path, text) = ("A.md".into(), line.into());
        let file = SourceFile { path, text };
        offences(&file, texts(&file), ODD)
    };
    assert_eq!(page("| mend | a fix, `colour` in the file |"), [""; 0]);
    assert_eq!(page("The colour, `x`").len(), 1);
    let path = "a.json".into();
    let text = "{\"colour\": \"A switch, centre off\"}".into();
    let file = SourceFile { path, text };
    assert_eq!(offences(&file, texts(&file), ODD).len(), 1);
    let path = "a.rs".into();
    let text = "// It stands\nlet a = 1; /// Not `stands`\n".into();
    let file = SourceFile { path, text };
    assert_eq!(offences(&file, comments(&file), ODD).len(), 1);
}
