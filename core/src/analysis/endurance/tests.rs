//! Endurance against closed forms worked by hand, and against an integration by an independent program.

use super::*;
use crate::testing::document;

/// Resistance of the two wires of [`plain`]: the smallest one solved, ohm.
const WIRES_OHM: f64 = 2e-5;

/// A battery of 10 Ah, all of it usable, from 12 V to 11 V in a straight line, with the smallest
/// resistance solved; one load.
fn plain(load: &str, battery: &str) -> String {
    format!(
        "battery BT1 emf=12 ohm=1e-9 ah=10 age=1 rate=1 curve=0:11,1:12 {battery}
         load X {load}
         wire A BT1.+ X.+ -3 0.00001m
         wire N X.- BT1.- -3 0.00001m
         state FLY running
         state OUT after=essential"
    )
}

fn only(text: &str) -> Case {
    let endurance = endurance(&document(text));
    assert_eq!(endurance.missing, Vec::<String>::new());
    let case = endurance.case(AfterAlternator::EssentialOnly);
    case.expect("it is marked").clone()
}

#[track_caller]
fn minutes(case: &Case) -> f64 {
    case.minutes.expect("it ends")
}

#[track_caller]
fn near(found: f64, wanted: f64, part: f64) {
    assert!(
        (found / wanted - 1.0).abs() < part,
        "found {found}, wanted {wanted}"
    );
}

/// 10 Ah at 5 A: two hours.
#[test]
fn constant_current_runs_capacity_over_current() {
    let case = only(&plain("5 law=current", ""));
    near(minutes(&case), 120.0, 1e-6);
    near(case.plain_min.expect("it draws"), 120.0, 1e-9);
    assert_eq!(case.ended, Ended::Empty);
    assert_eq!(case.devices[0].stop, Stop::Battery);
}

/// 12 V - d - 5 A x 0.02 ohm is 11.4 V at d = 0.5: half the capacity, one hour.
#[test]
fn a_battery_ends_at_its_cut_off_voltage() {
    let text = plain("5 law=current", "cutoff=11.4").replace("ohm=1e-9", "ohm=0.02");
    let case = only(&text);
    near(minutes(&case), 60.0, 1e-5);
    assert_eq!(case.ended, Ended::BatteryCutOff);
}

/// I = E/R with E = 12 V - d: t = R C ln(12/11), C in Ah.
#[test]
fn a_resistance_draws_less_and_less() {
    let case = only(&plain("6 law=resistance at_v=12", ""));
    let ohm = 2.0 + 1e-5 + WIRES_OHM;
    near(
        minutes(&case),
        60.0 * ohm * 10.0 * (12.0_f64 / 11.0).ln(),
        1e-6,
    );
}

/// Constant power P behind R: E = R I + P/I, so t = C/a [P/2 (1/I0² - 1/I1²) - R ln(I1/I0)] with the
/// open-circuit voltage falling by a over the capacity C.
#[test]
fn constant_power_draws_more_and_more() {
    let (power_w, ohm) = (90.0, 0.24998 + WIRES_OHM);
    let text = plain("7.5 at_v=12", "cutoff=1").replace("ohm=1e-9", "ohm=0.24998");
    let case = only(&text);
    let amps = |emf_v: f64| (emf_v - (emf_v * emf_v - 4.0 * ohm * power_w).sqrt()) / (2.0 * ohm);
    let (first, last) = (amps(12.0), amps(11.0));
    let hours = 10.0
        * (power_w / 2.0 * (1.0 / (first * first) - 1.0 / (last * last))
            - ohm * (last / first).ln());
    near(minutes(&case), 60.0 * hours, 2e-5);
    near(case.start_a, first, 1e-5);
    assert!(case.curve.len() > 5, "points enough to draw");
}

/// The worked case of a 17 Ah battery with Peukert's exponent: 12 A plus 75 W for five minutes,
/// then only 75 W through 0.05 ohm. Expected values from an adaptive integration and a fixed-step
/// one by an independent program, which agree to 0.16 s. Three wires of the least resistance that
/// is solved, 0.01 mohm, make the 0.05 ohm full.
const WORKED: &str = "
    target 60 shed=5
    battery BT1 emf=12.85 ohm=0.020 ah=17 charge=0.9 age=0.85 peukert=1.15 rated_h=20 curve=0:11.7,1:12.85 empty_ohm=0.035
    resistor R1 0.04997
    switch S1 1-2
    load MAIN 12 law=current
    load ESS 5 at_v=15 cutoff=10.5
    wire A BT1.+ R1.1 -3 0.00001m
    wire B R1.2 ESS.+ -3 0.00001m
    wire N ESS.- BT1.- -3 0.00001m
    wire C BT1.+ S1.1 -3 0.00001m
    wire D S1.2 MAIN.+ -3 0.00001m
    wire E MAIN.- BT1.- -3 0.00001m
    state CRUISE running on=S1 after=nothing
    state OUT after=essential
";

#[test]
fn the_worked_case_runs_until_empty() {
    let case = only(WORKED);
    near(minutes(&case), 77.988_944_9, 1e-4);
    assert_eq!(case.ended, Ended::Empty);
    near(case.start_a, 18.158_177_7, 1e-4);
    let at_shed = case.curve.iter().rev().find(|it| it.minutes <= 5.0);
    near(at_shed.expect("it is sampled").used[0], 0.184_991_157, 1e-3);
    let mut samples = case.curve.iter().rev();
    let last = samples.find(|it| it.amps > 0.0).expect("an end");
    near(last.amps, 6.740_317, 1e-3);
    let stop = |label: &str| {
        let device = case.devices.iter().find(|it| it.label == label);
        device.map(|it| (it.minutes.round(), it.stop))
    };
    assert_eq!(stop("MAIN"), Some((5.0, Stop::Shed)));
    assert_eq!(stop("ESS"), Some((78.0, Stop::Battery)));
}

#[test]
fn the_worked_case_stops_at_the_cut_off_of_its_load() {
    let case = only(&WORKED.replace("cutoff=10.5", "cutoff=11.3"));
    near(minutes(&case), 66.741_067_1, 1e-4);
    near(case.first_stop_min.expect("a stop"), 66.741_067_1, 1e-4);
    assert_eq!(case.ended, Ended::LoadsStopped);
    near(
        case.curve.last().expect("an end").used[0],
        0.868_626_06,
        1e-4,
    );
    assert_eq!(case.devices[1].stop, Stop::CutOff);
}

/// Duty: 2 A and for a tenth of the time 12 A are 3 A.
#[test]
fn a_duty_counts_on_average() {
    let case = only(&plain("2 law=current intermittent=12 duty=0.1", ""));
    near(minutes(&case), 200.0, 1e-5);
    near(case.plain_a, 3.0, 1e-9);
}

/// Two batteries in parallel are one of twice the capacity.
#[test]
fn two_batteries_share() {
    let two = plain("5 law=current", "")
        + "
        battery BT2 emf=12 ohm=0.01 ah=10 age=1 rate=1 curve=0:11,1:12
        wire A2 BT2.+ X.+ -3 0.00001m
        wire N2 X.- BT2.- -3 0.00001m";
    let case = only(&two.replace("ohm=1e-9", "ohm=0.01"));
    near(minutes(&case), 240.0, 1e-5);
    let used = &case.curve.last().expect("an end").used;
    near(used[0], used[1], 1e-6);
}

/// A relay whose coil drops out at 11.5 V disconnects its load when half is used (1 A and 0.1 A of
/// coil: the voltage is 12 V - d).
#[test]
fn a_relay_that_lets_go_takes_its_load_away() {
    let case = only(
        "battery BT1 emf=12 ohm=1e-9 ah=10 age=1 rate=1 curve=0:11,1:12
         contactor K1 BAT LOAD COIL+ COIL- pull_in=11.6 drop_out=11.5
         load X 1 law=current
         load Y 1 law=current
         wire A BT1.+ K1.BAT -3 0.00001m
         wire B K1.LOAD X.+ -3 0.00001m
         wire N X.- BT1.- -3 0.00001m
         wire C BT1.+ K1.COIL+ -3 0.00001m
         wire D K1.COIL- BT1.- -3 0.00001m
         wire E BT1.+ Y.+ -3 0.00001m
         wire F Y.- BT1.- -3 0.00001m
         state OUT after=essential
         state FLY running",
    );
    let x = &case.devices[0];
    assert_eq!((x.label.as_str(), x.stop), ("X", Stop::NoSupply));
    let end = case.curve.iter().find(|it| it.minutes >= x.minutes);
    near(end.expect("it is sampled").used[0], 0.5, 1e-3);
    assert_eq!(case.devices[1].stop, Stop::Battery);
}

/// 12 V behind 0.25 ohm carry 144 W at most; 140 W collapse while the voltage falls: 140 = E²/4R at
/// 11.83 V, d = 0.168.
#[test]
fn a_load_that_the_battery_cannot_carry_any_more_stops() {
    let text = plain("10 at_v=14", "cutoff=1").replace("ohm=1e-9", "ohm=0.24998");
    let case = only(&text);
    assert_eq!(case.devices[0].stop, Stop::SupplyCannotCarry);
    let used = 12.0 - (140.0_f64 * 4.0 * 0.25).sqrt();
    near(case.curve.last().expect("an end").used[0], used, 1e-3);
}

#[test]
fn cases_are_taken_by_rule_where_none_is_marked() {
    let text = "
        battery BT1 ah=10
        switch S1 1-2
        load X 3
        load Y 1
        wire A BT1.+ S1.1 2 1m
        wire B S1.2 X.+ 20 1m
        wire N X.- BT1.- 20 1m
        wire C BT1.+ Y.+ 20 1m
        wire D Y.- BT1.- 20 1m
        state TAXI running
        state CRUISE running on=S1
    ";
    let all = endurance(&document(text));
    assert_eq!(all.cases.len(), 1, "the essential loads are not guessed");
    assert_eq!(all.cases[0].states, ["CRUISE"], "it draws the most");
    assert!(!all.cases[0].is_marked && all.missing.len() == 1);
    // Shed by rule: the switches of the essential state, the loads of the first.
    let more = format!("{text} state OUT after=essential off=Y");
    let all = endurance(&document(&more));
    let running = |case| {
        let case: &Case = all.case(case).expect("it is there");
        case.devices
            .iter()
            .map(|it| it.label.as_str())
            .collect::<Vec<_>>()
    };
    assert_eq!(running(AfterAlternator::NothingDone).len(), 2);
    assert_eq!(running(AfterAlternator::MainBusShed), ["Y"]);
    assert_eq!(running(AfterAlternator::EssentialOnly), Vec::<&str>::new());
    let nothing_left = all.case(AfterAlternator::EssentialOnly).expect("a case");
    assert_eq!(nothing_left.ended, Ended::RunsOn);
}

#[test]
fn what_is_missing_is_told() {
    let missing = |text: &str| endurance(&document(text)).missing;
    assert_eq!(missing("load X 1"), ["no battery"]);
    let text = plain("1", "").replace("ah=10", "");
    assert_eq!(missing(&text), ["capacity of BT1 not set"]);
}

/// The steep end of a lithium battery's curve. 38.4, 167.5 and 167.5 minutes are those of an independent program.
#[test]
fn a_curve_may_end_steeply() {
    let file = include_bytes!("../../../../public/samples/sorrel.json");
    let mut document = crate::exchange::open(file)
        .expect("the sample opens")
        .document;
    for device in document.devices.values_mut() {
        for element in &mut device.elements {
            if let crate::document::ElementKind::Battery(battery) = &mut element.is {
                let reserve = battery.reserve.get_or_insert_default();
                reserve.open_circuit_v = vec![[0.0, 11.0], [0.1, 12.9], [0.9, 13.2], [1.0, 13.4]];
            }
        }
    }
    let endurance = endurance(&document);
    assert_eq!(endurance.missing, Vec::<String>::new());
    for (case, wanted) in [
        (AfterAlternator::NothingDone, 38.4),
        (AfterAlternator::MainBusShed, 167.5),
        (AfterAlternator::EssentialOnly, 167.5),
    ] {
        let found = endurance.case(case).unwrap_or_else(|| panic!("{case:?}"));
        near(minutes(found), wanted, 2e-3);
    }
}
