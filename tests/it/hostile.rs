//! What fuzzing found worth keeping, and files made to do harm, held against the core.

use std::fs;
use std::time::{Duration, Instant};

use loomwright_core::{
    document::{Document, limits},
    drawing,
    exchange::{self, revisions},
    ids::RevisionId,
    reports::PAPERS,
    rules,
    testing::{
        asked, document,
        hostile::{self, TARGETS},
    },
};
use serde_json::{Value, json};

/// What all targets together may take; the corpus is kept small for it.
const BOUND: Duration = Duration::from_mins(1);

#[test]
fn what_fuzzing_found_holds() {
    let corpus = loomwright_tests::top().join("core/fuzz/corpus");
    let begin = Instant::now();
    for (name, target) in TARGETS {
        let files = fs::read_dir(corpus.join(name)).expect("a folder for each target");
        let mut ran = 0;
        for file in files.flatten() {
            target(&fs::read(file.path()).expect("it can be read"));
            ran += 1;
            if begin.elapsed() > BOUND {
                break;
            }
        }
        assert!(ran > 0, "{name}: nothing was tried");
        println!(
            "{name}: {ran} files, {:.1} s in all",
            begin.elapsed().as_secs_f64()
        );
    }
}

/// Opens a file that is to be refused, and says why it was.
fn refused(bytes: &[u8]) -> String {
    hostile::project(bytes);
    let error = exchange::open(bytes).expect_err("it is no project");
    error.to_string()
}

fn file(inside: &str) -> Vec<u8> {
    format!("{{\"format\": \"loomwright\", \"version\": 1, {inside}}}").into_bytes()
}

const PROJECT: &str = "\"project\": {\"title\": \"\"}";

#[test]
fn files_made_to_do_harm_are_refused() {
    let million: String = (0..1_000_000).map(|n| format!("\"s{n}\":{{}},")).collect();
    let million = file(&format!(
        "{PROJECT}, \"splices\": {{{}}}",
        million.trim_end_matches(',')
    ));
    let nested = |n: usize| {
        file(&format!(
            "{PROJECT}, \"x\": {}{}",
            "[".repeat(n),
            "]".repeat(n)
        ))
    };
    for (bytes, says) in [
        (million, "100000"),
        (nested(1_000), "deep"),
        (nested(200_000), "deep"),
        (vec![b' '; limits::MAX_BYTES + 1], "bytes"),
        (vec![0xff; 100], "damaged"),
        (file(&format!("{PROJECT}, \"x\": NaN")), "damaged"),
        (file(&format!("{PROJECT}, \"x\": 1e999")), "number"),
        (file(&format!("{PROJECT}, {PROJECT}")), "twice"),
        (
            file("\"project\": {\"title\": \"\", \"nominal_v\": 1e308}, \"version\": 2"),
            "twice",
        ),
        (
            file(&format!(
                "{PROJECT}, \"wires\": {{\"w\": {{}}, \"w\": {{}}}}"
            )),
            "twice",
        ),
        (file("\"project\": {\"title\": 1e400}"), "number"),
    ] {
        let why = refused(&bytes);
        assert!(why.contains(says), "wanted {says:?} in {why:?}");
    }
}

/// What is made of a project everywhere but in the browser.
fn use_up(document: &Document) {
    rules::check(document);
    for id in document.sheets.keys() {
        drawing::printed(document, id);
    }
    for (_, _, make) in PAPERS {
        make(&asked(document)).to_html();
    }
    for id in revisions::newest_first(document) {
        // Refused or read: either way it comes to an end.
        let _ = revisions::content(document, id);
        let _ = revisions::two(document, id, Some(id));
    }
    revisions::heads(document);
    revisions::common(document, document);
}

/// Records that mention each other in a ring: refused, or done with.
#[test]
fn references_in_a_ring_come_to_an_end() {
    let rings = document(
        "place A metal bonded=B
         place B metal bonded=A
         battery BT1
         contactor K1 BAT LOAD COIL+ COIL-
         wire W1 BT1.+ K1.BAT 6 1m
         wire W2 K1.LOAD K1.COIL+ 6 1m
         wire W3 K1.COIL- BT1.- 6 1m
         splice SP1
         splice SP2
         splice SP3
         wire R1 SP1 SP2 20 1m
         wire R2 SP2 SP3 20 1m
         wire R3 SP3 SP1 20 1m
         state ON running",
    );
    let bytes = exchange::save(&rings);
    let mut tree: Value = serde_json::from_slice(&bytes).expect("JSON");
    tree["devices"]["K1"]["independent_of"] = json!(["BT1", "K1"]);
    tree["devices"]["BT1"]["independent_of"] = json!(["K1"]);
    let revision = |parents: &[&str], against: &str| {
        json!({"date": "2026-01-01", "who": "ME", "reason": "ring", "parents": parents, "against": against,
            "content": ["AA"]})
    };
    let keys: [String; 3] = ["a", "b", "c"].map(|it| it.repeat(64));
    let [a, b, c] = keys.each_ref().map(String::as_str);
    tree["revisions"] = json!({a: revision(&[b], b), b: revision(&[a], a), c: revision(&[c], c)});
    let opened = exchange::open(tree.to_string().as_bytes()).expect("each record is sound");
    assert_eq!(opened.document.revisions.len(), 3);
    use_up(&opened.document);
    for key in [a, b, c] {
        let told = revisions::content(&opened.document, &RevisionId::new(key));
        assert!(told.is_err(), "a ring holds nothing");
    }
    hostile::project(tree.to_string().as_bytes());
    // A contact that is worked by no coil of its own device, and an element at no terminal, are refused.
    for (path, wrong) in [
        ("/devices/K1/elements/0/is/contact/coil", json!("nowhere")),
        ("/devices/BT1/elements/0/is/battery/plus", json!("nowhere")),
        ("/places/A/bonded_to", json!("A")),
        ("/wires/R3/to", json!("splice:SP3")),
        ("/wires/W1/from", json!("terminal:BT1/nowhere")),
    ] {
        let mut tree = tree.clone();
        *tree.pointer_mut(path).unwrap_or_else(|| panic!("{path}")) = wrong;
        let why = refused(tree.to_string().as_bytes());
        assert!(why.contains("line"), "{path}: {why}");
    }
}

/// Names that turn the direction of writing, or hide what they are: told, and shown with a sign for each.
#[test]
fn names_that_turn_or_hide_are_shown_for_what_they_are() {
    let mut project = document(
        "battery BT1
         bus MBUS CB1=5
         load LT1 3
         wire A BT1.+ MBUS.STUD 20 1m
         wire B MBUS.CB1 LT1.+ 20 1m",
    );
    let nasty = "CB1\u{202e}A51\u{202c}\u{200b}\u{feff}";
    for wire in project.wires.values_mut() {
        wire.number = nasty.into();
    }
    project.devices.get_mut("LT1").expect("it").title = nasty.into();
    let bytes = exchange::save(&project);
    hostile::project(&bytes);
    let project = exchange::open(&bytes).expect("any text is a name").document;
    assert_eq!(
        project.wires["A"].number, nasty,
        "what a person wrote is kept"
    );
    let is_hidden = |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{200b}' | '\u{feff}');
    let verdict = rules::check(&project);
    let told = verdict
        .findings
        .iter()
        .filter(|it| it.rule == "hidden-characters");
    assert_eq!(told.count(), 3);
    for finding in &verdict.findings {
        assert!(
            !finding.message.chars().any(is_hidden),
            "{}",
            finding.message
        );
    }
    for (name, _, make) in PAPERS {
        let html = make(&asked(&project)).to_html();
        assert!(!html.chars().any(is_hidden), "{name}");
    }
    for id in project.sheets.keys() {
        assert!(!drawing::printed(&project, id).chars().any(is_hidden));
    }
    use_up(&project);
}
