use super::*;
use crate::{rules::check, testing::document};

/// The fixes offered for the findings of a rule, and those not offered.
fn proved(document: &Document, rule: &str) -> Proved {
    let prover = Prover::new(document);
    let mut all = Proved::default();
    for finding in prover
        .verdict()
        .findings
        .iter()
        .filter(|it| it.rule == rule)
    {
        let proved = prover.fixes(finding);
        all.offered.extend(proved.offered);
        all.refused.extend(proved.refused);
    }
    assert!(
        !(all.offered.is_empty() && all.refused.is_empty()),
        "{rule} suggests nothing: {:#?}",
        prover
            .verdict()
            .findings
            .iter()
            .map(|it| &it.message)
            .collect::<Vec<_>>()
    );
    all
}

/// A rule suggests a fix with this title, and it is not offered for this reason.
#[track_caller]
fn refused(document: &Document, rule: &str, title: &str, because: &str) -> Proved {
    let proved = proved(document, rule);
    let found = proved.refused.iter().find(|it| it.title == title);
    let found = found.unwrap_or_else(|| panic!("{title:?} is not refused: {proved:#?}"));
    assert!(found.because.contains(because), "{found:#?}");
    assert!(
        proved.offered.iter().all(|it| it.fix.title != title),
        "{proved:#?}"
    );
    proved
}

fn titles(proved: &Proved) -> Vec<&str> {
    let offered = proved.offered.iter();
    offered.map(|it| it.fix.title.as_str()).collect()
}

/// A battery with its starter, and an alternator of 23 A behind a limiter.
const BACKBONE: &str = "
    battery BT1
    ground GB1 STUD T1 T2 T3
    contactor K1 BAT STR COIL+ COIL-
    switch S1 1-2
    load M1 - sort=motor peak=106
    alternator G1 23
    limiter FL1 50
    bus MBUS CB1=5 CB2=5
    load LT1 1 law=current
    wire P1 BT1.+ K1.BAT 2 0.3m rated=150
    wire P2 K1.STR M1.+ 2 0.9m rated=150
    wire P3N M1.- GB1.STUD 2 0.6m rated=150
    wire P4N BT1.- GB1.STUD 2 0.3m rated=150
    wire P5 G1.B FL1.1 8 1.1m rated=150
    wire P6 FL1.2 K1.BAT 8 0.3m rated=150
    wire P7N G1.CASE GB1.STUD 8 0.3m rated=150
    wire P8 BT1.+ MBUS.STUD 8 0.1m rated=150
    wire L1 MBUS.CB1 LT1.+ 22 1m rated=150
    wire L1N LT1.- GB1.T1 22 1m rated=150
    wire C1 K1.COIL+ S1.1 22 1m rated=150
    wire C2 S1.2 MBUS.CB2 22 1m rated=150
    wire C3N K1.COIL- GB1.T2 22 1m rated=150
    state CRUISE running";

/// 16 AWG allows 15 A, and the alternator sends 23 A through the limiter to an empty battery, whatever it sends
/// to a full one.
#[test]
fn a_limiter_is_not_made_smaller_than_its_alternator() {
    let thin = BACKBONE
        .replace("G1.B FL1.1 8", "G1.B FL1.1 16")
        .replace("FL1.2 K1.BAT 8", "FL1.2 K1.BAT 16");
    let proved = refused(
        &document(&thin),
        "protector-over-wire",
        "Make FL1 15 A",
        "FL1 would be 15 A, and it has to carry up to 23.0 A",
    );
    assert!(
        titles(&proved).contains(&"Make its wires 8 AWG"),
        "{proved:#?}"
    );
}

/// What loses little in a starter's return may still be far too thin for what goes through it: 106 A.
#[test]
fn the_return_of_a_starter_gets_a_size_that_starts_it() {
    let thin = document(&BACKBONE.replace("M1.- GB1.STUD 2", "M1.- GB1.STUD 18"));
    let proved = proved(&thin, "drop-over-limit");
    for Offer { fix, .. } in &proved.offered {
        let after = fix.change.applied(&thin).expect("it was made for this");
        let size = after.wires["P3N"].gauge_awg;
        assert!(size.is_some_and(|it| it.0 <= 6), "{:?}", fix.title);
    }
    assert!(!proved.offered.is_empty(), "{proved:#?}");
    let finding = check(&thin)
        .findings
        .into_iter()
        .find(|it| it.rule == "drop-over-limit");
    let finding = finding.expect("it loses over a volt");
    let prover = Prover::new(&thin);
    let ten = Facts::new(&thin).change_wire(&"P3N".into(), |wire| {
        wire.gauge_awg = Some(crate::units::Gauge(10));
    });
    let because = prover.against(&finding, &ten).expect("10 AWG is refused");
    assert!(because.contains("too much for 10 AWG"), "{because}");
}

#[test]
fn no_small_fuse_goes_into_the_battery_main() {
    let thin = BACKBONE.replace("BT1.+ K1.BAT 2", "BT1.+ K1.BAT 22");
    let thin = document(&thin.replace(
        "load M1 - sort=motor peak=106",
        "load M1 - sort=motor peak=40",
    ));
    let proved = refused(
        &thin,
        "unprotected-wire",
        "Put a 5 A fuse in P1 at BT1 +",
        "it has to carry up to",
    );
    assert!(
        titles(&proved).iter().all(|it| !it.contains("in P1")),
        "{proved:#?}"
    );
}

/// A wire of the essential bus on the pin of a dimmer: a splice would make that permanent.
const DIMMER: &str = "
    battery BT1
    bus EBUS CB1=3 CB2=3
    ground GB1 STUD T1 T2
    switch DIM1 1-2
    fits DIM1.2 1
    load LT9 0.5
    load COM1 0.5
    wire A BT1.+ EBUS.STUD 8 0.1m
    wire L9A EBUS.CB1 DIM1.1 22 1m
    wire L9B DIM1.2 LT9.+ 22 1m
    wire L9N LT9.- GB1.T1 22 1m
    wire P2N COM1.- GB1.T2 22 1m
    wire D GB1.STUD BT1.- 8 0.1m
    state CRUISE on=DIM1";

#[test]
fn no_splice_ties_a_bus_to_a_dimmer() {
    let mistaken = document(&format!("{DIMMER}\n wire P2 EBUS.CB2 DIM1.2 22 1m"));
    refused(
        &mistaken,
        "crowded-terminal",
        "Join them in a splice",
        "it would join supplies",
    );
    // Where one supply feeds two loads, a splice is right.
    let shared = document(&format!("{DIMMER}\n wire P2 COM1.+ DIM1.2 22 1m"));
    assert_eq!(
        titles(&proved(&shared, "crowded-terminal")),
        ["Join them in a splice"]
    );
}

/// The phones hear through the shield: it is their only low.
#[test]
fn a_shield_that_is_the_only_low_stays_tied() {
    let text = "
        unit IC1 4:audio_low:AUDIO_LOW 7:audio_high:PHONES 8:shield_tie
        jack JK1 phones isolated
        jack JK2 phones isolated
        wire A1 IC1.7 JK1.tip 22 1m
        wire A2 JK1.sleeve JK2.sleeve 22 1m
        cable A1C A1 A2 shield IC1.4 JK1.sleeve
        fits JK1.sleeve 2";
    refused(
        &document(text),
        "shield-both-ends",
        "Float the shield of A1C at JK1 sleeve",
        "would lose its only low",
    );
    // With its own low the shield may float.
    let sound =
        format!("{text}\n wire A3 IC1.4 JK1.sleeve 22 1m\n fits JK1.sleeve 3\n fits IC1.4 2")
            .replace("cable A1C A1 A2 shield", "cable A1C A1 A3 shield");
    let sound = sound.replace("cable A1C A1 A3 shield IC1.4 JK1.sleeve", "")
        + "\n cable A1C A1 A3 shield IC1.8 JK1.sleeve";
    let proved = proved(&document(&sound), "shield-both-ends");
    assert!(!proved.offered.is_empty(), "{proved:#?}");
}

/// Two ignitions on one breaker of 3 A: a larger one would leave them on one breaker.
#[test]
fn a_breaker_is_not_made_larger_for_both_ignitions() {
    let text = "
        battery BT1
        bus MBUS CB7=3
        ground GB1 STUD T1 T2
        load IGN1 2
        load IGN2 2
        wire A BT1.+ MBUS.STUD 8 0.1m
        wire J1 MBUS.CB7 IGN1.+ 22 1m
        wire J2 MBUS.CB7 IGN2.+ 22 1m
        wire J1N IGN1.- GB1.T1 22 1m
        wire J2N IGN2.- GB1.T2 22 1m
        wire D GB1.STUD BT1.- 8 0.1m
        fits MBUS.CB7 2
        state CRUISE";
    let mut both = document(text);
    for tag in ["IGN1", "IGN2"] {
        both.devices.get_mut(tag).expect("it").title = "Electronic ignition".into();
    }
    refused(
        &both,
        "protector-under-load",
        "Make MBUS CB7 7.5 A and its wires 20 AWG",
        "it keeps IGN1 and IGN2 on MBUS CB7",
    );
    for tag in ["IGN1", "IGN2"] {
        both.devices.get_mut(tag).expect("it").title = format!("Unit {tag}");
    }
    assert_eq!(
        titles(&proved(&both, "protector-under-load")),
        ["Make MBUS CB7 7.5 A and its wires 20 AWG"]
    );
    let apart = document(&text.replace("load IGN1 2", "load IGN1 2 apart=IGN2"));
    refused(
        &apart,
        "protector-under-load",
        "Make MBUS CB7 7.5 A and its wires 20 AWG",
        "where one failure stops both",
    );
}

#[test]
fn a_fix_that_leaves_its_finding_is_refused() {
    let document = document(BACKBONE);
    let prover = Prover::new(&document);
    let finding = prover.verdict().findings.first().expect("the lead to MBUS");
    assert_eq!(
        prover.against(finding, &Change::default()).as_deref(),
        Some("the finding stays")
    );
    assert_eq!(proved_fixes(&document, finding), prover.fixes(finding));
}
