//! What fuzzing found worth keeping, and files made to do harm, held against the core.

use std::fs;
use std::time::{Duration, Instant};

use loomwright_core::{
    document::limits,
    exchange,
    testing::hostile::{self, TARGETS},
};

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
