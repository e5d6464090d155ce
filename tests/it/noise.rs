//! The noise of the two invented aircraft, sound and with seeded faults.

use loomwright_core::{
    analysis::{failures::usual_state, loops::LoopKind},
    document::{Document, End, Extra, LogEntry, LogKind, Test, TestResult},
    edit::{self, Record},
    exchange,
    netlist::EdgeOf,
    noise::{Answer, Hear, Noise, Outcome, Settings, Step, Suspect, hunt, names, results},
    reports,
    solve::{Figures, operate},
};

use crate::{
    samples::{sorrel, teasel},
    seeded::{
        end, intercom_returns_with_the_pump, jack_without_its_washer, shield_tied_at_the_jack, wire,
    },
};

fn noise(document: &Document) -> Noise {
    let (id, state) = usual_state(document).expect("a state");
    let point = operate(document, id, state, Figures::Continuous);
    Noise::new(document, point, Settings::default())
}

fn seeded(mut document: Document, fault: impl FnOnce(&mut Document)) -> (Document, Noise) {
    fault(&mut document);
    let noise = noise(&document);
    (document, noise)
}

fn suspects(document: &Document, noise: &Noise, hear: Hear) -> Vec<Suspect> {
    hunt(document, noise, hear, &[]).suspects
}

fn first(document: &Document, noise: &Noise, hear: Hear) -> Suspect {
    let all = suspects(document, noise, hear);
    all.into_iter().next().expect("a suspect")
}

#[test]
fn the_sound_aircraft_have_no_audio_loop_and_no_shared_return() {
    for document in [sorrel(), teasel()] {
        let noise = noise(&document);
        assert!(!noise.found.iter().any(|it| it.audio), "{:?}", noise.found);
        assert_eq!(noise.shared, []);
        assert!(!noise.drives.is_empty());
        assert!(!noise.supplies.is_empty());
    }
}

#[test]
fn a_f1_the_jack_closes_a_loop_through_the_airframe() {
    let (document, noise) = seeded(teasel(), jack_without_its_washer);
    let [found] = &noise.found[..] else {
        panic!("one loop, not {:?}", noise.found)
    };
    assert_eq!(found.finding.kind, LoopKind::Structure);
    let way = names::way(&document, &noise, found);
    for part in [
        "A13-2",
        "A13B-2",
        "IC1",
        "the body of JK8",
        "the bond of Overhead plate",
    ] {
        assert!(way.contains(part), "no {part} in {way}");
    }
    // The ripple of 3600 Hz is driven by inductance that a resistive answer leaves out.
    let suspect = first(&document, &noise, Hear::Whine);
    assert!(suspect.what.contains("JK8") && !suspect.resistive_only);
    assert!(suspect.test.contains("the body of JK8"), "{}", suspect.test);
    let whine = found.effects.iter().find(|it| !it.resistive_only);
    let whine = whine.expect("the alternator runs");
    assert!(whine.volts > 3.0 * whine.resistive_v, "{whine:?}");
    // Transmitting and one seat lead to the same jack.
    for hear in [Hear::Transmit, Hear::OneSeat] {
        assert!(first(&document, &noise, hear).what.contains("JK8"));
    }
}

#[test]
fn a_f2_the_shield_closes_a_local_loop_that_only_picks_up() {
    let (document, noise) = seeded(teasel(), shield_tied_at_the_jack);
    let [found] = &noise.found[..] else {
        panic!("one loop, not {:?}", noise.found)
    };
    assert_eq!(found.finding.kind, LoopKind::Local);
    assert_eq!(found.effects, []);
    assert!(found.pickup_v.is_some_and(|volts| volts > 0.0));
    let suspect = first(&document, &noise, Hear::OneSeat);
    assert!(
        suspect.test.contains("the shield's end of A13B at JK8"),
        "{}",
        suspect.test
    );
}

/// 0.6 m of 18 AWG is 12.3 mΩ; 3.8 A of the pump make 47 mV (computed).
#[test]
fn b_f10_the_pump_lifts_the_ground_of_the_intercom() {
    let (document, noise) = seeded(sorrel(), intercom_returns_with_the_pump);
    let shared = &noise.shared[0];
    assert!(shared.audio);
    assert!((shared.other_v * 1e3 - 47.0).abs() < 0.7, "{shared:?}");
    let netlist = noise.point.netlist();
    let name = |of: &EdgeOf| names::name(&document, of);
    assert_eq!(name(netlist.of(shared.wire)), "Q1D18N");
    assert_eq!(name(netlist.of(shared.disturbed)), "IC1");
}

/// The strobe's 0.5 A over its steady current, through 3.7 m of 18 AWG at 20.4 mΩ/m: 38 mV (computed).
#[test]
fn b_f13_the_strobe_returns_with_the_landing_light() {
    let (document, noise) = seeded(sorrel(), |it| {
        wire(it, "l2d18n").from = end("terminal:j201/p201-2");
        it.wires.remove("l2e18n");
    });
    let suspect = first(&document, &noise, Hear::Strobe);
    assert!(
        suspect.what.contains("LT1, LT2") && suspect.what.contains("L1E18N"),
        "{}",
        suspect.what
    );
    let mv = suspect.volts.expect("a figure") * 1e3;
    assert!((mv - 37.8).abs() < 0.5, "{mv}");
    assert!(suspect.resistive_only);
}

/// As programs before the hunt wrote it: a suspect by its words.
#[test]
fn a_test_in_an_older_file_still_counts() {
    let mut document = sorrel();
    intercom_returns_with_the_pump(&mut document);
    let noise = noise(&document);
    let all = suspects(&document, &noise, Hear::Whine);
    assert!(all.len() > 1 && all.iter().all(|it| it.outcome.is_none()));
    let mut keep = |suspect: &Suspect, outcome: Outcome| {
        let entry = LogEntry {
            date: "2026-11-27".into(),
            who: "Ada".into(),
            kind: LogKind::Test,
            text: "Heard: a whine that follows the engine's speed".into(),
            hours: None,
            results: vec![TestResult {
                what: suspect.what.clone(),
                expected: suspect.test.clone(),
                measured: outcome.words().into(),
                passed: outcome == Outcome::Same,
                step: Vec::new(),
                answer: Vec::new(),
                extra: Extra::new(),
            }],
            extra: Extra::new(),
        };
        let change = edit::add_record(&document, Record::Log(entry)).expect("a sound entry");
        change.apply(&mut document).expect("nothing came between");
    };
    keep(&all[0], Outcome::Same);
    keep(all.last().expect("several"), Outcome::Changed);
    let saved = exchange::save(&document);
    let document = exchange::open(&saved).expect("it opens").document;
    let after = suspects(&document, &noise, Hear::Whine);
    assert_eq!(after[0].what, all[all.len() - 1].what);
    assert_eq!(after[0].outcome, Some(Outcome::Changed));
    let cleared = after.iter().find(|it| it.what == all[0].what);
    let cleared = cleared.expect("it stays on the list");
    assert_eq!(cleared.outcome, Some(Outcome::Same));
    assert!(cleared.likely < 0.02, "{}", cleared.likely);
    // What was found for one noise says nothing of another.
    let others = suspects(&document, &noise, Hear::Charging);
    assert!(others.iter().all(|it| it.outcome.is_none()));
    let text = reports::noise::to_text(&document, &noise, Some((Hear::Whine, &[])));
    assert!(text.contains("found: the noise stayed the same (Ada, 2026-11-27)"));
}

#[test]
fn an_answer_is_kept_and_counts_though_labels_change() {
    let mut document = teasel();
    let noise = noise(&document);
    let given = (Step::Clear(vec!["jk8".into()]), Answer::Gone);
    let with = hunt(&document, &noise, Hear::Whine, std::slice::from_ref(&given));
    let told = with.answers[0].1.clone();
    let when = ("2026-11-27".into(), "Ada".into());
    let entry = results::entry(&document, Hear::Whine, (&given.0, &given.1), told, when);
    let change = edit::add_record(&document, Record::Log(entry)).expect("a sound entry");
    change.apply(&mut document).expect("nothing came between");
    let saved = exchange::save(&document);
    let mut document = exchange::open(&saved).expect("it opens").document;
    document.devices.get_mut("jk8").expect("a jack").tag = "MIC4".into();
    let after = hunt(&document, &noise, Hear::Whine, &[]);
    assert!(
        after.suspects[0].what.starts_with("MIC4"),
        "{}",
        after.suspects[0].what
    );
    assert_eq!(after.answers.len(), 1);
    assert!(
        after.next.is_none_or(|it| it.step != given.0),
        "asked again"
    );
    assert_eq!(hunt(&document, &noise, Hear::Strobe, &[]).answers, []);
}

/// 0.3 ohm from the barrel of a jack to the plate makes it first; 1 Mohm clears it.
#[test]
fn a_reading_of_the_ring_out_sheet_counts() {
    let document = teasel();
    let noise = noise(&document);
    let read = |typed: &str| {
        let mut document = document.clone();
        let (from, to) = (
            End::terminal("jk6", "sleeve"),
            End::Structure("overhead".into()),
        );
        let which = (Test::Isolation, &from, &to, None);
        let change = edit::put_reading(&document, which, typed, "Ada", "2026-11-27");
        change
            .expect("a reading")
            .apply(&mut document)
            .expect("made for it");
        let all = suspects(&document, &noise, Hear::Whine);
        let at = all.iter().position(|it| it.what.starts_with("JK6"));
        let at = at.expect("it stays on the list");
        (at, all[at].likely)
    };
    let before = suspects(&document, &noise, Hear::Whine);
    let before = before.iter().find(|it| it.what.starts_with("JK6"));
    let before = before.expect("a suspect").likely;
    let (at, likely) = read("0.3");
    assert!(at == 0 && likely > 0.9, "{at}: {likely}");
    let (_, likely) = read("1M");
    assert!(likely < before / 50.0, "{before} to {likely}");
    // What is neither says nothing.
    assert!((read("5k").1 - before).abs() < 1e-12);
}

/// Front quiet, rear noisy: two causes, or the part that both do not share; nothing is dropped.
#[test]
fn a_partial_answer_drops_nothing() {
    let document = teasel();
    let noise = noise(&document);
    let before = suspects(&document, &noise, Hear::Whine);
    let given = [(
        Step::OwnBattery("ic1".into()),
        Answer::These(vec!["jk5".into()]),
    )];
    let after = hunt(&document, &noise, Hear::Whine, &given);
    assert_eq!(after.suspects.len(), before.len());
    assert!(
        after.says.iter().any(|it| it.contains("two causes")),
        "{:?}",
        after.says
    );
    // What is heard at the noisy seat alone stays, and no single suspect is blamed for both.
    let at_jk7 = after
        .suspects
        .iter()
        .find(|it| it.what.contains("headset at JK7"));
    assert!(at_jk7.is_some_and(|it| it.likely > 0.05), "{at_jk7:?}");
    assert!(after.next.is_some());
}

/// The path from the barrel to metal, not the loop: the contact and one bond of 2.5 mΩ each (AC 43.13-1B par
/// 11-188f), and what the wiring alone reads.
#[test]
fn ohms_at_a_barrel_are_those_of_the_path() {
    let document = teasel();
    let noise = noise(&document);
    let all = suspects(&document, &noise, Hear::Whine);
    let jack = all
        .iter()
        .find(|it| it.what.starts_with("JK8"))
        .expect("a suspect");
    for words in [
        "Right: open",
        "about 5.0 mΩ",
        "the bond of Overhead plate",
        "plug pulled",
        "A13B-2",
        "R4B22N",
    ] {
        assert!(jack.meter.contains(words), "no {words:?} in {}", jack.meter);
    }
}

#[test]
fn the_projects_own_figures_stand_in_for_the_assumed() {
    let mut document = teasel();
    let figures = document.project.noise.get_or_insert_default();
    (figures.engine_rpm, figures.pole_pairs) = (Some(1200.0), Some(7.0));
    let settings = Settings::of(&document.project);
    // Six pulses for each pair of poles and turn: 6 x 7 x 1200 x 2.5 / 60.
    assert!((settings.ripple_hz() - 2100.0).abs() < 1e-9);
    assert_eq!(settings.ripple_a, Settings::default().ripple_a);
}
