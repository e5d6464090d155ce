//! Loads by bus and phase, checked against hand-computed figures.

use super::*;
use crate::testing::document;

/// A stiff source: terminal voltages stay close to 14.2 V.
const PLAIN: &str = "
    alternator G1 40
    battery BT1 ah=16
    bus MBUS CB1=5 CB2=5 CB3=5
    bus EBUS CB4=5
    contactor K1 BAT LOAD COIL+ COIL-
    switch S1 1-2
    load X 2 cutoff=10 intermittent=6 peak=8
    load Y 2 law=resistance estimate
    load Z 1 law=current
    load C - intermittent=3 law=current
    wire B BT1.+ K1.BAT 2 0.01m
    wire K K1.LOAD MBUS.STUD 2 0.01m
    wire KC BT1.+ K1.COIL+ 2 0.01m
    wire KS K1.COIL- S1.1 2 0.01m
    wire KN S1.2 BT1.- 2 0.01m
    wire G G1.B MBUS.STUD 2 0.01m
    wire N G1.CASE BT1.- 2 0.01m
    wire E MBUS.CB3 EBUS.STUD 2 0.01m
    wire XA MBUS.CB1 X.+ 2 0.01m
    wire XN X.- BT1.- 2 0.01m
    wire YA MBUS.CB2 Y.+ 2 0.01m
    wire YN Y.- BT1.- 2 0.01m
    wire ZA EBUS.CB4 Z.+ 2 0.01m
    wire ZN Z.- BT1.- 2 0.01m
    wire CA BT1.+ C.+ 2 0.01m
    wire CN C.- BT1.- 2 0.01m
    state ON running on=S1 intermittent=C
    state OFF
";

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() < 1e-6,
        "found {found}, wanted {wanted}"
    );
}

fn line<'a>(phase: &'a PhaseLoads, device: &str) -> &'a LoadLine {
    let mut lines = phase.loads.iter();
    lines
        .find(|line| line.device.as_str() == device)
        .expect("it is on")
}

#[test]
fn stated_and_solved_currents_differ_by_the_law_of_the_load() {
    let analysis = load_analysis(&document(PLAIN));
    let on = &analysis.phases[0];
    for (device, law) in [("X", -1.0), ("Y", 1.0), ("Z", 0.0), ("K1", 1.0)] {
        let line = line(on, device);
        let (amps, volts) = (line.sums.continuous, line.terminal_v.expect("live"));
        assert!(volts > 13.9, "{device}: {volts}");
        near(amps.solved_a, amps.plain_a * (volts / 13.8_f64).powf(law));
    }
    // 2 + 2 + 1 A and the coil; C is intermittent, and its current adds to them.
    let coil = line(on, "K1").sums.continuous.plain_a;
    near(on.total.continuous.plain_a, 5.0 + coil);
    near(on.total.intermittent.plain_a, 5.0 + coil + 4.0 + 3.0);
    near(on.total.peak.plain_a, 5.0 + coil + 6.0 + 3.0);
    let estimated = on.total.estimated_percent().expect("a sum");
    near(estimated, 200.0 / (5.0 + coil));
    // The sources' current equals the loads' current.
    let taken = on.total.continuous.solved_a + line(on, "C").sums.intermittent.solved_a;
    near(on.alternator_a + on.battery_a, taken);
    let headroom_a = on.headroom_a().expect("it runs");
    near(headroom_a, 40.0 - on.total.continuous.solved_a);
    let off = &analysis.phases[1];
    assert_eq!((off.total.continuous, off.limit_a), (Amps::default(), None));
}

#[test]
fn each_load_counts_with_the_last_bus_before_it() {
    let analysis = load_analysis(&document(PLAIN));
    let on = &analysis.phases[0];
    let bus = |device| {
        let bus = line(on, device).bus?;
        Some(analysis.buses[bus].label.as_str())
    };
    assert_eq!(bus("X"), Some("MBUS"));
    assert_eq!(bus("Z"), Some("EBUS"));
    assert_eq!(bus("C"), None, "straight from the battery");
    assert_eq!(bus("K1"), Some("MBUS"), "the bus its contact feeds");
    let sums = on.buses.iter().map(|bus| bus.sums.continuous.plain_a);
    near(sums.sum(), on.total.continuous.plain_a);
}

#[test]
fn a_load_under_its_cut_off_is_told() {
    let text = PLAIN.replace("cutoff=10", "cutoff=15");
    let analysis = load_analysis(&document(&text));
    let line = line(&analysis.phases[0], "X");
    assert_eq!(
        line.sums.continuous,
        Amps {
            plain_a: 2.0,
            solved_a: 0.0,
            asked_a: 2.0,
        }
    );
    assert!(analysis.phases[0].total.continuous.is_asked());
    assert!(line.dropped.is_some());
}

#[test]
fn recharge_is_asked_for_by_the_hour() {
    assert_eq!(load_analysis(&document(PLAIN)).recharge_a, None);
    let text = format!("{PLAIN} target 60 recharge=2");
    assert_eq!(load_analysis(&document(&text)).recharge_a, Some(8.0));
}
