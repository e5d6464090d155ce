//! The noise of the two invented aircraft, sound and with seeded faults.

use loomwright_core::{
    analysis::{failures::usual_state, loops::LoopKind},
    document::Document,
    edit::{self, Record},
    exchange,
    netlist::EdgeOf,
    noise::{Hear, Noise, Outcome, Settings, Suspect, names, results, suspects},
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

#[test]
fn a_test_that_was_made_is_kept_and_moves_its_suspect() {
    let mut document = sorrel();
    intercom_returns_with_the_pump(&mut document);
    let noise = noise(&document);
    let all = suspects(&document, &noise, Hear::Whine);
    assert!(all.len() > 1 && all.iter().all(|it| it.outcome.is_none()));
    let mut keep = |suspect: &Suspect, outcome| {
        let (date, who) = ("2026-11-27".into(), "Ada".into());
        let entry = results::entry(Hear::Whine, suspect, outcome, date, who);
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
    let last = after.last().expect("several");
    assert_eq!(
        (&last.what, last.outcome),
        (&all[0].what, Some(Outcome::Same))
    );
    // What was found for one noise says nothing of another.
    let others = suspects(&document, &noise, Hear::Charging);
    assert!(others.iter().all(|it| it.outcome.is_none()));
    let text = reports::noise::to_text(&document, &noise, Some(Hear::Whine));
    assert!(text.contains("found: the noise stayed the same (Ada, 2026-11-27)"));
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
