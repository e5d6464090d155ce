//! The native command, run as a person or a program runs it.

mod pairs;

use std::{
    fs,
    path::PathBuf,
    process::{Command, Output},
    sync::OnceLock,
};

use loomwright_core::exchange::{
    self,
    revisions::{self, RevisionNote},
};
use loomwright_tests::{top, under_target};
use serde_json::{Value, json};

const SAMPLES: [&str; 3] = ["sorrel", "teasel", "bryony"];

/// The command, built once for all tests.
fn program() -> &'static PathBuf {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        let mut cargo = Command::new(std::env::var("CARGO").unwrap_or_else(|_| "cargo".into()));
        cargo.current_dir(top()).args([
            "build",
            "-p",
            "loomwright-core",
            "--features",
            "cli",
            "--bin",
            "loomwright",
            "--message-format=json",
        ]);
        let built = cargo.output().expect("cargo runs");
        let words = String::from_utf8_lossy(&built.stderr);
        assert!(
            built.status.success(),
            "the command does not build: {words}"
        );
        let lines = String::from_utf8(built.stdout).expect("cargo writes UTF-8");
        let executable = lines.lines().find_map(|line| {
            let message: Value = serde_json::from_str(line).ok()?;
            Some(PathBuf::from(message["executable"].as_str()?))
        });
        executable.expect("cargo names what it built")
    })
}

fn loomwright(words: &[&str]) -> Output {
    let mut command = Command::new(program());
    command.current_dir(top()).args(words);
    command.output().expect("the command runs")
}

/// Exit code, output and errors.
fn run(words: &[&str]) -> (i32, String, String) {
    let output = loomwright(words);
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    let code = output.status.code().expect("it ended by itself");
    (code, text(output.stdout), text(output.stderr))
}

fn sample(name: &str) -> String {
    format!("public/samples/{name}.json")
}

/// A file of this test, under `target/`.
fn scratch(name: &str, text: &str) -> String {
    let folder = under_target("cli-tests");
    fs::create_dir_all(&folder).expect("target can be written");
    let file = folder.join(name);
    fs::write(&file, text).expect("target can be written");
    file.to_str().expect("a plain path").to_owned()
}

fn keys(value: &Value) -> Vec<&str> {
    let object = value.as_object().expect("an object");
    object.keys().map(String::as_str).collect()
}

/// The sound sample with the breakers of its main bus far above what their wires allow.
fn with_large_breakers() -> String {
    with_breakers("large-breakers.json", 400.0, usize::MAX)
}

/// The sound sample with the first breakers of its main bus at another rating.
fn with_breakers(name: &str, rating_a: f64, count: usize) -> String {
    let text = fs::read_to_string(top().join(sample("teasel"))).expect("the sample is there");
    let mut file: Value = serde_json::from_str(&text).expect("JSON");
    let elements = file["devices"]["mbus"]["elements"].as_array_mut();
    let breakers = (elements.expect("the main bus has breakers").iter_mut())
        .filter_map(|element| element["is"].get_mut("protector"));
    for breaker in breakers.take(count) {
        breaker["rating_a"] = json!(rating_a);
    }
    scratch(name, &file.to_string())
}

#[test]
fn check_answers_with_its_exit_code() {
    let sound = sample("teasel");
    let (code, text, errors) = run(&["check", &sound]);
    assert_eq!((code, errors.as_str()), (0, ""), "{text}");
    assert!(text.contains(" checks made: "), "{text}");
    assert!(text.contains("licensed person"), "{text}");
    let faulty = with_large_breakers();
    let (code, text, _) = run(&["check", &faulty]);
    assert_eq!(code, 1, "{text}");
    // What, where, computed value and limit, source, what to do.
    for words in [
        "\n  Rule: protector-over-wire\n",
        "\n  Where: ",
        "\n  Computed: ",
        "\n  Limit: ",
        "\n  Source: FAA AC 43.13-1B",
        "\n  What to do: ",
    ] {
        assert!(text.contains(words), "no {words:?} in {text}");
    }
    let (code, _, errors) = run(&["check", "no-such-file.json"]);
    assert_eq!(code, 2);
    assert!(errors.starts_with("error: no-such-file.json: "), "{errors}");
}

#[test]
fn a_fix_is_listed_made_and_written() {
    let faulty = with_breakers("one-large-breaker.json", 40.0, 1);
    let (code, list, errors) = run(&["fix", &faulty]);
    assert_eq!((code, errors.as_str()), (0, ""), "{list}");
    let mut number = String::new();
    let mut lines = list.lines();
    let fix = lines.find_map(|line| {
        let line = line.trim_start();
        if line.contains(" hazard: ") {
            number = line.split(' ').next().unwrap_or_default().into();
        }
        line.strip_prefix("fix 1: Make MBUS ")
    });
    let fix = fix.unwrap_or_else(|| panic!("no fix in {list}"));
    let output = under_target("cli-tests").join("fixed.json");
    let output = output.to_str().expect("a plain path");
    let ask = ["fix", &faulty, "--finding", &number, "--fix", "1"];
    let (code, text, errors) = run(&[&ask[..], &["-o", output]].concat());
    assert_eq!((code, errors.as_str()), (0, ""), "{text}");
    let rating = format!("Fix: Make MBUS {fix}");
    for words in [&rating, "Changes: MBUS CB", "40 A becomes", "Goes: "] {
        assert!(text.contains(words), "no {words:?} in {text}");
    }
    let (_, differs, _) = run(&["diff", &faulty, output]);
    assert!(differs.contains("finding gone: "), "{differs}");
    let (_, text, _) = run(&ask);
    assert!(text.contains("Nothing is written"), "{text}");
    let (code, _, errors) = run(&["fix", &faulty, "--finding", "999"]);
    assert_eq!(code, 2);
    assert!(errors.contains("there is no finding 999"), "{errors}");
}

#[test]
fn fail_at_sets_the_level_that_counts() {
    let file = sample("teasel");
    let (_, text, _) = run(&["check", &file, "--format", "json"]);
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    for (level, counted) in [
        ("hazard", vec!["hazards"]),
        ("fault", vec!["hazards", "faults"]),
        ("caution", vec!["hazards", "faults", "cautions"]),
        ("note", vec!["hazards", "faults", "cautions", "notes"]),
    ] {
        let open: u64 = counted
            .iter()
            .filter_map(|key| answer["counts"][key].as_u64())
            .sum();
        let (code, ..) = run(&["check", &file, "--fail-at", level]);
        assert_eq!(
            code,
            i32::from(open > 0),
            "--fail-at {level} with {open} open"
        );
    }
}

#[test]
fn check_has_the_promised_json() {
    let (code, text, _) = run(&["check", &with_large_breakers(), "--format", "json"]);
    assert_eq!(code, 1);
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(keys(&answer), ["counts", "findings", "not_checked"]);
    let findings = answer["findings"].as_array().expect("a list");
    assert!(!findings.is_empty());
    for finding in findings {
        assert_eq!(
            keys(finding),
            [
                "accepted",
                "at",
                "follows_from",
                "level",
                "limit",
                "measured",
                "mends",
                "message",
                "rule",
                "sources",
                "title",
                "unit",
                "working"
            ]
        );
        assert_eq!(keys(&finding["at"][0]), ["id", "kind", "label"]);
        let level = finding["level"].as_str().expect("a text");
        assert!(["hazard", "fault", "caution", "note"].contains(&level));
    }
    let n = |key: &str| answer["counts"][key].as_u64().expect("a count");
    assert_eq!(
        n("examined"),
        n("clear") + n("found") + n("accepted") + n("not_checked")
    );
    assert_eq!(n("found") + n("accepted"), findings.len() as u64);
    let missing = answer["not_checked"].as_array().expect("a list");
    assert_eq!(n("not_checked"), missing.len() as u64);
}

#[test]
fn a_damaged_file_is_refused_with_line_and_field() {
    let text = fs::read_to_string(top().join(sample("teasel"))).expect("the sample is there");
    let cut = scratch("cut.json", &text[..text.len() / 2]);
    let (code, out, errors) = run(&["check", &cut]);
    assert_eq!((code, out.as_str()), (2, ""));
    let line = text[..text.len() / 2].lines().count();
    assert!(errors.contains(&format!("line {line}, ")), "{errors}");
    assert!(errors.contains("damaged"), "{errors}");
    let (at, _) = text
        .match_indices("\"gauge_awg\": ")
        .next()
        .expect("there are wires");
    let line = text[..at].lines().count();
    let wrong = text.replacen("\"gauge_awg\": ", "\"gauge_awg\": \"a\", \"was\": ", 1);
    for ask in ["check", "solve", "rewrite"] {
        let file = scratch(&format!("wrong-{ask}.json"), &wrong);
        let (code, out, errors) = run(&[ask, &file]);
        assert_eq!((code, out.as_str()), (2, ""));
        assert!(errors.contains(&format!("line {line}, wires.")), "{errors}");
        assert!(
            errors.contains("gauge_awg: found the text \"a\", expected a whole number"),
            "{errors}"
        );
        assert_eq!(fs::read_to_string(&file).expect("still there"), wrong);
    }
}

#[test]
fn a_bare_network_is_solved() {
    // 12 V behind 0.5 ohm, over 1.5 ohm and 4 ohm: 2 A, and 8 V in the middle, by Ohm's law.
    let network = json!({"reference": "g", "elements": [
        {"id": "B", "type": "battery", "pos": "p", "neg": "g", "emf": 12.0, "ohm": 0.5},
        {"id": "R1", "type": "resistor", "a": "p", "b": "m", "ohm": 1.5},
        {"id": "R2", "type": "resistor", "a": "m", "b": "g", "ohm": 4.0},
        {"id": "OUT", "type": "resistor", "a": "m", "b": "g", "ohm": 1.0}
    ], "off": ["OUT"]});
    let file = scratch("network.json", &network.to_string());
    let (code, text, errors) = run(&["network", &file, "--format", "json"]);
    assert_eq!(code, 0, "{errors}");
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    let number = |pointer: &str| {
        answer
            .pointer(pointer)
            .and_then(Value::as_f64)
            .expect(pointer)
    };
    assert_eq!(answer["converged"], json!(true));
    assert!((number("/node_volts/m") - 8.0).abs() < 1e-6);
    assert!((number("/currents/R1") - 2.0).abs() < 1e-6);
    assert!(answer["states"].is_object() && answer["dropped"].is_array());
    let file = scratch("no-network.json", "{\"elements\": 1}");
    let (code, _, errors) = run(&["network", &file]);
    assert_eq!(code, 2, "{errors}");
}

#[test]
fn a_sheet_is_tidied_and_nothing_else_changes() {
    let file = top().join(sample("teasel"));
    let file = file.to_str().expect("a plain path");
    let tidied = scratch("tidied.json", "");
    let (code, text, errors) = run(&["tidy", file, "--sheet", "6", "-o", &tidied]);
    assert_eq!(code, 0, "{errors}");
    assert!(text.starts_with("sheet 6, "), "{text}");
    let read = |file: &str| -> Value {
        let bytes = fs::read(file).expect("it is there");
        serde_json::from_slice(&bytes).expect("JSON")
    };
    let (mut before, mut after) = (read(file), read(&tidied));
    for project in [&mut before, &mut after] {
        let sheets = project["sheets"].as_object_mut().expect("sheets");
        sheets.retain(|_, sheet| sheet["number"] != 6);
    }
    assert_eq!(before, after);
    let (code, _, errors) = run(&["tidy", file, "--sheet", "77", "-o", &tidied]);
    assert_eq!(code, 2, "{errors}");
    assert!(errors.contains("there is no sheet \"77\""), "{errors}");
}

#[test]
fn samples_are_written_solved_drawn_and_listed() {
    for name in SAMPLES {
        let file = scratch(&format!("sample-{name}.json"), "");
        assert_eq!(run(&["sample", name, "-o", &file]).0, 0);
        let written = fs::read(&file).expect("written");
        assert_eq!(written, fs::read(top().join(sample(name))).expect("there"));
        // The samples are in the standard layout already.
        assert_eq!(run(&["rewrite", &file]).0, 0);
        assert_eq!(fs::read(&file).expect("written"), written, "{name}");
        let project: Value = serde_json::from_slice(&written).expect("JSON");
        let n_wires = project["wires"].as_object().expect("an object").len();

        let (code, text, errors) = run(&["solve", &file, "--format", "json"]);
        assert_eq!(code, 0, "{errors}");
        let solved: Value = serde_json::from_str(&text).expect("JSON");
        let states = solved["states"].as_array().expect("a list");
        assert!(!states.is_empty());
        let title = states[0]["title"].as_str().expect("a text");
        let (_, text, _) = run(&["solve", &file, "--state", title]);
        let one: Value = serde_json::from_str(&text).expect("JSON");
        assert!(
            one["states"]
                .as_array()
                .expect("a list")
                .iter()
                .all(|state| state["title"] == title)
        );
        assert_eq!(run(&["solve", &file, "--state", "no such state"]).0, 2);

        let (code, csv, _) = run(&["report", &file, "wires", "--format", "csv"]);
        assert_eq!((code, csv.lines().count()), (0, n_wires + 1));
        let (_, text, _) = run(&["report", &file, "wires", "--format", "json"]);
        let rows: Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(rows.as_array().expect("a list").len(), n_wires);

        // Its endurance takes minutes in a build that checks itself; its papers are made once, in bryony.rs.
        let is_slow = name == "bryony";
        let quick = "wires cuts labels connectors jacks ring-out power-up schedule grounds order progress placards";
        let slow = ["loads", "pack"].into_iter().filter(|_| !is_slow);
        for paper in quick.split(' ').chain(slow) {
            for (form, begins) in [
                ("html", "<!doctype html>"),
                ("text", ""),
                ("json", ""),
                ("csv", ""),
            ] {
                let (code, text, errors) = run(&["report", &file, paper, "--format", form]);
                assert_eq!((code, errors.as_str()), (0, ""), "{paper} as {form}");
                assert!(
                    text.starts_with(begins) && text.len() > 200,
                    "{paper} as {form}"
                );
            }
        }
        let by_status = [
            "report", &file, "wires", "--group", "status", "--only", "LIGHT",
        ];
        assert_eq!(run(&by_status).0, 0);
        assert_eq!(run(&["report", &file, "cuts", "--group", "status"]).0, 2);
        assert_eq!(run(&["report", &file, "wires", "--sort", "no-such"]).0, 2);
        let beside = [
            "report", &file, "loads", "--before", &file, "--format", "text",
        ];
        assert!(is_slow || run(&beside).1.contains("Before and after the change"));

        let (code, svg, _) = run(&["draw", &file, "--sheet", "1"]);
        assert_eq!(code, 0);
        assert!(svg.contains("<svg ") && svg.trim_end().ends_with("</svg>"));
        assert_eq!(run(&["draw", &file, "--sheet", "999"]).0, 2);
    }
}

#[test]
fn a_load_sheet_stands_beside_a_revision_of_its_own_file() {
    let bytes = fs::read(top().join(sample("teasel"))).expect("a sample");
    let mut document = exchange::open(&bytes).expect("it opens").document;
    let kept = RevisionNote {
        who: "builder",
        date: "2026-04-01",
        reason: "before the lamps",
        mark: None,
    };
    revisions::keep(&document, kept)
        .apply(&mut document)
        .expect("it is kept");
    let key = document.revisions.keys().next().expect("one").as_str();
    let key = key[..12].to_owned();
    let text = String::from_utf8(exchange::save(&document)).expect("UTF-8");
    let file = scratch("kept.json", &text);
    let ask = [
        "report", &file, "loads", "--format", "text", "--before", &key,
    ];
    let (code, text, errors) = run(&ask);
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(text.contains("Before and after the change"), "{text}");
    let ask = ["report", &file, "loads", "--before", "no-such"];
    assert_eq!(run(&ask).0, 2);
}

#[test]
fn loads_are_listed_by_phase() {
    let file = sample("sorrel");
    let (code, text, errors) = run(&["loads", &file]);
    assert_eq!((code, errors.as_str()), (0, ""), "{text}");
    for words in [
        "Loads by phase, Sorrel",
        "constant power: draws more",
        "licensed person",
    ] {
        assert!(text.contains(words), "no {words:?} in {text}");
    }
    let (_, text, _) = run(&["loads", &file, "--format", "json"]);
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(keys(&answer), ["buses", "phases", "recharge_a"]);
    let mut phases = answer["phases"].as_array().expect("a list").iter();
    let cruise = phases.find(|phase| phase["state"] == "cruise");
    let plain_a = &cruise.expect("a state of the sample")["total"]["continuous"]["plain_a"];
    assert!((plain_a.as_f64().expect("a sum") - 13.97).abs() < 0.005);
    let (_, csv, _) = run(&["report", &file, "loads"]);
    assert!(csv.starts_with("phase,bus,bus_v,plain_a,"), "{csv}");
}

#[test]
fn endurance_is_told_case_by_case() {
    let file = sample("sorrel");
    let plot = under_target("cli-tests").join("endurance.svg");
    let plot = plot.to_str().expect("a plain path");
    let (code, text, errors) = run(&["endurance", &file, "--plot", plot]);
    assert_eq!((code, errors.as_str()), (0, ""), "{text}");
    for words in [
        "no pilot action",
        "9.6 Ah usable",
        "COM1",
        "licensed person",
    ] {
        assert!(text.contains(words), "no {words:?} in {text}");
    }
    let drawn = fs::read_to_string(plot).expect("it is written");
    assert!(
        drawn.starts_with("<svg ") && drawn.contains("EBUS"),
        "{drawn}"
    );
    let (_, text, _) = run(&["endurance", &file, "--format", "json"]);
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(
        keys(&answer),
        ["batteries", "buses", "cases", "missing", "target_min"]
    );
    assert_eq!(answer["cases"].as_array().map(Vec::len), Some(3));
}

#[test]
fn what_stops_is_told_for_each_failure() {
    let file = sample("sorrel");
    let (code, text, errors) = run(&["what-stops", &file]);
    assert_eq!(code, 0, "{errors}");
    assert!(text.contains("failures tried"), "{text}");
    let (_, text, _) = run(&["what-stops", &file, "--item", "GB2", "--format", "json"]);
    let told_of: Value = serde_json::from_str(&text).expect("JSON");
    let stops = told_of["failures"][0]["stops"].as_array().expect("a list");
    // Every unit that returns to the avionics ground block, and nothing else.
    for unit in ["COM1", "FD1", "IC1", "XP1"] {
        assert!(stops.contains(&unit.into()), "{unit}: {text}");
    }
    assert!(!stops.contains(&"LT1".into()), "{text}");
    // The review of shorts says where, what opens, and what it starts.
    assert!(text.contains("\"shorts\""), "{text}");
    let (_, text, _) = run(&["what-stops", &file, "--item", "P11B20", "--format", "json"]);
    let told_of: Value = serde_json::from_str(&text).expect("JSON");
    let short = &told_of["shorts"][0];
    assert_eq!(short["label"], "P11B20", "{text}");
    assert!(
        short["at"].as_str().is_some_and(|it| !it.is_empty()),
        "{text}"
    );
    assert!(
        short["opens"][0]
            .as_str()
            .is_some_and(|it| it.starts_with("MBUS CB1 ")),
        "{text}"
    );
    assert_eq!(short["assumed"], "MBUS CB1", "{text}");
    let (code, _, errors) = run(&["what-stops", &file, "--item", "NOTHING"]);
    assert_eq!(code, 2);
    assert!(
        errors.contains("nothing called \"NOTHING\" can fail"),
        "{errors}"
    );
    let (code, _, errors) = run(&["what-stops", &file, "--state", "Aerobatics"]);
    assert_eq!(code, 2);
    assert!(errors.contains("there is no phase"), "{errors}");
}

/// What the bench reads on paper, a program reads in the JSON.
#[test]
fn bench_papers_carry_their_fields_in_json() {
    let fields: [(&str, &str, &[&str]); 10] = [
        (
            "jacks",
            "jacks",
            &["jack", "plug_mm", "washers", "hole_mm", "hole_from"],
        ),
        (
            "jacks",
            "jack_lugs",
            &["lug", "carries", "wire", "colour", "goes_to", "sleeve"],
        ),
        (
            "jacks",
            "jack_ohms",
            &["when", "expected", "read", "result", "by"],
        ),
        (
            "cuts",
            "cuts",
            &["spare_m", "cut_m", "first", "end_a", "end_b"],
        ),
        (
            "cuts",
            "crimps",
            &["contact", "strip_mm", "tool", "tool_setting", "ends"],
        ),
        (
            "connectors",
            "",
            &["area_mm2", "fits", "carries_a", "derated_a"],
        ),
        (
            "schedule",
            "schedule",
            &["from", "feeds", "largest_a", "fits", "in_reach"],
        ),
        ("schedule", "spare_fuses", &["fuse", "fitted", "spares"]),
        ("loads", "what-stops", &["fails", "stops", "brought_back"]),
        (
            "progress",
            "progress",
            &["cut", "tested", "steps_done", "steps"],
        ),
    ];
    // Teasel has jacks; Sorrel fuses and an alternate feed.
    for (paper, table, keys) in fields {
        let file = sample(if paper == "jacks" { "teasel" } else { "sorrel" });
        let (code, text, errors) = run(&["report", &file, paper, "--format", "json"]);
        assert_eq!(code, 0, "{errors}");
        let value: Value = serde_json::from_str(&text).expect("JSON");
        let rows = if table.is_empty() {
            &value
        } else {
            &value[table]
        };
        let rows = rows
            .as_array()
            .unwrap_or_else(|| panic!("{paper} has no {table}"));
        assert!(!rows.is_empty(), "{paper}: {table}");
        for key in keys {
            assert!(
                rows.iter().all(|row| row.get(key).is_some()),
                "{paper}, {table}: {key}"
            );
        }
    }
    // The essential bus is fed again past a diode that opened.
    let file = sample("sorrel");
    let (_, text, _) = run(&["what-stops", &file, "--item", "D1", "--format", "json"]);
    let told: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(
        told["failures"][0]["brought_back"],
        json!(["S2: ON"]),
        "{text}"
    );
}

#[test]
fn wires_that_are_always_live_are_a_paper() {
    let file = sample("sorrel");
    let (code, text, errors) = run(&["report", &file, "always-hot"]);
    assert_eq!(code, 0, "{errors}");
    let line = |wire: &str| text.lines().find(|it| it.starts_with(&format!("{wire},")));
    // From the battery post to the contactor, 0.30 m, nothing before it; the clock is behind a fuse.
    assert!(
        line("P1A2").is_some_and(|it| it.ends_with(",none,0.30")),
        "{text}"
    );
    assert!(line("P21A22").is_some_and(|it| it.contains("F1")), "{text}");
    assert_eq!(line("L1A18"), None, "the landing light is switched: {text}");
    let (code, _, errors) = run(&["noise", &file, "--state", "Cruise"]);
    assert_eq!(code, 0, "{errors}");
    let (code, ..) = run(&["noise", &file, "--state", "Aerobatics"]);
    assert_eq!(code, 2);
}

#[test]
fn noise_is_told_with_its_assumptions_and_suspects() {
    let file = sample("sorrel");
    let (code, text, errors) = run(&["noise", &file, "--hear", "whine"]);
    assert_eq!(code, 0, "{errors}");
    for words in [
        "Assumed unless set",
        "ripple 3600 Hz",
        "licensed person",
        "master off",
        "strobe of LT2, 0.50 A pulse",
        "supply of IC1",
        "Next test: Listen at each seat",
        "CAUTION: ",
    ] {
        assert!(text.contains(words), "no {words:?} in {text}");
    }
    // Its answer counts: gone with one breaker, it is that unit's supply.
    let answered = ["noise", &file, "--hear", "whine", "--answer"];
    let (_, text, _) = run(&[&answered[..], &["supply,ic1=gone"]].concat());
    let first = text.lines().find(|it| it.starts_with("1. "));
    assert!(
        first.is_some_and(|it| it.ends_with("supply of IC1")),
        "{text}"
    );
    let (code, _, errors) = run(&[&answered[..], &["hope=gone"]].concat());
    assert_eq!(code, 2, "{errors}");
    let asked = [
        "noise", &file, "--hear", "strobe", "--format", "json", "--rpm", "1200",
    ];
    let (_, text, _) = run(&asked);
    let answer: Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(answer["ripple_hz"], 1800.0);
    assert_eq!(answer["loops"][0]["audio"], false);
    let suspects = answer["suspects"].as_array().expect("a list");
    assert!(
        suspects.iter().all(|it| it["resistive_only"] == true),
        "{text}"
    );
    let (code, _, errors) = run(&["noise", &file, "--rpm", "-1"]);
    assert_eq!(code, 2, "{errors}");
}

#[test]
fn the_schema_takes_the_samples_and_refuses_what_is_wrong() {
    let (code, text, _) = run(&["schema"]);
    assert_eq!(code, 0);
    let schema: Value = serde_json::from_str(&text).expect("JSON");
    // The one that is published beside the app is this one.
    let published = top().join("public/format/loomwright.schema.json");
    if loomwright_tests::is_writing() {
        fs::write(&published, &text).expect("it can be written");
    }
    let kept = fs::read_to_string(&published).unwrap_or_default();
    assert!(
        kept == text,
        "write {} anew with LOOMWRIGHT_WRITE=1",
        published.display()
    );
    let mut schemas = boon::Schemas::new();
    let mut compiler = boon::Compiler::new();
    let name = "urn:project";
    compiler.add_resource(name, schema).expect("a schema");
    let index = compiler.compile(name, &mut schemas).expect("a schema");
    for sample_name in SAMPLES {
        let text =
            fs::read_to_string(top().join(sample(sample_name))).expect("the sample is there");
        let file: Value = serde_json::from_str(&text).expect("JSON");
        if let Err(error) = schemas.validate(&file, index) {
            panic!("{sample_name}: {error:#}");
        }
        let first = file["wires"]
            .as_object()
            .and_then(|wires| wires.keys().next());
        let first = format!("/wires/{}", first.expect("there are wires"));
        for (pointer, value) in [
            ("/format".to_owned(), json!("other")),
            ("/version".to_owned(), json!(2)),
            ("/project".to_owned(), json!(null)),
            (format!("{first}/gauge_awg"), json!("22")),
            (format!("{first}/from"), json!("somewhere")),
            (format!("{first}/status"), json!("done")),
        ] {
            let mut wrong = file.clone();
            *wrong.pointer_mut(&pointer).expect(&pointer) = value;
            assert!(
                schemas.validate(&wrong, index).is_err(),
                "{pointer} is let through"
            );
        }
    }
}
