//! The third sample: an engine that stops without electricity, against the tables of its story.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    analysis::load_analysis,
    document::{ConductorKind, Document, ElementKind, Extra, ShieldEnd},
    reports::{PAPERS, always_hot},
    rules::{self, Level},
    testing::asked,
};

use crate::{
    samples::bryony,
    seeded::{element, end, findings, wire},
};

#[test]
fn bryony_has_no_open_finding() {
    let open = findings(&bryony(), |it| it.accepted.is_none());
    assert_eq!(open, BTreeSet::new());
}

/// What it accepts is what its story accepts, and where the solved network differs from plain sums.
#[test]
fn every_acceptance_of_bryony_covers_a_finding() {
    let document = bryony();
    let verdict = rules::check(&document);
    let accepted: BTreeSet<_> = (verdict.findings.iter())
        .filter_map(|it| it.accepted.as_ref())
        .collect();
    assert_eq!(accepted.len(), document.accepted.len());
    let hazards = verdict
        .findings
        .iter()
        .filter(|it| it.level == Level::Hazard);
    // Leads and straps at a source, 0.15 m at most, and the one dead in flight.
    assert_eq!(hazards.count(), 5);
}

/// Plain sums of stated currents by phase, A (computed in the story from its table of devices).
#[test]
fn bryony_meets_its_loads_by_phase() {
    let analysis = load_analysis(&bryony());
    let found: Vec<(&str, f64)> = (analysis.phases.iter())
        .map(|it| (it.title.as_str(), it.total.continuous.plain_a))
        .collect();
    let story = [
        ("Pre-start on the ground", 9.79),
        ("Cranking", 17.89),
        ("Cruise day", 26.84),
        ("Cruise night, pitot heat", 33.94),
        ("Approach, night", 41.59),
        ("Main alternator out, night", 14.82),
        ("Both alternators out, night", 14.17),
        ("Smoke: master off, engine bus only", 10.82),
    ];
    assert_eq!(found.len(), story.len());
    for ((title, amps), (wanted, total)) in found.iter().zip(story) {
        assert_eq!(*title, wanted);
        assert!(
            (amps - total).abs() < 0.006,
            "{title}: {amps}, story {total}"
        );
    }
}

/// Count and meters of copper wire per gauge (computed in the story; straps, thermocouples and coax apart).
#[test]
fn bryony_has_the_wires_of_its_list() {
    let mut totals: BTreeMap<i8, (usize, f64)> = BTreeMap::new();
    for it in bryony().wires.values() {
        let is_strap = it.note.contains("strap");
        let (ConductorKind::Copper, false) = (it.conductor, is_strap) else {
            continue;
        };
        let gauge = it.gauge_awg.expect("the story gives all gauges").0;
        let total = totals.entry(gauge).or_default();
        *total = (total.0 + 1, total.1 + it.length_m.expect("a length"));
    }
    let story = [
        (2, 8, 5.9),
        (6, 3, 3.4),
        (8, 4, 2.5),
        (10, 10, 7.4),
        (12, 5, 9.3),
        (14, 4, 1.6),
        (16, 15, 27.4),
        (18, 21, 50.0),
        (20, 48, 58.6),
        (22, 122, 169.5),
    ];
    for (gauge, count, length_m) in story {
        let (found, found_m) = totals[&gauge];
        assert_eq!(found, count, "{gauge} AWG");
        assert!(
            (found_m - length_m).abs() < 0.051,
            "{gauge} AWG: {found_m} m"
        );
    }
    assert_eq!(totals.len(), story.len());
}

/// Live with every switch at rest, and through the coil of K1 (from the story).
#[test]
fn bryony_is_always_hot_where_its_story_says() {
    let document = bryony();
    let table = always_hot::table(&document);
    let found: BTreeSet<String> = table.rows.iter().map(|row| row[0].show()).collect();
    let story = [
        "P1A2", "P9A10", "P9B10", "P10A10", "P12A14", "P12C22", "P13A8", "P14D10", "P14E10",
        "P15A20", "P20C22", "P20D22", "P22B22", "P17A20",
    ];
    assert_eq!(found, story.map(str::to_owned).into());
}

#[test]
fn every_paper_of_bryony_can_be_printed() {
    let document = bryony();
    // The pack has all the others in it.
    for (name, title, make) in PAPERS.iter().filter(|it| it.0 != "pack") {
        let paper = make(&asked(&document));
        assert!(paper.to_html().ends_with("</html>\n"), "{title}");
        assert!(paper.to_text().contains("Local regulation"), "{name}");
    }
}

/// One edit each, and the rule that names it.
type Seed = (&'static str, &'static str, fn(&mut Document));

const SEEDS: &[Seed] = &[
    // The key line live: a coil made for seconds is on for hours.
    ("coil-duty", "element:k2/coil", |it| {
        wire(it, "k1b20").from = end("terminal:ks1/b");
    }),
    // One breaker feeds four injectors.
    ("shared-feed", "device:inj1", |it| {
        for id in ["j6c20", "j6d20"] {
            wire(it, id).from = end("terminal:nbus/cb45");
        }
    }),
    // One nut holds the returns of both channels.
    ("shared-feed", "device:ecu1", |it| {
        wire(it, "j2c18n").to = end("terminal:gb2/e1");
    }),
    // One breaker for the field of one alternator and the control of the other.
    ("shared-feed", "device:g1", |it| {
        wire(it, "p15a20").from = end("terminal:s1/4");
    }),
    ("over-voltage-elsewhere", "element:ov1/trip", |it| {
        wire(it, "p16c20").from = end("terminal:reg1/sense");
    }),
    ("alternator-alone", "element:g1/gen", |it| {
        wire(it, "p16b20").from = end("terminal:mbus/cb1");
        it.wires.remove("p16a20");
    }),
    // The limiter at the wrong end of its lead.
    ("unprotected-wire", "wire:p6b2", |it| {
        wire(it, "p6b2").to = end("terminal:k1/load");
    }),
    ("battery-disconnects", "element:bt1/cell", |it| {
        if let ElementKind::Battery(battery) = element(it, "bt1", "cell") {
            battery.opens_above_a = Some(150.0);
        }
    }),
    ("coil-suppression", "element:k2/coil", |it| {
        if let ElementKind::Coil(coil) = element(it, "k2", "coil") {
            coil.suppressed = Some(false);
        }
    }),
    // The diode bridge turned round.
    ("bus-without-source", "device:nbus", |it| {
        for id in ["p11a8", "p11b8"] {
            wire(it, id).from = end("terminal:d1/ac2");
        }
        wire(it, "p10b10").to = end("terminal:d1/+");
    }),
    ("antenna-without-ground-plane", "device:an1", |it| {
        it.devices
            .get_mut("an1")
            .expect("an antenna")
            .elements
            .clear();
    }),
    ("cart-unprotected", "device:xp1", |it| {
        wire(it, "p19d20").to = end("terminal:k4/c1");
        it.wires.remove("p19e20");
    }),
    ("switch-in-return", "element:ds4/load", |it| {
        wire(it, "w2a22").to = end("terminal:ds4/+");
        wire(it, "w2b22").from = end("terminal:ds4/-");
        wire(it, "w2b22").to = end("terminal:ls3/1");
        wire(it, "w2c22n").from = end("terminal:ls3/2");
    }),
    ("jack-on-structure", "device:jk5", |it| {
        if let ElementKind::Jack(jack) = element(it, "jk5", "jack") {
            jack.isolated = Some(false);
        }
    }),
    ("shield-both-ends", "cable:j8", |it| {
        let shield = &mut it.cables.get_mut("j8").expect("a cable").shield;
        let shield = shield.as_mut().expect("it is shielded");
        shield.from = shield_end();
    }),
];

/// The shield of a crank sensor grounded at the engine too.
fn shield_end() -> ShieldEnd {
    ShieldEnd::Tied {
        at: end("terminal:eng/s1"),
        pigtail_mm: Some(25.0),
        extra: Extra::new(),
    }
}

#[test]
fn each_mistake_of_its_story_is_named() {
    for (rule, at, mistake) in SEEDS {
        let named = format!("{rule} {at}");
        let mut made = bryony();
        mistake(&mut made);
        let open = findings(&made, |it| it.accepted.is_none());
        assert!(open.contains(&named), "{named} is not in {open:#?}");
    }
}
