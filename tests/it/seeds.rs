//! Mistakes of which no story tells, each seeded into Sorrel, and the finding that names it.

use loomwright_core::{
    document::{Alternator, Coil, Document, ElementKind, Extra, Splice},
    units::Gauge,
};

use crate::{
    samples::sorrel,
    seeded::{element, end, findings, wire},
};

/// A mistake on Sorrel, and the finding that names it.
type Seed = (&'static str, &'static str, fn(&mut Document));

const SEEDS: &[Seed] = &[
    ("alternator-always-on", "element:g1/gen", |it| {
        wire(it, "p11b20").from = end("terminal:mbus/stud");
    }),
    ("alternator-alone", "element:g1/gen", |it| {
        wire(it, "p11a20").to = end("terminal:g1/fld");
    }),
    ("feeder-drop", "device:mbus", |it| {
        wire(it, "p6a8").length_m = Some(4.0);
    }),
    ("essential-with-others", "element:ebus/cb22", |it| {
        it.devices.get_mut("com1").expect("a radio").critical = true;
        wire(it, "r4a22").from = end("terminal:ebus/cb22");
    }),
    ("can-stub", "terminal:md1/j102-5", |it| {
        for device in it.devices.values_mut() {
            for terminal in &mut device.terminals {
                terminal.bit_per_s = terminal.bit_per_s.and(Some(1e6));
            }
        }
        let splice = Splice {
            label: "SP9".into(),
            place: None,
            ohm: None,
            extra: Extra::new(),
        };
        it.splices.insert("sp9".into(), splice);
        let mut branch = wire(it, "db1a-1").clone();
        branch.length_m = Some(0.8);
        branch.from = end("splice:sp9");
        it.wires.insert("branch".into(), branch);
        wire(it, "db1a-1").to = end("splice:sp9");
        wire(it, "db1b-1").from = end("splice:sp9");
    }),
    ("sender-ground", "terminal:fq1/1", |it| {
        let tie = wire(it, "p14a16n");
        (tie.gauge_awg, tie.length_m) = (Some(Gauge(20)), Some(2.0));
    }),
    ("protector-under-load", "element:fl1/link", |it| {
        if let ElementKind::Protector(limiter) = element(it, "fl1", "link") {
            limiter.rating_a = Some(45.0);
        }
    }),
    ("starter-wire", "wire:p4a2n", |it| {
        wire(it, "p4a2n").gauge_awg = Some(Gauge(10));
    }),
    ("disconnect-far", "element:bt1/cell", |it| {
        wire(it, "p1a2").length_m = Some(1.5);
    }),
    ("coil-duty", "element:k1/coil", |it| {
        coil(it, "k1").continuous_duty = Some(false);
    }),
    ("coil-suppression", "element:k2/coil", |it| {
        coil(it, "k2").suppressed = Some(false);
    }),
    ("no-over-voltage", "element:g1/gen", |it| {
        alternator(it).over_voltage_trip = Some(false);
    }),
    ("no-failure-warning", "element:g1/gen", |it| {
        alternator(it).failure_warning = Some(false);
    }),
    ("essential-out-of-reach", "element:ebus/cb22", |it| {
        it.devices.get_mut("com1").expect("a radio").critical = true;
        it.devices.get_mut("ebus").expect("a bus").in_reach = Some(false);
    }),
];

fn coil<'d>(document: &'d mut Document, device: &str) -> &'d mut Coil {
    match element(document, device, "coil") {
        ElementKind::Coil(coil) => coil,
        other => panic!("{device} has {other:?} as its coil"),
    }
}

fn alternator(document: &mut Document) -> &mut Alternator {
    match element(document, "g1", "gen") {
        ElementKind::Alternator(alternator) => alternator,
        other => panic!("g1 is {other:?}"),
    }
}

#[test]
fn each_of_these_mistakes_is_named() {
    let sound = findings(&sorrel(), |it| it.accepted.is_none());
    for (rule, at, mistake) in SEEDS {
        let named = format!("{rule} {at}");
        assert!(!sound.contains(&named), "{named} in the sound aircraft");
        let mut made = sorrel();
        mistake(&mut made);
        let open = findings(&made, |it| it.accepted.is_none());
        assert!(open.contains(&named), "{named} is not in {open:#?}");
    }
}
