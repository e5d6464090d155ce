//! What a file may and may not do.

use proptest::prelude::*;
use serde_json::{Value, json};

use super::{OpenError, open, save};
use crate::{
    document::{Document, limits},
    testing,
};

const WHOLE: &str = include_str!("../testing/whole.json");

/// The sample file with one place changed.
fn with(pointer: &str, value: Value) -> Vec<u8> {
    let mut file: Value = serde_json::from_str(WHOLE).unwrap();
    match file.pointer_mut(pointer) {
        Some(place) => *place = value,
        None => {
            let (parent, field) = pointer.rsplit_once('/').unwrap();
            file.pointer_mut(parent).unwrap()[field.replace("~1", "/")] = value;
        }
    }
    serde_json::to_vec_pretty(&file).unwrap()
}

/// Refused, at this field and its line, for a reason with these words.
#[track_caller]
fn refused(bytes: &[u8], path: &str, words: &str) {
    let error = open(bytes).expect_err(path);
    let text = error.to_string();
    let OpenError::Field { line, path: at, .. } = &error else {
        panic!("{error:?}");
    };
    assert_eq!(at, path, "{text}");
    assert!(text.contains(words), "{text}");
    let field = path.rsplit('.').next().unwrap();
    let file = std::str::from_utf8(bytes).unwrap();
    let found = file.lines().nth(line - 1).unwrap();
    let is_index = path.ends_with(']');
    assert!(
        is_index || found.contains(field),
        "line {line} is {found:?}: {text}"
    );
}

#[test]
fn a_saved_file_opens_as_it_was_and_saves_as_the_same_bytes() {
    let opened = open(WHOLE.as_bytes()).unwrap();
    assert_eq!(opened.version, 1);
    let saved = save(&opened.document);
    assert_eq!(open(&saved).unwrap().document, opened.document);
    assert_eq!(save(&opened.document), saved);
    assert!(
        saved.starts_with(b"{\n  \"format\": \"loomwright\",\n  \"version\": 1,\n  \"project\"")
    );
    assert!(saved.ends_with(b"}\n"));
    // The example in the program is itself in the layout it describes.
    assert_eq!(String::from_utf8(saved).unwrap(), WHOLE);
}

#[test]
fn unknown_fields_survive_at_every_level() {
    let mut file: Value = serde_json::from_str(WHOLE).unwrap();
    let mut seen = 0;
    // A field that no program knows, in every object that isn't keyed by id or by kind.
    fn mark(value: &mut Value, path: &str, seen: &mut usize) {
        if let Value::Object(map) = value {
            for (key, inner) in map.iter_mut() {
                mark(inner, &format!("{path}/{key}"), seen);
            }
            let levels = path.matches('/').count();
            let is_map = levels == 1 && path != "/project" && path != "/colour_scheme"
                || ["/switches", "/loads", "/is", "/shows", "/items"]
                    .iter()
                    .any(|k| path.ends_with(k))
                || ["from", "to"]
                    .iter()
                    .any(|k| path.ends_with(&format!("/shield/{k}")));
            if !is_map {
                map.insert("a_field_from_later".into(), json!({"n": 1.5}));
                *seen += 1;
            }
        } else if let Value::Array(list) = value {
            for inner in list {
                mark(inner, &format!("{path}/-"), seen);
            }
        }
    }
    mark(&mut file, "", &mut seen);
    assert!(seen > 100);
    let document = open(&serde_json::to_vec(&file).unwrap()).unwrap().document;
    let saved: Value = serde_json::from_slice(&save(&document)).unwrap();
    let count = saved.to_string().matches("a_field_from_later").count();
    assert_eq!(count, seen);
}

#[test]
fn a_changed_field_is_one_changed_line() {
    let mut document = testing::whole();
    document.wires.get_mut("w6").unwrap().colour = "blue".into();
    let saved = String::from_utf8(save(&document)).unwrap();
    assert_eq!(saved.lines().count(), WHOLE.lines().count());
    let changed: Vec<_> = saved
        .lines()
        .zip(WHOLE.lines())
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(
        changed,
        [(
            "      \"colour\": \"blue\",",
            "      \"colour\": \"white\","
        )]
    );
}

#[test]
fn numbers_read_back_exactly() {
    let mut document = testing::whole();
    for ohm in [0.1 + 0.2, 1e-300, 1.797e308, 4.35, 0.002_500_000_000_000_1] {
        document.splices.get_mut("sp1").unwrap().ohm = Some(ohm);
        let again = open(&save(&document)).unwrap().document;
        assert_eq!(again.splices["sp1"].ohm, Some(ohm));
    }
}

#[test]
fn a_wrong_field_is_named_with_its_line() {
    refused(
        &with("/wires/w6/gauge_awg", json!("22")),
        "wires.w6.gauge_awg",
        "found the text \"22\", expected a whole number",
    );
    refused(
        &with("/wires/w6/status", json!("done")),
        "wires.w6.status",
        "found `done`, expected one of `planned`",
    );
    refused(
        &with("/wires/w6/from", json!("com1/p1")),
        "wires.w6.from",
        "expected \"terminal:DEVICE/TERMINAL\"",
    );
    refused(
        &with("/devices/com1/elements/0/is/load/at_v", json!(null)),
        "devices.com1.elements[0].is.load.at_v",
        "expected a number",
    );
    refused(
        &with("/project/nominal_v", json!(true)),
        "project.nominal_v",
        "found `true`, expected a number",
    );
    refused(&with("/version", json!(0)), "version", "1 or more");
    let missing = WHOLE.replacen("      \"number\": \"P1A2\",\n", "", 1);
    refused(
        missing.as_bytes(),
        "wires.w1",
        "the field `number` is missing",
    );
}

#[test]
fn what_a_field_mentions_must_be_there() {
    for (pointer, value, path, words) in [
        (
            "/wires/w6/to",
            json!("terminal:com1/p99"),
            "wires.w6.to",
            "device \"com1\" has no terminal \"p99\"",
        ),
        (
            "/wires/w6/to",
            json!("terminal:com9/p1"),
            "wires.w6.to",
            "there is no device \"com9\"",
        ),
        (
            "/wires/w6/to",
            json!("splice:x"),
            "wires.w6.to",
            "there is no splice \"x\"",
        ),
        (
            "/wires/w6/to",
            json!("structure:x"),
            "wires.w6.to",
            "there is no place \"x\"",
        ),
        (
            "/wires/w6/to",
            json!("terminal:mbus/cb1"),
            "wires.w6.to",
            "same point",
        ),
        (
            "/wires/w3/route/0",
            json!("x"),
            "wires.w3.route[0]",
            "there is no route",
        ),
        (
            "/wires/w3/length_m",
            json!(0.0),
            "wires.w3.length_m",
            "greater than 0",
        ),
        (
            "/wires/w3/gauge_awg",
            json!(-4),
            "wires.w3.gauge_awg",
            "found -4",
        ),
        (
            "/cables/a10/wires/1",
            json!("x"),
            "cables.a10.wires[1]",
            "there is no wire",
        ),
        (
            "/cables/a10/wires/1",
            json!("a11w"),
            "cables.a11.wires[0]",
            "already in cable \"a10\"",
        ),
        (
            "/cables/a10/wires",
            json!([]),
            "cables.a10.wires",
            "at least one",
        ),
        (
            "/cables/a10/shield/to/carried/at",
            json!("open"),
            "cables.a10.shield.to.carried.at",
            "floating",
        ),
        (
            "/places/panel/bonded_to",
            json!("panel"),
            "places.panel.bonded_to",
            "itself",
        ),
        (
            "/devices/com1/terminals/1/id",
            json!("p1"),
            "devices.com1.terminals[1].id",
            "twice",
        ),
        (
            "/devices/com1/terminals/1/connector",
            json!("x"),
            "devices.com1.terminals[1].connector",
            "no connector",
        ),
        (
            "/devices/s1/elements/0/is/switch/rest",
            json!(2),
            "devices.s1.elements[0].is.switch.rest",
            "0 to 1",
        ),
        (
            "/devices/k1/elements/1/is/contact/coil",
            json!("main"),
            "devices.k1.elements[1].is.contact.coil",
            "no coil",
        ),
        (
            "/devices/k1/elements/0/is/coil/drop_out_v",
            json!(9.0),
            "devices.k1.elements[0].is.coil.drop_out_v",
            "pull_in_v",
        ),
        (
            "/devices/bt1/elements/0/is/battery/minus",
            json!("plus"),
            "devices.bt1.elements[0].is.battery.minus",
            "both sides",
        ),
        (
            "/devices/bt1/elements/0/is/battery/ohm",
            json!(-1.0),
            "devices.bt1.elements[0].is.battery.ohm",
            "greater than 0",
        ),
        (
            "/devices/bt1/place",
            json!("x"),
            "devices.bt1.place",
            "no place",
        ),
        (
            "/states/cruise/switches/s1~1sw",
            json!(2),
            "states.cruise.switches.s1/sw",
            "position 2",
        ),
        (
            "/states/cruise/pulled/0",
            json!("com1/rx"),
            "states.cruise.pulled[0]",
            "no breaker or fuse",
        ),
        (
            "/sheets/power/items/i1/shows/device/device",
            json!("x"),
            "sheets.power.items.i1.shows.device.device",
            "no device",
        ),
        (
            "/sheets/power/items/i1/x_mm",
            json!(1e9),
            "sheets.power.items.i1.x_mm",
            "10000",
        ),
        (
            "/accepted/x1/reason",
            json!(" "),
            "accepted.x1.reason",
            "a reason",
        ),
        (
            "/devices/a~1b",
            json!({"tag": "A", "title": "", "kind": "unit"}),
            "devices.a/b",
            "must not contain",
        ),
        ("/splices/", json!({"label": "S"}), "splices.", "empty"),
    ] {
        refused(&with(pointer, value), path, words);
    }
}

#[test]
fn a_key_stands_once() {
    let twice = WHOLE.replacen("    \"w10\": {", "    \"w1\": {", 1);
    refused(twice.as_bytes(), "wires.w1", "twice");
    let twice = WHOLE.replacen(
        "      \"number\": \"P1A2\",",
        "      \"number\": \"\",\n      \"number\": \"P1A2\",",
        1,
    );
    refused(twice.as_bytes(), "wires.w1.number", "twice");
}

#[test]
fn files_of_others_and_from_later_are_told_apart() {
    let not_ours = |file: Value| match open(&serde_json::to_vec(&file).unwrap()) {
        Err(error @ OpenError::NotOurs { .. }) => error.to_string(),
        other => panic!("{other:?}"),
    };
    assert!(not_ours(json!({})).contains("nothing there"));
    assert!(not_ours(json!([])).contains("nothing there"));
    assert!(not_ours(json!({"format": "other"})).contains("found \"other\""));
    // What fits is read; what the program does not know is kept.
    let newer = WHOLE.replacen("\"version\": 1", "\"version\": 99, \"later\": [1]", 1);
    let opened = open(newer.as_bytes()).expect("nothing in it contradicts us");
    assert!(opened.is_newer());
    assert_eq!(opened.document.extra["later"], json!([1]));
    // What does not fit is refused, and the error says that a newer program is needed.
    let other = newer.replacen("\"project\": {", "\"project\": {\"title\": 5,", 1);
    let other = other.replacen("\"title\": \"", "\"was\": \"", 1);
    match open(other.as_bytes()) {
        Err(error @ OpenError::Newer { version: 99, .. }) => {
            assert!(error.to_string().contains("project.title"), "{error}");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_a_battery_can_give_is_bounded() {
    let load = "/devices/lt6/elements/0/is/load/duty";
    let reserve = |field: &str| format!("/devices/bt1/elements/0/is/battery/reserve/{field}");
    for (field, value, words) in [
        (load, json!(1.5), "at most 1"),
        (&reserve("age_factor"), json!(0.0), "at most 1"),
        (&reserve("peukert"), json!(-1.0), "greater than 0"),
        (
            &reserve("open_circuit_v"),
            json!([[0.5, 12.0], [0.5, 12.5]]),
            "rising from 0 to 1",
        ),
        (
            &reserve("open_circuit_v"),
            json!([[0.5, 0.0]]),
            "volts above 0",
        ),
        ("/project/shed_after_min", json!(-1.0), "0 or more"),
        (
            "/states/cruise/after_alternator",
            json!("guessed"),
            "nothing_done",
        ),
    ] {
        let path = field[1..]
            .replace('/', ".")
            .replace("elements.0", "elements[0]");
        refused(&with(field, value), &path, words);
    }
    let warm = open(&with(&reserve("temperature_factor"), json!(1.1)));
    assert!(warm.is_ok());
}

#[test]
fn limits_hold() {
    let long = "é".repeat(limits::MAX_TEXT);
    assert!(open(&with("/project/title", json!(long))).is_ok());
    let longer = long + "é";
    refused(
        &with("/project/title", json!(longer)),
        "project.title",
        "10001 characters",
    );
    refused(
        &with("/project/unknown", json!(longer)),
        "project.unknown",
        "10001 characters",
    );
    let mut deep = json!(1);
    for _ in 0..limits::MAX_DEPTH {
        deep = json!([deep]);
    }
    let error = open(&with("/project/unknown", deep))
        .unwrap_err()
        .to_string();
    assert!(error.contains("nested more than 32 levels deep"), "{error}");
    let many: serde_json::Map<_, _> = (0..=limits::MAX_RECORDS)
        .map(|n| (format!("s{n}"), json!({"label": "S"})))
        .collect();
    let error = open(&with("/splices", Value::Object(many)))
        .unwrap_err()
        .to_string();
    assert!(error.contains("more than 100000 records"), "{error}");
    let big = vec![b' '; limits::MAX_BYTES + 1];
    assert_eq!(open(&big), Err(OpenError::TooLarge { bytes: big.len() }));
    let infinite = WHOLE.replacen("\"nominal_v\": 14.0", "\"nominal_v\": 1e999", 1);
    let error = open(infinite.as_bytes()).unwrap_err();
    assert!(
        matches!(error, OpenError::Damaged { line: 8, .. }),
        "{error}"
    );
}

#[test]
fn a_mark_of_byte_order_and_dos_line_ends_do_no_harm() {
    let file = format!("\u{feff}{}", WHOLE.replace('\n', "\r\n"));
    assert_eq!(open(file.as_bytes()).unwrap().document, testing::whole());
}

#[test]
fn every_cut_is_refused() {
    let file: Value = serde_json::from_str(WHOLE).unwrap();
    let file = serde_json::to_vec(&file).unwrap();
    for cut in (0..file.len()).step_by(5) {
        let error = open(&file[..cut]).unwrap_err();
        assert!(
            matches!(error, OpenError::Damaged { .. }),
            "cut at {cut}: {error}"
        );
    }
}

#[test]
fn an_empty_project_saves_and_opens() {
    let empty = Document::default();
    assert_eq!(open(&save(&empty)).unwrap().document, empty);
}

proptest! {
    #[test]
    fn noise_never_panics(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        prop_assert!(open(&bytes).is_err());
    }

    /// A file with some bytes replaced either is refused or opens as a sound document that saves and
    /// opens again.
    #[test]
    fn a_damaged_file_is_refused_or_sound(
        hits in proptest::collection::vec((0..WHOLE.len(), any::<u8>()), 1..4)
    ) {
        let mut bytes = WHOLE.as_bytes().to_vec();
        for (at, byte) in hits {
            bytes[at] = byte;
        }
        if let Ok(opened) = open(&bytes) {
            prop_assert_eq!(crate::document::invariants::broken(&opened.document), vec![]);
            prop_assert_eq!(open(&save(&opened.document)).unwrap().document, opened.document);
        }
    }
}
