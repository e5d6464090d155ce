//! The hunt for a noise, with faults that are known: from the answers of a simulated technician the guide must
//! reach each of them.

mod aircraft;
mod technician;

use std::collections::BTreeMap;

use loomwright_core::{
    analysis::failures::usual_state,
    document::{Document, JackUse, Role, ShieldEnd, WireEnd},
    netlist::EdgeOf,
    noise::{self, Hear, Noise, Settings, Step, hunt},
    solve::{Figures, operate},
};

use self::{
    aircraft::{Make, make},
    technician::{Cause, Fault, Technician},
};
use crate::{
    samples::{sorrel, teasel},
    seeded::{end, intercom_returns_with_the_pump, wire},
};

/// The most tests in which every cause must be found.
const MOST_TESTS: usize = 6;

/// Stands for a cause that the guide did not reach.
const NEVER: usize = 10;

fn noise_of(document: &Document) -> Noise {
    let (id, state) = usual_state(document).expect("a state");
    let point = operate(document, id, state, Figures::Continuous);
    Noise::new(document, point, Settings::default())
}

/// True if the guide's fault is the technician's.
fn same(guide: &noise::Fault, real: &Fault) -> bool {
    match (guide, real) {
        (noise::Fault::Jack(a), Fault::Jack(b))
        | (noise::Fault::Supply(a), Fault::Supply(b))
        | (noise::Fault::Low(a), Fault::Low(b))
        | (noise::Fault::Headset(a), Fault::Headset(b))
        | (noise::Fault::Air(a), Fault::Air(b))
        | (noise::Fault::PLead(a), Fault::PLead(b)) => a.as_str() == b,
        (noise::Fault::Shared(a), Fault::Shared(b, c)) => a.as_str() == b || a.as_str() == c,
        (noise::Fault::Joint(a), Fault::Loose(b)) => a.to_string() == *b,
        (noise::Fault::Part(EdgeOf::ShieldEnd(a, x)), Fault::Shield(b, y)) => {
            a.as_str() == b && x == y
        }
        _ => false,
    }
}

/// What became of one hunt.
struct Ran {
    tests: usize,
    /// Suspects that were blamed and are no cause, with what was known then.
    wrong: Vec<String>,
    told: Vec<String>,
}

fn run(document: &Document, noise: &Noise, hear: Hear, causes: &[Cause]) -> Ran {
    let technician = Technician::new(document, causes);
    // Who hears it, a person knows before any test.
    let mut answers = vec![(Step::Listen, technician.answer(&Step::Listen, &[]))];
    let mut ran = Ran {
        tests: 0,
        wrong: Vec::new(),
        told: Vec::new(),
    };
    loop {
        let hunt = hunt(document, noise, hear, &answers);
        let found = hunt.suspects.iter().filter(|it| it.is_found());
        let (right, wrong): (Vec<_>, Vec<_>) =
            found.partition(|it| causes.iter().any(|cause| same(&it.fault, &cause.fault)));
        ran.wrong.extend(wrong.iter().map(|it| it.what.clone()));
        let is_found = |cause: &Cause| right.iter().any(|it| same(&it.fault, &cause.fault));
        if causes.iter().all(is_found) {
            return ran;
        }
        let Some(next) = hunt.next.filter(|_| ran.tests <= MOST_TESTS) else {
            ran.tests = NEVER;
            return ran;
        };
        let keys: Vec<String> = next.choices.into_iter().map(|it| it.0).collect();
        let answer = technician.answer(&next.step, &keys);
        let caution = hear.caution(&next.step);
        assert!(!caution.is_empty(), "{:?} has no caution", next.step);
        ran.told.push(format!(
            "{:?} -> {:?} ({:.2} bits)",
            next.step.to_words(),
            answer,
            next.bits
        ));
        answers.push((next.step, answer));
        ran.tests += 1;
    }
}

/// Every aircraft.
fn fleet() -> Vec<(String, Document)> {
    let mut all = vec![
        ("sorrel".to_string(), sorrel()),
        ("teasel".into(), teasel()),
    ];
    for (seats, in_line, radios, panel_ground) in [
        (1, false, 1, true),
        (2, false, 1, false),
        (4, true, 2, true),
        (6, true, 2, false),
    ] {
        let document = make(Make {
            seats,
            in_line,
            radios,
            panel_ground,
        });
        all.push((format!("made, {seats} seats"), document));
    }
    all
}

/// Faults of the way into the audio that could be in this aircraft, found without the guide.
fn faults(document: &Document) -> Vec<Fault> {
    let technician = Technician::new(document, &[]);
    let (phones, mics) = (
        technician.jacks(JackUse::Phones),
        technician.jacks(JackUse::Mic),
    );
    let jacks = || phones.union(&mics).cloned();
    let mut all: Vec<Fault> = jacks().map(Fault::Jack).collect();
    all.extend(jacks().map(Fault::Low));
    all.extend(phones.iter().cloned().map(Fault::Headset));
    for (id, cable) in &document.cables {
        let ends_at_jack = cable.wires.iter().any(|it| {
            let wire = &document.wires[it.as_str()];
            jacks().any(|jack| {
                wire.to
                    .to_string()
                    .starts_with(&format!("terminal:{jack}/"))
            })
        });
        let floating = cable
            .shield
            .as_ref()
            .is_some_and(|it| it.to == ShieldEnd::Floating);
        if ends_at_jack && floating {
            all.push(Fault::Shield(id.to_string(), WireEnd::To));
        }
    }
    all.extend(technician.joints().into_iter().map(Fault::Loose));
    all.extend(technician.units_with_audio().into_iter().map(Fault::Supply));
    all
}

fn radios(document: &Document) -> Vec<String> {
    let has = |id: &str, role| {
        document.devices[id]
            .terminals
            .iter()
            .any(|it| it.role == role)
    };
    let ids = document.devices.keys().map(ToString::to_string);
    ids.filter(|id| has(id, Role::Rf) && has(id, Role::KeyLine))
        .collect()
}

/// The tags of the devices that drive a noise in every aircraft: known from how they were drawn.
fn source(document: &Document, hear: Hear) -> Option<String> {
    let wanted: &[&str] = match hear {
        Hear::Whine => &["G1"],
        Hear::Strobe => &["LT2", "LT1"],
        Hear::Charging | Hear::EngineOff | Hear::Squelch => &["USB1", "USB2"],
        Hear::Transmit => &["COM1", "NC1"],
        Hear::OneSeat | Hear::Other => &["MD1"],
    };
    let id = |tag: &&str| {
        let mut devices = document.devices.iter();
        devices
            .find(|(_, it)| it.tag == **tag)
            .map(|it| it.0.to_string())
    };
    // In the second sample LT1 is the strobe; in the first it is the landing light.
    wanted.iter().find_map(id)
}

fn cases(document: &Document, hear: Hear) -> Vec<Cause> {
    let Some(source) = source(document, hear) else {
        return Vec::new();
    };
    let mut all: Vec<Fault> = match hear {
        Hear::Squelch => {
            let mut all: Vec<_> = radios(document).into_iter().map(Fault::Air).collect();
            all.extend(radios(document).into_iter().map(Fault::Supply));
            all
        }
        _ => faults(document),
    };
    if hear == Hear::Transmit {
        all.push(Fault::Air(source.clone()));
        // A radio's own supply is no path from itself.
        all.retain(|it| *it != Fault::Supply(source.clone()));
    }
    let mut all: Vec<Cause> = all
        .into_iter()
        .map(|fault| Cause {
            fault,
            source: source.clone(),
        })
        .collect();
    if hear == Hear::Whine {
        for (id, device) in &document.devices {
            if device.tag.starts_with("MAG") {
                let (fault, source) = (Fault::PLead(id.to_string()), id.to_string());
                all.push(Cause { fault, source });
            }
        }
    }
    all
}

/// Runs cases and prints how many tests each took: nothing wrong may be blamed, and at least `floor` percent of the
/// cases are solved in six tests. Floors only go up.
fn all_of(floor: usize, title: &str, wanted: Hear, pick: impl Fn(Vec<Cause>) -> Vec<Vec<Cause>>) {
    let (mut late, mut wrong) = (Vec::new(), Vec::new());
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for (name, document) in fleet() {
        let noise = noise_of(&document);
        let mut here: BTreeMap<usize, usize> = BTreeMap::new();
        for causes in pick(cases(&document, wanted)) {
            let ran = run(&document, &noise, wanted, &causes);
            *here.entry(ran.tests).or_default() += 1;
            *counts.entry(ran.tests).or_default() += 1;
            let told = format!(
                "{name}, {causes:?}: {} tests, wrongly blamed {:?}\n    {}",
                ran.tests,
                ran.wrong,
                ran.told.join("\n    ")
            );
            if !ran.wrong.is_empty() {
                wrong.push(told);
            } else if ran.tests > MOST_TESTS {
                late.push(told);
            }
        }
        println!("{title}, {name}: cases by tests needed {here:?}");
    }
    let cases: usize = counts.values().sum();
    // A cause that is not reached counts as ten.
    let sum: usize = counts.iter().map(|(tests, n)| tests * n).sum();
    println!(
        "{title}: {cases} cases, {counts:?}, {:.2} tests on average",
        sum as f64 / cases as f64
    );
    assert!(cases > 0, "no case of {title}");
    println!("{}", late.join("\n"));
    assert!(wrong.is_empty(), "{title}:\n{}", wrong.join("\n"));
    let solved = cases - late.len();
    assert!(
        solved * 100 >= floor * cases,
        "{title}: {solved} of {cases} in {MOST_TESTS} tests, {floor} % wanted:\n{}",
        late.join("\n")
    );
}

fn each(all: Vec<Cause>) -> Vec<Vec<Cause>> {
    all.into_iter().map(|it| vec![it]).collect()
}

/// Two causes at once: every pair, thinned to about so many by a fixed stride.
fn pairs(all: &[Cause], about: usize) -> Vec<Vec<Cause>> {
    let mut pairs = Vec::new();
    for (at, a) in all.iter().enumerate() {
        for b in &all[at + 1..] {
            pairs.push(vec![a.clone(), b.clone()]);
        }
    }
    // A stride that shares no factor with the number of causes meets all of them.
    let stride = (pairs.len() / about).max(1) | 1;
    pairs.into_iter().step_by(stride).collect()
}

#[test]
fn the_whine_of_the_alternator_is_found() {
    all_of(100, "whine", Hear::Whine, each);
}

#[test]
fn the_tick_of_the_strobe_is_found() {
    all_of(100, "tick", Hear::Strobe, each);
}

#[test]
fn the_hash_with_the_engine_off_is_found() {
    all_of(96, "hash, engine off", Hear::EngineOff, |all| {
        each(all.into_iter().step_by(3).collect())
    });
}

#[test]
fn the_squelch_that_opens_is_found() {
    all_of(100, "squelch", Hear::Squelch, each);
}

#[test]
fn the_buzz_on_transmit_is_found() {
    all_of(100, "buzz on transmit", Hear::Transmit, each);
}

#[test]
fn two_causes_of_a_whine_are_both_found() {
    all_of(90, "two causes, whine", Hear::Whine, |all| pairs(&all, 40));
}

#[test]
fn two_causes_of_a_buzz_on_transmit_are_both_found() {
    all_of(97, "two causes, transmit", Hear::Transmit, |all| {
        pairs(&all, 40)
    });
}

#[test]
fn two_causes_of_a_hash_with_the_engine_off_are_both_found() {
    all_of(87, "two causes, engine off", Hear::EngineOff, |all| {
        pairs(&all, 5)
    });
}

/// The pump's return, drawn shared with the intercom's, and the strobe's with the landing light's.
#[test]
fn shared_returns_that_are_drawn_are_found() {
    let mut document = sorrel();
    intercom_returns_with_the_pump(&mut document);
    let noise = noise_of(&document);
    let shared = |unit: &str, other: &str| Cause {
        fault: Fault::Shared(unit.into(), other.into()),
        source: other.into(),
    };
    let ran = run(&document, &noise, Hear::EngineOff, &[shared("ic1", "m2")]);
    println!("shared with the pump: {} tests: {:?}", ran.tests, ran.told);
    assert!(
        ran.tests <= MOST_TESTS && ran.wrong.is_empty(),
        "{:?}",
        ran.told
    );
    let mut document = sorrel();
    wire(&mut document, "l2d18n").from = end("terminal:j201/p201-2");
    document.wires.remove("l2e18n");
    let noise = noise_of(&document);
    let ran = run(&document, &noise, Hear::Strobe, &[shared("lt1", "lt2")]);
    println!(
        "strobe with the landing light: {} tests: {:?}",
        ran.tests, ran.told
    );
    assert!(
        ran.tests <= MOST_TESTS && ran.wrong.is_empty(),
        "{:?}",
        ran.told
    );
}
