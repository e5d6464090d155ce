//! Loads with a cut-off: closed forms, the order in which they drop, and the margin.

use super::{battery, close, element, network, resistor};
use crate::solve::network::{Law, Network};
use crate::solve::{DropReason, NoPoint, Solution, Solver, solve};

fn power(watt: f64, v_cut: f64) -> Law {
    Law::LoadPower { watt, v_cut }
}

fn dropped(s: &Solution) -> Vec<(usize, DropReason)> {
    s.dropped.iter().map(|d| (d.element, d.reason)).collect()
}

/// 12.8 V behind 0.25 ohm: carries at most 12.8^2 / (4 x 0.25) = 163.84 W.
fn feeder(watt: f64, v_cut: f64) -> Network {
    network(
        3,
        &[
            (battery(12.8, 0.01), 1, 0),
            (resistor(0.24), 1, 2),
            (power(watt, v_cut), 2, 0),
        ],
    )
}

#[test]
fn takes_the_upper_voltage() {
    // Computed: 6.4 (1 + sqrt 0.2) = 9.262167 V; the lower root 3.537833 V is unstable.
    let s = solve(&feeder(131.072, 0.0)).unwrap();
    close(s.node_volts[2], 6.4 * (1.0 + 0.2f64.sqrt()), 1e-9);
    close(s.currents[2].unwrap(), 14.1513, 1e-4);
}

#[test]
fn tells_the_limit_from_both_sides() {
    // Computed: V = E/2 (1 + sqrt(1 - P/Pmax)).
    let s = solve(&feeder(0.999 * 163.84, 0.0)).unwrap();
    assert!(s.converged);
    close(s.node_volts[2], 6.4 * (1.0 + 0.001f64.sqrt()), 1e-6);
    let s = solve(&feeder(1.001 * 163.84, 0.0)).unwrap();
    assert_eq!(s.no_point, Some(NoPoint::SupplyCannotCarry));
    close(s.margin.unwrap(), 1.0 / 1.001, 2e-4);
}

#[test]
fn says_what_the_supply_can_carry() {
    let s = solve(&feeder(1.2 * 163.84, 8.0)).unwrap();
    assert!(!s.converged);
    close(s.margin.unwrap(), 1.0 / 1.2, 2e-4);
    assert_eq!(
        s.sentence().unwrap(),
        "supply can carry 83.3 % of the demanded power"
    );
    assert_eq!(dropped(&s), [(2, DropReason::SupplyCannotCarry)]);
    close(s.node_volts[2], 12.8, 1e-9);
}

#[test]
fn margin_of_a_supply_that_carries() {
    let net = feeder(163.84 / 4.0, 8.0);
    let margin = Solver::new(&net).unwrap().margin(&net).unwrap();
    close(margin.unwrap(), 4.0, 1e-3);
}

#[test]
fn load_without_return_is_off() {
    for law in [
        power(10.0, 0.0),
        Law::LoadCurrent {
            amp: 1.0,
            v_cut: 0.0,
        },
        Law::CurrentSource { amp: 1.0 },
    ] {
        let s = solve(&network(3, &[(battery(12.0, 0.1), 1, 0), (law, 1, 2)])).unwrap();
        assert!(s.converged);
        assert_eq!(dropped(&s), [(1, DropReason::NoPath)]);
        assert_eq!(s.node_volts[2], 0.0);
    }
}

#[test]
fn load_under_its_cut_off_without_load_is_off() {
    let s = solve(&feeder(10.0, 13.0)).unwrap();
    assert!(s.converged);
    assert_eq!(dropped(&s), [(2, DropReason::NoLoadUnderCutOff)]);
}

#[test]
fn furthest_under_cut_off_goes_first_and_the_other_stays() {
    // Behind 1 ohm from 12 V: 3 A leave 9 V. Shortfalls 1.5/10.5 and 0.5/9.5; without the first, 10 V is enough.
    let net = network(
        3,
        &[
            (battery(12.0, 0.5), 1, 0),
            (resistor(0.5), 1, 2),
            (
                Law::LoadCurrent {
                    amp: 2.0,
                    v_cut: 9.5,
                },
                2,
                0,
            ),
            (
                Law::LoadCurrent {
                    amp: 1.0,
                    v_cut: 10.5,
                },
                2,
                0,
            ),
        ],
    );
    let s = solve(&net).unwrap();
    assert_eq!(dropped(&s), [(3, DropReason::UnderCutOff)]);
    close(s.node_volts[2], 10.0, 1e-9);
}

#[test]
fn first_to_reach_its_cut_off_gives_way() {
    // Both behind the same feeder; together they need too much. The load with the higher cut-off
    // reaches it first when both are increased, wherever it is in the list.
    for (first, second, goes) in [(8.0, 11.0, 3), (11.0, 8.0, 2)] {
        let mut net = feeder(120.0, first);
        net.elements.push(element(power(100.0, second), 2, 0));
        let s = solve(&net).unwrap();
        assert_eq!(s.no_point, Some(NoPoint::SupplyCannotCarry));
        assert_eq!(dropped(&s), [(goes, DropReason::SupplyCannotCarry)]);
        assert!(s.node_volts[2] > 8.0);
    }
}

#[test]
fn load_behind_a_blocking_diode_is_off() {
    // The diode is reversed: only its leak reaches the load.
    let diode = Law::Diode {
        vf_v: 0.7,
        ohm: 0.01,
    };
    for law in [
        power(10.0, 9.0),
        power(10.0, 0.0),
        Law::LoadCurrent {
            amp: 1.0,
            v_cut: 0.0,
        },
    ] {
        let s = solve(&network(
            3,
            &[(battery(12.0, 0.1), 1, 0), (diode, 2, 1), (law, 2, 0)],
        ))
        .unwrap();
        assert_eq!(s.dropped.len(), 1, "{law:?}");
        assert_eq!(s.dropped[0].element, 2);
        assert!(s.node_volts.iter().all(|v| v.abs() < 13.0));
    }
}

#[test]
fn dead_bus_behind_a_blocking_diode_does_not_load_the_live_one() {
    // Main battery lost: its bus is connected only through the diode, which blocks. The second bus
    // keeps running, and the supply carries all of it. Computed: 12 V behind 0.9 ohm, 20 W: 6 (1 +
    // sqrt(1 - 4 x 20 x 0.9 / 144)) V.
    let s = solve(&network(
        3,
        &[
            (battery(12.0, 0.9), 2, 0),
            (
                Law::Diode {
                    vf_v: 0.45,
                    ohm: 0.01,
                },
                1,
                2,
            ),
            (
                Law::LoadCurrent {
                    amp: 10.0,
                    v_cut: 9.0,
                },
                1,
                0,
            ),
            (power(50.0, 9.0), 1, 0),
            (power(20.0, 9.0), 2, 0),
        ],
    ))
    .unwrap();
    assert!(s.converged);
    assert_eq!(
        dropped(&s),
        [
            (2, DropReason::NoLoadUnderCutOff),
            (3, DropReason::NoLoadUnderCutOff)
        ]
    );
    close(
        s.node_volts[2],
        6.0 * (1.0 + (1.0 - 4.0 * 20.0 * 0.9 / 144.0f64).sqrt()),
        1e-6,
    );
    close(s.node_volts[1], s.node_volts[2], 1e-3);
}

#[test]
fn loads_in_series_without_source_across_are_off() {
    // The ground both return to is lost: neither is driven, although a conductance connects them.
    let s = solve(&network(
        4,
        &[
            (battery(12.0, 0.1), 1, 0),
            (Law::LoadResistance { ohm: 5.0 }, 1, 2),
            (resistor(0.01), 2, 3),
            (power(20.0, 9.0), 1, 3),
        ],
    ))
    .unwrap();
    assert!(s.converged);
    assert_eq!(dropped(&s), [(3, DropReason::NoLoadUnderCutOff)]);
    close(s.node_volts[3], 12.0, 1e-9);
}

#[test]
fn load_wired_to_one_node_draws_nothing() {
    for law in [
        power(20.0, 0.0),
        Law::LoadCurrent {
            amp: 1.0,
            v_cut: 0.0,
        },
    ] {
        let s = solve(&network(2, &[(battery(12.0, 0.1), 1, 0), (law, 1, 1)])).unwrap();
        assert_eq!(s.dropped.len(), 1);
        assert_eq!(s.currents[1], Some(0.0));
    }
}
