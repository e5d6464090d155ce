//! The operating point of small documents, checked by hand and by invariants.

use crate::{
    document::{Closed, Document, ElementKind},
    netlist::Point,
    solve::{OperatingPoint, operate_all},
    standards::wire_table::copper_ohm_per_m,
    testing::document,
    units::Gauge,
};

/// Battery, breaker, switch and a load that is a resistance of 13.8 ohm.
const PLAIN: &str = "
    battery BT1 emf=12.8 ohm=0.01
    breaker CB1 5
    switch S1 1-2
    load LT1 1 law=resistance
    ground GB1 T1 T2
    wire HOT BT1.+ CB1.1 6 1m
    wire A CB1.2 S1.1 20 0.5m
    wire B S1.2 LT1.+ 20 2m
    wire N LT1.- GB1.T1 20 0.7m
    wire G GB1.T2 BT1.- 6 0.3m
";

fn solved(text: &str) -> OperatingPoint {
    solve(&document(text))
}

/// The first state, continuous figures.
fn solve(document: &Document) -> OperatingPoint {
    operate_all(document).swap_remove(0)
}

fn volts(point: &OperatingPoint, name: &str) -> Option<f64> {
    let (device, terminal) = name.split_once('.').expect("DEVICE.TERMINAL");
    point.volts(&Point::Terminal(device.into(), terminal.into()))
}

fn amps(point: &OperatingPoint, wire: &str) -> f64 {
    point.wire_amps(&wire.into()).expect("a wire")
}

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() < 1e-7,
        "found {found}, wanted {wanted}"
    );
}

#[test]
fn a_plain_circuit_by_hand() {
    let point = solved(&format!("{PLAIN} state ON on=S1"));
    let wire = |awg, length_m: f64| copper_ohm_per_m(Gauge(awg), 50.0) * length_m;
    // Series: source, wires, breaker and switch of 2 mohm each, load.
    let ohm = 0.01 + wire(6, 1.3) + wire(20, 3.2) + 0.004 + 13.8;
    let by_hand = 12.8 / ohm;
    for name in ["HOT", "A", "B", "N", "G"] {
        near(amps(&point, name), by_hand);
    }
    near(volts(&point, "BT1.+").expect("live"), 12.8 - by_hand * 0.01);
    let at_load = 12.8 - by_hand * (ohm - 13.8 - wire(20, 0.7) - wire(6, 0.3));
    near(volts(&point, "LT1.+").expect("live"), at_load);
    near(
        volts(&point, "LT1.-").expect("held"),
        by_hand * (wire(20, 0.7) + wire(6, 0.3)),
    );
    near(volts(&point, "BT1.-").expect("reference"), 0.0);
    near(
        point
            .element_amps(&"LT1".into(), &"load".into())
            .expect("a load"),
        by_hand,
    );
    near(
        point
            .element_amps(&"BT1".into(), &"battery".into())
            .expect("a battery"),
        by_hand,
    );
    assert!(point.converged && point.problem.is_none());
}

#[test]
fn an_open_switch_parts_live_from_dead() {
    let point = solved(&format!("{PLAIN} state OFF"));
    near(volts(&point, "S1.1").expect("live"), 12.8);
    assert_eq!(
        volts(&point, "S1.2").map(f64::round),
        Some(0.0),
        "held by the load"
    );
    near(amps(&point, "A"), 0.0);
    let point = solved(&format!("{PLAIN} wire B S1.2 open 20 2m\n state OFF"));
    assert_eq!(volts(&point, "S1.2"), None, "nothing holds it");
    let live = |name: &str| {
        let (device, terminal) = name.split_once('.').expect("DEVICE.TERMINAL");
        point.is_live(&Point::Terminal(device.into(), terminal.into()))
    };
    assert!(live("S1.1") && !live("S1.2") && !live("GB1.T1"));
}

#[test]
fn a_pulled_breaker_opens() {
    let point = solved(&format!("{PLAIN} state T on=S1 pulled=CB1"));
    near(volts(&point, "CB1.1").expect("live"), 12.8);
    near(amps(&point, "B"), 0.0);
}

const CONTACTOR: &str = "
    battery BT1
    contactor K1 BAT LOAD COIL+ COIL-
    load LT1 2 law=resistance
    ground GB1 T1 T2 T3
    switch S1 1-2
    wire P1 BT1.+ K1.BAT 2 0.3m
    wire P2 K1.LOAD LT1.+ 12 0.3m
    wire P3 BT1.+ K1.COIL+ 20 0.3m
    wire P4 K1.COIL- S1.1 20 1m
    wire P5 S1.2 GB1.T1 20 1m
    wire N LT1.- GB1.T2 12 1m
    wire G GB1.T3 BT1.- 2 0.3m
";

#[test]
fn a_contactor_follows_its_coil() {
    let on = solved(&format!("{CONTACTOR} state ON on=S1"));
    assert_eq!(on.energised.len(), 1);
    assert!(amps(&on, "P2") > 1.5 && amps(&on, "P4") > 0.7);
    let off = solved(&format!("{CONTACTOR} state OFF"));
    assert_eq!(off.energised.len(), 0);
    near(amps(&off, "P2"), 0.0);
    near(volts(&off, "K1.COIL-").expect("through the coil"), 12.8);
}

#[test]
fn a_coil_fed_through_its_own_break_contact_is_a_problem() {
    let mut document = document(
        "battery BT1
         contactor K1 BAT LOAD COIL+ COIL-
         wire P1 BT1.+ K1.BAT 20 0.3m
         wire P2 K1.LOAD K1.COIL+ 20 0.3m
         wire P3 K1.COIL- BT1.- 20 0.3m",
    );
    let contact = &mut document.devices.get_mut("K1").expect("K1").elements[0];
    let ElementKind::Contact(contact) = &mut contact.is else {
        panic!("a contact")
    };
    contact.closed = Closed::Released;
    let point = solve(&document);
    let problem = point.problem.expect("a problem");
    assert!(
        problem.contains("K1") && problem.contains("not settling"),
        "{problem}"
    );
    assert!(!point.converged);
}

const ALTERNATOR: &str = "
    battery BT1
    alternator G1 40 field
    load LT1 10 law=current
    ground GB1 T1 T2 T3
    switch S1 1-2
    wire OUT G1.B BT1.+ 8 1m
    wire FIELD BT1.+ S1.1 20 1m
    wire F2 S1.2 G1.FLD 20 1m
    wire CASE G1.CASE GB1.T1 8 1m
    wire L BT1.+ LT1.+ 12 1m
    wire N LT1.- GB1.T2 12 1m
    wire G GB1.T3 BT1.- 6 1m
";

#[test]
fn an_alternator_gives_while_turned_and_excited() {
    let out = |state: &str| amps(&solved(&format!("{ALTERNATOR} state T {state}")), "OUT");
    assert!(
        out("running on=S1") > 10.0,
        "it carries the load and charges"
    );
    near(out("on=S1"), 0.0);
    near(out("running"), 0.0);
    let point = solved(&format!("{ALTERNATOR} state T running on=S1"));
    let battery = point
        .element_amps(&"BT1".into(), &"battery".into())
        .expect("a battery");
    assert!(
        battery < 0.0,
        "the battery charges, and its current is counted outwards"
    );
}

#[test]
fn a_reversing_motor_runs_both_ways() {
    let run = |position| {
        let point = solved(&format!(
            "battery BT1
             throw S7 UP:2-1,5-4 OFF: DN:2-4,5-1 rest=1
             load M3 5 either
             wire P BT1.+ S7.2 16 1m
             wire N S7.5 BT1.- 16 1m
             wire A S7.1 M3.+ 16 1m
             wire B S7.4 M3.- 16 1m
             state T on=S7:{position}"
        ));
        (amps(&point, "P"), amps(&point, "A"), point.unpowered.len())
    };
    let (up, off, down) = (run(0), run(1), run(2));
    assert!(up.0 > 5.0 && up.1 > 5.0 && up.2 == 0);
    assert!(down.0 > 5.0 && down.1 < -5.0 && down.2 == 0);
    assert_eq!(off, (0.0, 0.0, 1));
}

#[test]
fn loads_take_what_the_state_says() {
    let take = |state: &str| {
        let document = document(&format!(
            "battery BT1
             load LT1 1 peak=3 intermittent=2 law=current
             load LT2 - intermittent=7 law=current
             wire A BT1.+ LT1.+ 12 1m
             wire B LT1.- BT1.- 12 1m
             wire C BT1.+ LT2.+ 12 1m
             wire D LT2.- BT1.- 12 1m
             state T {state}"
        ));
        let points = operate_all(&document);
        let both = |wire: &str| [0, 1].map(|at| (amps(&points[at], wire) * 1e6).round() / 1e6);
        [both("A"), both("C")]
    };
    assert_eq!(take(""), [[1.0, 3.0], [0.0, 0.0]]);
    assert_eq!(take("off=LT1"), [[0.0, 0.0], [0.0, 0.0]]);
    assert_eq!(take("intermittent=LT1,LT2"), [[2.0, 3.0], [7.0, 7.0]]);
    assert_eq!(take("peak=LT1"), [[3.0, 3.0], [0.0, 0.0]]);
}

#[test]
fn a_supply_that_cannot_carry_the_load_says_so() {
    let point = solved(
        "battery BT1 ohm=0.25
         load LT1 30
         wire A BT1.+ LT1.+ 12 1m
         wire B LT1.- BT1.- 12 1m",
    );
    assert!(!point.converged);
    assert!(point.margin.is_some_and(|margin| margin < 1.0));
    assert!(point.problem.is_some_and(|problem| problem.contains('%')));
    assert_eq!(point.dropped.len(), 1);
}

#[test]
fn a_figure_no_part_has_is_named_and_left_out() {
    let mut document = document(&format!("{PLAIN} load LT2 1\n wire X BT1.+ LT2.+"));
    let load = &mut document.devices.get_mut("LT2").expect("LT2").elements[0];
    let ElementKind::Load(load) = &mut load.is else {
        panic!("a load")
    };
    load.at_v = -1.0;
    let problem = solve(&document).problem.expect("a problem");
    assert!(
        problem.contains("LT2") && problem.contains("at_v"),
        "{problem}"
    );
}

#[test]
fn metal_is_the_reference_where_the_battery_is_joined_to_it() {
    let point = solved(
        "place FRAME metal
         battery BT1
         load LT1 1 law=current
         wire A BT1.+ LT1.+ 12 1m
         wire B LT1.- @FRAME 12 1m
         wire C BT1.- @FRAME 12 1m",
    );
    near(
        point
            .volts(&Point::Structure("FRAME".into()))
            .expect("reference"),
        0.0,
    );
    let below = volts(&point, "BT1.-").expect("held");
    near(below, -copper_ohm_per_m(Gauge(12), 50.0));
}

#[test]
fn without_a_source_nothing_is_held_and_nothing_is_wrong() {
    let point = solved("load LT1 1\n unit X 1\n wire A LT1.+ X.1 20 1m");
    assert_eq!(volts(&point, "X.1"), None);
    near(amps(&point, "A"), 0.0);
    assert!(point.converged && point.problem.is_none());
}

#[test]
fn what_only_a_blocked_diode_leads_to_is_dead() {
    let point = solved(
        "battery BT1
         diode D1
         load LT1 1
         wire A BT1.+ D1.K 20 1m
         wire B D1.A LT1.+ 20 1m
         wire N LT1.- BT1.- 20 1m",
    );
    assert_eq!(volts(&point, "LT1.+"), None);
    assert_eq!((point.dropped.len(), point.unpowered.len()), (0, 1));
}
