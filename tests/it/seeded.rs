//! The seeded faults of the two invented aircraft. Each is a small edit on a sample; it must give its
//! own finding on its own record and nothing else, and without it the aircraft must be sound.

use std::collections::BTreeSet;

use loomwright_core::{
    analysis::{endurance, load_analysis},
    document::{
        AfterAlternator, ConductorKind, Document, ElementKind, End, Extra, InlineFuse, Route,
        ShieldEnd, Splice, Wire,
    },
    rules::{self, Finding, Level, Verdict},
    units::Gauge,
};

use crate::samples::{sorrel, teasel};

/// Findings as "rule kind:id" of the record they are about.
pub fn findings(document: &Document, wanted: fn(&Finding) -> bool) -> BTreeSet<String> {
    let verdict = rules::check(document);
    comes_back(&verdict);
    verdict
        .findings
        .iter()
        .filter(|it| wanted(it))
        .map(name)
        .collect()
}

/// A verdict goes from the worker to the page as words; all but its mends must come back.
pub fn comes_back(verdict: &Verdict) {
    let mut bare = verdict.clone();
    bare.findings.iter_mut().for_each(|it| it.mends.clear());
    assert!(Verdict::from_words(&verdict.to_words()) == Some(bare));
}

fn name(finding: &Finding) -> String {
    let at = &finding.at[0];
    format!("{} {}:{}", finding.rule, at.kind, at.id)
}

/// Seeds a fault and holds what is new against what should be. An accepted finding that the fault
/// opens again, because its figures or records changed, is not new. Gives back all open findings.
fn seed(
    sound: &Document,
    fault: impl FnOnce(&mut Document),
    expected: &[&str],
) -> BTreeSet<String> {
    let mut seeded = sound.clone();
    fault(&mut seeded);
    assert_ne!(&seeded, sound, "the edit changed nothing");
    let before = findings(sound, |_| true);
    let open = findings(&seeded, |it| it.accepted.is_none());
    let new: BTreeSet<String> = open.difference(&before).cloned().collect();
    let expected: BTreeSet<String> = expected.iter().map(ToString::to_string).collect();
    assert_eq!(new, expected);
    open
}

pub fn wire<'d>(document: &'d mut Document, id: &str) -> &'d mut Wire {
    document.wires.get_mut(id).expect("a wire of the sample")
}

pub fn end(text: &str) -> End {
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
    assert_eq!(names, ["drop-over-limit element:lt1/load"]);
    // 3.6 A through 225 mΩ is 0.81 V; at constant power the current rises as the voltage falls.
    let measured = open[0].measured.expect("a drop has a value");
    assert!((0.78..0.92).contains(&measured), "{measured} V");
    assert_eq!(open[0].limit, Some(0.5));
}

fn cable_end<'d>(document: &'d mut Document, cable: &str, from: bool) -> &'d mut ShieldEnd {
    let cable = document
        .cables
        .get_mut(cable)
        .expect("a cable of the sample");
    let shield = cable.shield.as_mut().expect("it is shielded");
    if from {
        &mut shield.from
    } else {
        &mut shield.to
    }
}

fn tied(at: &str) -> ShieldEnd {
    ShieldEnd::Tied {
        at: end(at),
        pigtail_mm: None,
        extra: Extra::new(),
    }
}

pub fn element<'d>(document: &'d mut Document, device: &str, id: &str) -> &'d mut ElementKind {
    let device = document
        .devices
        .get_mut(device)
        .expect("a device of the sample");
    let element = device.elements.iter_mut().find(|it| it.id.as_str() == id);
    &mut element.expect("an element of the device").is
}

/// A-F1.
pub fn jack_without_its_washer(it: &mut Document) {
    if let ElementKind::Jack(jack) = element(it, "jk8", "jack") {
        jack.isolated = Some(false);
    }
}

#[test]
fn a_f1_jack_without_its_washer() {
    seed(
        &teasel(),
        jack_without_its_washer,
        &["jack-on-structure device:jk8"],
    );
}

/// A-F2.
pub fn shield_tied_at_the_jack(it: &mut Document) {
    // A tab that takes two, so that the tie is the only thing wrong.
    let jack = it.devices.get_mut("jk8").expect("a jack of the sample");
    jack.terminals
        .iter_mut()
        .for_each(|terminal| terminal.fits = Some(2));
    *cable_end(it, "a13b", false) = tied("terminal:jk8/sleeve");
}

#[test]
fn a_f2_shield_also_tied_at_the_jack() {
    seed(
        &teasel(),
        shield_tied_at_the_jack,
        &["shield-both-ends cable:a13b"],
    );
}

#[test]
fn a_f3_bare_tip() {
    seed(
        &teasel(),
        |it| {
            let jack = it.devices.get_mut("jk6").expect("a jack of the sample");
            jack.terminals
                .iter_mut()
                .for_each(|terminal| terminal.covered = false);
        },
        &["uncovered-jack-terminal terminal:jk6/tip"],
    );
}

/// The port's return goes over the spare pin of the audio connector to the intercom's audio ground,
/// instead of to the power ground. The drop over 22 AWG and the lift of the intercom's ground follow.
#[test]
fn a_f4_port_returns_through_the_audio_ground() {
    seed(
        &teasel(),
        |it| {
            wire(it, "p30c18n").to = end("terminal:j310/p310-8");
            let mut stray = it.wires["l10e22n"].clone();
            stray.number = "A14A22".into();
            stray.from = end("terminal:j310/j310-8");
            stray.to = end("terminal:ic1/j112-8");
            stray.length_m = Some(2.6);
            stray.function = "PORT RETURN".into();
            it.wires.insert("a14a22".into(), stray);
            it.wires.remove("p30d18n");
        },
        &[
            "audio-low-on-return wire:p30c18n",
            "drop-over-limit element:usb2/load",
            "shared-return element:ic1/load",
        ],
    );
}

#[test]
fn a_f5_cores_swapped_at_one_end() {
    seed(
        &teasel(),
        |it| {
            let hi = it.wires["a11-1"].to.clone();
            wire(it, "a11-1").to = it.wires["a11-2"].to.clone();
            wire(it, "a11-2").to = hi;
        },
        &[
            "pin-mismatch wire:a11-2",
            "pin-of-another wire:a11-1",
            "swapped-cores cable:a11",
        ],
    );
}

/// Shedding the main bus then leaves the port on, which takes a third of the minutes.
#[test]
fn a_f6_port_on_the_essential_bus() {
    let mut document = teasel();
    let left = |document: &Document| {
        let endurance = endurance(document);
        let shed = endurance.case(AfterAlternator::MainBusShed);
        shed.and_then(|case| case.minutes).expect("it ends")
    };
    let before_min = left(&document);
    seed(
        &document,
        |it| wire(it, "p30a18").from = end("terminal:ebus/cb16"),
        // The breaker that it leaves is free, and its neighbor serves two lights.
        &[
            "load-left-on element:usb2/load",
            "two-on-one-breaker element:mbus/cb14",
        ],
    );
    wire(&mut document, "p30a18").from = end("terminal:ebus/cb16");
    let share = left(&document) / before_min;
    // 6.3 A of 8.8 A by the stated figures.
    assert!((share - 6.3 / 8.8).abs() < 0.02, "{share}");
}

/// Nothing sheds it while the pilot does nothing: under an hour, as its sheet says.
#[test]
fn sorrel_tells_what_happens_if_the_pilot_does_nothing() {
    let verdict = rules::check(&sorrel());
    let mut found = verdict.findings.iter();
    let found = found.find(|it| it.rule == "short-endurance");
    let found = found.expect("37 minutes of 60");
    assert_eq!((found.level, found.limit), (Level::Note, Some(60.0)));
}

/// 6.6 m of 20 AWG is 214 mΩ: 0.53 V at 2.50 A (computed).
#[test]
fn a_f7_port_on_a_thinner_wire() {
    seed(
        &teasel(),
        |it| {
            for id in ["p30a18", "p30b18", "p30c18n", "p30d18n"] {
                wire(it, id).gauge_awg = Some(Gauge(20));
            }
        },
        &["drop-over-limit element:usb2/load"],
    );
}

#[test]
fn a_f8_charging_wires_in_the_route_of_the_mic_cables() {
    let mut sound = teasel();
    for title in ["roof, left", "roof, right"] {
        let route = Route {
            title: title.into(),
            from: "panel".into(),
            to: "overhead".into(),
            length_m: Some(2.6),
            origins: loomwright_core::document::Origins::default(),
            extra: Extra::new(),
        };
        sound.routes.insert(title.into(), route);
    }
    let lead = |it: &mut Document, wires: &[&str], route: &str| {
        for id in wires {
            wire(it, id).route = vec![route.into()];
        }
    };
    lead(
        &mut sound,
        &["a11-1", "a11-2", "a13-1", "a13-2"],
        "roof, left",
    );
    lead(&mut sound, &["p30a18", "p30d18n"], "roof, right");
    let open = seed(
        &sound,
        |it| lead(it, &["p30a18", "p30d18n"], "roof, left"),
        &["noisy-beside-audio device:usb2"],
    );
    assert!(open.contains("noisy-beside-audio device:usb2"));
}

#[test]
fn a_f9_shield_not_carried_through_the_connector() {
    seed(
        &teasel(),
        |it| *cable_end(it, "a10b", true) = ShieldEnd::Floating,
        &["shield-nowhere cable:a10b"],
    );
}

#[test]
fn a_f10_breaker_larger_than_its_wire() {
    seed(
        &teasel(),
        |it| {
            if let ElementKind::Protector(breaker) = element(it, "mbus", "cb13") {
                breaker.rating_a = Some(15.0);
            }
        },
        &["protector-over-wire element:mbus/cb13"],
    );
}

#[test]
fn b_f1_feeder_without_its_limiter() {
    // The short stretch before the limiter was accepted; the whole feeder opens that again.
    let open = seed(
        &sorrel(),
        |it| {
            it.devices.remove("fl2");
            it.accepted.remove("fl2-p8");
            it.wires.remove("p7b6");
            let feeder = wire(it, "p7a6");
            feeder.to = end("terminal:mbus/stud");
            feeder.length_m = Some(1.35);
        },
        &[],
    );
    assert!(open.contains("unprotected-wire wire:p7a6"), "{open:?}");
}

#[test]
fn b_f2_alternate_feed_without_its_fuse() {
    seed(
        &sorrel(),
        |it| wire(it, "p9b16").from = end("terminal:hbus/stud"),
        &[
            "protector-over-wire element:fl1/link",
            "unprotected-wire wire:p9b16",
            "unused-acceptance accepted:f3-alternate-feed",
        ],
    );
}

#[test]
fn b_f3_thin_wire_on_a_large_breaker() {
    seed(
        &sorrel(),
        |it| wire(it, "c2a22").from = end("terminal:mbus/cb4"),
        &["protector-over-wire element:mbus/cb4"],
    );
}

/// With the main bus shed the alternate feed then feeds it backwards, and everything on it stays on.
#[test]
fn b_f4_steering_diode_reversed() {
    seed(
        &sorrel(),
        |it| {
            wire(it, "p8a12").to = end("terminal:d1/k");
            wire(it, "p8b12").from = end("terminal:d1/a");
        },
        &[
            "bus-without-source device:ebus",
            "load-left-on element:ap1/load",
            "load-left-on element:ap2/load",
            "load-left-on element:md1/load",
            "load-left-on element:usb1/load",
        ],
    );
}

/// 120 Ω are left between the lines instead of 60.
#[test]
fn b_f5_terminator_missing() {
    seed(
        &sorrel(),
        |it| {
            let servo = it.devices.get_mut("ap1").expect("a servo of the sample");
            servo
                .elements
                .retain(|element| element.id.as_str() != "terminator");
        },
        &["can-not-terminated terminal:ap1/j108-2"],
    );
}

#[test]
fn b_f6_output_on_output() {
    seed(
        &sorrel(),
        |it| {
            let rx = it.wires["db2-1"].to.clone();
            wire(it, "db2-1").to = it.wires["db2-2"].to.clone();
            wire(it, "db2-2").to = rx;
        },
        &["serial-outputs wire:db2-1"],
    );
}

#[test]
fn b_f7_cross_jumper_of_the_flap_switch_missing() {
    let open = seed(
        &sorrel(),
        |it| {
            it.wires.remove("c1f16");
        },
        &["motor-one-way element:m3/motor"],
    );
    assert!(open.contains("motor-one-way element:m3/motor"));
}

#[test]
fn b_f8_sense_wires_without_their_fuses() {
    let fuse = Some(InlineFuse {
        at: loomwright_core::document::WireEnd::From,
        rating_a: Some(1.0),
        origins: loomwright_core::document::Origins::default(),
        extra: Extra::new(),
    });
    let sound = sorrel();
    assert_eq!(
        (&sound.wires["p13a22"].fuse, &sound.wires["p13b22"].fuse),
        (&fuse, &fuse)
    );
    seed(
        &sound,
        |it| {
            wire(it, "p13a22").fuse = None;
            wire(it, "p13b22").fuse = None;
        },
        &[
            "protector-over-wire element:fl1/link",
            "unprotected-wire wire:p13a22",
            "unprotected-wire wire:p13b22",
        ],
    );
}

/// B-F10.
pub fn intercom_returns_with_the_pump(it: &mut Document) {
    it.splices.insert(
        "spx".into(),
        Splice {
            label: "SPX".into(),
            place: None,
            ohm: None,
            extra: Extra::new(),
        },
    );
    let mut shared = it.wires["q1c18n"].clone();
    shared.number = "Q1D18N".into();
    shared.from = end("splice:spx");
    shared.length_m = Some(0.6);
    it.wires.insert("q1d18n".into(), shared);
    wire(it, "q1c18n").to = end("splice:spx");
    wire(it, "r5b22n").to = end("splice:spx");
}

#[test]
fn b_f9_magneto_leads_exchanged_at_their_switch() {
    seed(
        &sorrel(),
        |it| {
            wire(it, "k1a18").to = end("terminal:s10/r");
            wire(it, "k2a18").to = end("terminal:s10/l");
        },
        &["magneto-switch wire:k1a18", "pin-of-another wire:k2a18"],
    );
}

/// The intercom leaves the avionics ground for the pump's block.
/// 0.6 m of 18 AWG is 12.3 mΩ; 3.8 A of the pump lift the intercom's ground by 47 mV (computed).
#[test]
fn b_f10_intercom_returns_with_the_pump() {
    seed(
        &sorrel(),
        intercom_returns_with_the_pump,
        &[
            "avionics-return-elsewhere terminal:ic1/j107-14",
            "shared-return element:ic1/load",
        ],
    );
}

#[test]
fn b_f11_two_wires_in_one_contact() {
    seed(
        &sorrel(),
        |it| {
            let mut second = it.wires["d1b20n"].clone();
            second.number = "D1C20N".into();
            second.to = end("terminal:gb2/t10");
            it.wires.insert("d1c20n".into(), second);
        },
        &["crowded-terminal terminal:fd1/j101-14"],
    );
}

#[test]
fn b_f12_thermocouple_goes_on_in_copper_behind_the_firewall() {
    seed(
        &sorrel(),
        |it| {
            for (id, label) in [("tc3-1", "SP1"), ("tc3-2", "SP2")] {
                let splice = Splice {
                    label: label.into(),
                    place: Some("fw1".into()),
                    ohm: None,
                    extra: Extra::new(),
                };
                it.splices.insert(label.into(), splice);
                let pair = wire(it, id);
                let mut copper = pair.clone();
                pair.to = End::Splice(label.into());
                copper.number += "B";
                copper.from = End::Splice(label.into());
                copper.conductor = ConductorKind::Copper;
                (copper.via, copper.insulation_c) = (Vec::new(), Some(150.0));
                it.wires.insert(format!("{id}b").as_str().into(), copper);
            }
        },
        &[
            "thermocouple-material wire:tc3-1b",
            "thermocouple-material wire:tc3-2b",
        ],
    );
}

/// Each way in which the alternator gives nothing, on both samples: a fault that names the phases, and no
/// share of it stated in any of them.
#[test]
fn an_alternator_that_gives_nothing_is_a_fault_and_no_share_of_it_is_stated() {
    type Edit = fn(&mut Document);
    let field_off = |it: &mut Document| {
        for state in it.states.values_mut() {
            state.switches.insert("s1/switch".into(), 1);
        }
    };
    let edits: [(&str, Edit); 5] = [
        ("nothing joins", |it| drop(it.wires.remove("p5a2n"))),
        ("it has no place", |it| {
            it.devices.get_mut("g1").expect("the alternator").place = None;
        }),
        ("nothing is wired to G1 B", |it| {
            it.wires.retain(|_, wire| {
                [&wire.from, &wire.to]
                    .iter()
                    .all(|end| end.to_string() != "terminal:g1/b")
            });
        }),
        ("its field, is off: S1", field_off),
        ("its field, is fed by nothing", |it| {
            it.wires.retain(|_, wire| {
                [&wire.from, &wire.to]
                    .iter()
                    .all(|end| end.to_string() != "terminal:g1/fld")
            });
        }),
    ];
    for sound in [sorrel(), teasel()] {
        let rule = "alternator-gives-nothing";
        let verdict = rules::check(&sound);
        assert!(verdict.findings.iter().all(|it| it.rule != rule));
        for (words, edit) in edits {
            let mut seeded = sound.clone();
            edit(&mut seeded);
            assert!(seeded != sound, "{words}: the edit changed nothing");
            let verdict = rules::check(&seeded);
            comes_back(&verdict);
            let found = verdict.findings.iter().find(|it| it.rule == rule);
            let found = found.unwrap_or_else(|| panic!("{words}: nothing found"));
            assert_eq!(found.level, Level::Fault);
            assert!(found.message.contains(words), "{}", found.message);
            for phase in &load_analysis(&seeded).phases {
                let counts_on_it = seeded.states[&phase.state].alternators_on;
                let named = found.message.contains(&format!("\"{}\"", phase.title));
                assert_eq!(named, counts_on_it, "{}: {}", phase.title, found.message);
                assert_eq!(phase.percent(10.0), None, "{words}: {}", phase.title);
            }
        }
    }
}
