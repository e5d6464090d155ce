//! The seeded faults of the two invented aircraft. Each is a small edit on a sample; it must give its
//! own finding on its own record and nothing else, and without it the aircraft must be sound.
//!
//! A-F6 (the port's share of endurance) and A-F8 (charging wires in the bundle of the mic cables)
//! need endurance and bundles, which the rules do not have yet.

use std::collections::BTreeSet;

use loomwright_core::{
    document::{Document, ElementKind, End, InlineFuse, ShieldEnd, Splice, Wire},
    rules::{self, Finding, Level},
    units::Gauge,
};

use crate::samples::{sorrel, teasel};

/// Open findings as "rule kind:id" of the record they are about.
fn open(document: &Document) -> BTreeSet<String> {
    rules::check(document)
        .findings
        .iter()
        .filter(|finding| finding.accepted.is_none())
        .map(name)
        .collect()
}

fn name(finding: &Finding) -> String {
    let at = &finding.at[0];
    format!("{} {}:{}", finding.rule, at.kind, at.id)
}

/// Seeds a fault and holds what is new against what should be.
fn seed(sound: &Document, fault: impl FnOnce(&mut Document), expected: &[&str]) {
    let mut seeded = sound.clone();
    fault(&mut seeded);
    assert_ne!(&seeded, sound, "the edit changed nothing");
    let before = open(sound);
    let new: BTreeSet<String> = open(&seeded).difference(&before).cloned().collect();
    let expected: BTreeSet<String> = expected.iter().map(ToString::to_string).collect();
    assert_eq!(new, expected);
}

fn wire<'d>(document: &'d mut Document, id: &str) -> &'d mut Wire {
    document.wires.get_mut(id).expect("a wire of the sample")
}

fn end(text: &str) -> End {
    text.parse().expect("an end")
}

fn serious(document: &Document) -> Vec<String> {
    rules::check(document)
        .findings
        .iter()
        .filter(|it| it.accepted.is_none() && it.level <= Level::Fault)
        .map(|it| format!("{}: {}", name(it), it.message))
        .collect()
}

#[test]
fn teasel_is_sound() {
    assert_eq!(serious(&teasel()), Vec::<String>::new());
}

/// B-F14: the landing light's drop is the one thing left for a newcomer to find.
#[test]
fn sorrel_has_one_fault_and_it_is_the_landing_light() {
    let verdict = rules::check(&sorrel());
    let open: Vec<&Finding> = verdict
        .findings
        .iter()
        .filter(|it| it.accepted.is_none() && it.level <= Level::Fault)
        .collect();
    let names: Vec<String> = open.iter().map(|it| name(it)).collect();
    assert_eq!(names, ["voltage-drop element:lt1/load"]);
    // 3.6 A through 225 mΩ is 0.81 V; at constant power the current rises as the voltage falls.
    let measured = open[0].measured.expect("a drop has a value");
    assert!((0.78..0.92).contains(&measured), "{measured} V");
    assert_eq!(open[0].limit, Some(0.5));
}
