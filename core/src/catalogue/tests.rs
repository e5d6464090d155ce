use std::collections::BTreeSet;

use super::{all, get, read_all, read_family, search};
use crate::{
    document::{Device, Element, ElementKind},
    edit,
};

/// Every terminal an element names.
fn named(element: &Element) -> Vec<String> {
    // Terminal ids are the only texts of an element besides these fields.
    fn collect(value: &serde_json::Value, out: &mut Vec<String>) {
        match value {
            serde_json::Value::String(text) => out.push(text.clone()),
            serde_json::Value::Array(list) => list.iter().for_each(|v| collect(v, out)),
            serde_json::Value::Object(map) => map
                .iter()
                .filter(|(key, _)| {
                    ![
                        "law",
                        "sort",
                        "origin",
                        "style",
                        "used_as",
                        "used_for",
                        "closed",
                        "coil",
                        "label",
                        "origins",
                        "pulses",
                        "chemistry",
                    ]
                    .contains(&key.as_str())
                })
                .for_each(|(_, v)| collect(v, out)),
            _ => {}
        }
    }
    let mut out = Vec::new();
    let body = serde_json::to_value(&element.is).expect("an element is plain data");
    collect(&body, &mut out);
    out
}

fn assert_sound(id: &str, device: &Device) {
    let terminals: BTreeSet<&str> = device.terminals.iter().map(|t| t.id.as_str()).collect();
    assert_eq!(
        terminals.len(),
        device.terminals.len(),
        "{id}: a terminal twice"
    );
    assert!(!terminals.is_empty(), "{id}: nothing to wire to");
    let elements: BTreeSet<&str> = device.elements.iter().map(|e| e.id.as_str()).collect();
    assert_eq!(
        elements.len(),
        device.elements.len(),
        "{id}: an element twice"
    );
    for element in &device.elements {
        for terminal in named(element) {
            assert!(
                terminals.contains(terminal.as_str()),
                "{id}: {} names {terminal}",
                element.id
            );
        }
        if let ElementKind::Contact(contact) = &element.is {
            assert!(
                elements.contains(contact.coil.as_str()),
                "{id}: contact without coil"
            );
        }
        if let ElementKind::Load(load) = &element.is {
            assert!(
                load.continuous_a.is_some()
                    || load.intermittent_a.is_some()
                    || load.peak_a.is_some()
                    || device.source.to_lowercase().contains("currents not set"),
                "{id}: a load without a figure, and its source does not say so"
            );
        }
    }
    for terminal in &device.terminals {
        if let Some(connector) = &terminal.connector {
            assert!(
                device.connector(connector).is_some(),
                "{id}: no connector {connector}"
            );
        }
    }
    assert!(!device.source.is_empty(), "{id}: no source for its figures");
    assert!(
        device.tag.chars().all(|c| c.is_ascii_uppercase()),
        "{id}: the tag is class letters only"
    );
    assert!(!device.title.is_empty(), "{id}: no title");
    assert_eq!(device.place, None, "{id}: a kind of device is nowhere yet");
}

#[test]
fn every_part_is_sound() {
    let parts = read_all().expect("every file reads");
    assert!(parts.len() >= 40, "{} parts", parts.len());
    let ids: BTreeSet<&str> = parts.iter().map(|part| part.id.as_str()).collect();
    assert_eq!(ids.len(), parts.len(), "a part's key twice");
    for part in &parts {
        assert_sound(&part.id, &part.device);
        assert!(
            !part.name.is_empty() && !part.words.is_empty(),
            "{}",
            part.id
        );
        assert!(
            part.device().extra.is_empty(),
            "{}: a field nobody reads",
            part.id
        );
    }
}

/// Every part is listed under its family's title, and each family is listed once.
#[test]
fn families_follow_each_other() {
    let families: Vec<&str> = all()
        .chunk_by(|a, b| a.family == b.family)
        .map(|family| family[0].family)
        .collect();
    let distinct: BTreeSet<&str> = families.iter().copied().collect();
    assert_eq!(distinct.len(), families.len());
    assert!(families.len() > 5 && !distinct.contains(""));
}

/// The first of a class is number 1, and labels that repeat its tag follow (reference designations
/// of IEEE 315: letters and a number).
#[test]
fn a_part_is_tagged_as_the_first_of_its_class() {
    let bus = get("bus-4").expect("a part").device();
    assert_eq!(bus.tag, "BUS1");
    assert!(bus.elements.iter().any(|it| it.label == "BUS1"));
    let document = crate::document::Document::default();
    let one = edit::add_device(&document, bus.clone(), None).expect("it fits");
    let one = one.applied(&document).expect("made for it");
    let two = edit::add_device(&one, bus, None).expect("it fits");
    let two = two.applied(&one).expect("made for it");
    let tags: BTreeSet<&str> = two.devices.values().map(|it| it.tag.as_str()).collect();
    assert_eq!(tags, BTreeSet::from(["BUS1", "BUS2"]));
}

#[test]
fn finds_what_a_builder_types() {
    for (text, id) in [
        ("breaker 7.5", "breaker-7.5"),
        ("headset", "jack-phones"),
        ("DPDT", "switch-dpdt-off"),
        ("usb", "usb-port"),
        ("ground block", "ground-16"),
        ("GPS antenna", "antenna-gps"),
        ("solenoid", "contactor-master"),
        ("efis", "flight-display"),
        ("thermocouple", "probe-cht"),
        ("25-way", "inline-dsub-25"),
        ("ignition key", "switch-key"),
        ("rectifier", "diode-bridge"),
        ("ECU", "engine-computer-2"),
        ("high voltage", "strobe-supply"),
        ("wig-wag", "flasher"),
    ] {
        assert!(
            search(text).iter().any(|part| part.id == id),
            "{text} should find {id}"
        );
    }
}

#[test]
fn a_name_that_begins_with_the_text_comes_first() {
    assert_eq!(search("bus")[0].id, "bus-4");
    assert_eq!(search("  Battery ")[0].id, "battery-8");
    assert_eq!(search("").len(), all().len());
    assert!(search("no such thing").is_empty());
}

#[test]
fn a_part_is_found_by_what_it_is_called_on_a_sheet() {
    for part in all() {
        let found = search(&part.device.title);
        assert!(found.iter().any(|it| it.id == part.id), "{}", part.id);
    }
}

#[test]
fn a_part_is_found_by_its_key() {
    assert_eq!(
        get("com").map(|part| part.device().tag),
        Some("COM1".into())
    );
    assert!(get("nothing").is_none());
}

#[test]
fn a_wrong_file_says_which_and_where() {
    let error = read_family("lights", "[{\"id\": 3}]").expect_err("3 is no key");
    assert!(
        error.to_string().starts_with("catalog file lights.json: "),
        "{error}"
    );
    assert!(error.to_string().contains("[0].id"), "{error}");
}
