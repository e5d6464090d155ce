//! The command on two projects: set side by side, merged, swapped into each other.

use std::{fs, process::Command};

use loomwright_tests::{top, under_target};
use serde_json::{Value, json};

use super::{program, run, sample};

/// A sample with one change, in a file of its own.
fn changed(name: &str, change: impl FnOnce(&mut Value)) -> String {
    let text = fs::read(top().join(sample("teasel"))).expect("the sample is there");
    let mut project: Value = serde_json::from_slice(&text).expect("JSON");
    change(&mut project);
    let file = under_target("cli-tests").join(name);
    fs::create_dir_all(file.parent().expect("a folder")).expect("target can be written");
    let text = serde_json::to_string_pretty(&project).expect("JSON");
    fs::write(&file, text).expect("target can be written");
    let file = file.to_str().expect("a plain path").to_owned();
    assert_eq!(run(&["rewrite", &file]).0, 0);
    file
}

#[test]
fn two_projects_are_set_side_by_side() {
    let after = changed("after.json", |project| {
        project["wires"]["p30a18"]["from"] = json!("terminal:mbus/cb12");
        project["wires"]["p30a18"]["gauge_awg"] = json!(22);
    });
    let (code, text, errors) = run(&["diff", &sample("teasel"), &after]);
    assert_eq!((code, errors.as_str()), (0, ""));
    assert!(
        text.contains(
            "wire P30A18: now goes from MBUS CB12, was MBUS CB13; gauge (AWG) is 22, was 18"
        ),
        "{text}"
    );
    assert!(text.contains("finding new: "), "{text}");
    let same = run(&["diff", &after, &after]).1;
    assert!(same.starts_with("no difference"), "{same}");
    let (_, answer, _) = run(&["diff", &sample("teasel"), &after, "--format", "json"]);
    let answer: Value = serde_json::from_str(&answer).expect("JSON");
    assert_eq!(answer["differences"][0]["became"], "changed");
}

#[test]
fn two_builders_edits_are_merged_and_conflicts_are_run() {
    let base = sample("teasel");
    let ours = changed("ours.json", |project| {
        project["wires"]["p30a18"]["colour"] = json!("red");
    });
    let theirs = changed("theirs.json", |project| {
        project["wires"]["p30a18"]["length_m"] = json!(3.0);
    });
    let both = [(&ours, &theirs), (&theirs, &ours)].map(|(ours, theirs)| {
        let (code, text, errors) = run(&["merge", &base, ours, theirs]);
        assert_eq!((code, errors.as_str()), (0, ""));
        text
    });
    assert_eq!(both[0], both[1], "the same bytes on both sides");
    assert!(both[0].contains("\"length_m\": 3.0") && both[0].contains("\"colour\": \"red\""));
    let other = changed("other.json", |project| {
        project["wires"]["p30a18"]["length_m"] = json!(3.3);
    });
    let (code, text, errors) = run(&["merge", &base, &theirs, &other]);
    assert_eq!(code, 1);
    assert!(text.contains("\"length_m\": 3.0"));
    assert!(errors.contains("mine 3.0, other 3.3"), "{errors}");
    let gauge = |name: &str, awg: i8| {
        changed(name, |project| {
            project["wires"]["p30a18"]["gauge_awg"] = json!(awg);
        })
    };
    let (_, _, errors) = run(&["merge", &base, &gauge("16.json", 16), &gauge("26.json", 26)]);
    assert!(
        errors.contains("  with the other file comes: Voltage drop over"),
        "{errors}"
    );
    assert_eq!(run(&["merge", &base, &ours, "no-such-file"]).0, 2);
}

/// As git's own merge driver: two branches, each with its edit, in one file.
#[test]
fn git_merges_projects_with_the_command() {
    let folder = under_target("cli-tests").join("git");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).expect("target can be written");
    let git = |words: &[&str]| {
        let mut git = Command::new("git");
        git.current_dir(&folder).args([
            "-c",
            "user.name=Builder",
            "-c",
            "user.email=builder@example.invalid",
        ]);
        let driver = format!(
            "merge.loomwright.driver={} merge %O %A %B -o %A",
            program().display()
        );
        let output = git
            .args(["-c", &driver])
            .args(words)
            .output()
            .expect("git runs");
        assert!(
            output.status.success(),
            "git {words:?}: {}",
            String::from_utf8_lossy(&output.stderr)
        );
    };
    let put =
        |text: &[u8]| fs::write(folder.join("aircraft.json"), text).expect("it can be written");
    git(&["init", "-q", "-b", "trunk"]);
    fs::write(folder.join(".gitattributes"), "*.json merge=loomwright\n")
        .expect("it can be written");
    put(&fs::read(top().join(sample("teasel"))).expect("the sample is there"));
    git(&["add", "."]);
    git(&["commit", "-qm", "first"]);
    git(&["checkout", "-qb", "mine"]);
    let mine = changed("mine.json", |project| {
        project["wires"]["p30a18"]["colour"] = json!("red");
    });
    put(&fs::read(mine).expect("just written"));
    git(&["commit", "-qam", "mine"]);
    git(&["checkout", "-q", "trunk"]);
    let theirs = changed("yours.json", |project| {
        // The line beside it, which a merge of texts would call a conflict.
        project["wires"]["p30a18"]["length_m"] = json!(3.0);
        project["wires"]["p30a18"]["insulation_c"] = json!(200.0);
    });
    put(&fs::read(theirs).expect("just written"));
    git(&["commit", "-qam", "theirs"]);
    git(&["merge", "-q", "-m", "both", "mine"]);
    let merged = fs::read_to_string(folder.join("aircraft.json")).expect("it is there");
    let merged: Value = serde_json::from_str(&merged).expect("JSON");
    let wire = &merged["wires"]["p30a18"];
    assert_eq!(
        (&wire["colour"], &wire["length_m"]),
        (&json!("red"), &json!(3.0))
    );
    assert_eq!(wire["insulation_c"], json!(200.0));
}

#[test]
fn a_swap_is_told_and_made_with_its_entry() {
    let file = sample("teasel");
    let (code, text, errors) = run(&["swap", &file, "USB2", "--unit", "usb-port-60"]);
    assert_eq!((code, errors.as_str()), (0, ""));
    for words in [
        "Breaker or fuse too small for the load",
        "Voltage drop over limit",
        "P30A18",
        "J311-1",
        "What gets worse",
        "New: Breaker or fuse too small for the load",
        "Draft for the log",
    ] {
        assert!(text.contains(words), "no {words:?} in {text}");
    }
    let output = under_target("cli-tests").join("swapped.json");
    let output = output.to_str().expect("a plain path");
    let ask = [
        "swap",
        &file,
        "USB2",
        "--unit",
        "usb-port-60",
        "--format",
        "json",
    ];
    let logged = ["--who", "ME", "--date", "2026-03-01", "-o", output];
    let (code, answer, errors) = run(&[&ask[..], &logged].concat());
    assert_eq!((code, errors.as_str()), (0, ""));
    let answer: Value = serde_json::from_str(&answer).expect("JSON");
    assert_eq!(answer["protectors"][1]["protector"], "MBUS CB13");
    let made: Value =
        serde_json::from_slice(&fs::read(output).expect("it was written")).expect("JSON");
    assert_eq!(made["devices"]["usb2"]["title"], "Charging port, 60 W");
    let mut entries = made["log"].as_object().expect("a log").values();
    assert!(entries.any(|it| it["who"] == "ME" && it["kind"] == "change"));
    // What was written is a project like any other, and says so.
    let (_, differs, _) = run(&["diff", &file, output]);
    assert!(differs.contains("Alternator load after"), "{differs}");
}

#[test]
fn a_pin_goes_where_a_person_says_and_nowhere_else() {
    let swap = |more: &[&str]| {
        run(&[&["swap", &sample("sorrel"), "COM1", "--unit", "com"], more].concat())
    };
    let (code, text, _) = swap(&["--pin", "11=10", "--pin", "J105-7="]);
    assert_eq!(code, 0);
    let row = |pin: &str| {
        let found = text.lines().find(|line| line.starts_with(pin));
        found
            .unwrap_or_else(|| panic!("{pin} in {text}"))
            .to_owned()
    };
    assert!(
        row("COM1 J105-11").contains("COM1 J105-10, SERIAL RX"),
        "{text}"
    );
    assert!(row("COM1 J105-7").contains("nothing: left open"), "{text}");
    for (wrong, says) in [
        (["--pin", "99=1"], "no pin \"99\""),
        (["--pin", "1"], "expected OLD=NEW"),
        (["--unit", "none"], "there is no unit"),
    ] {
        let (code, _, errors) = match wrong[0] {
            "--unit" => run(&["swap", &sample("sorrel"), "COM1", "--unit", "none"]),
            _ => swap(&wrong),
        };
        assert_eq!(code, 2);
        assert!(errors.contains(says), "{errors}");
    }
    assert_eq!(
        run(&["swap", &sample("sorrel"), "NONE", "--unit", "com"]).0,
        2
    );
}
