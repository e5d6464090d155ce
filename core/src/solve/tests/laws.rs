//! Each law against its closed form; islands; elements without resistance; unusable figures.

use super::{battery, close, network, resistor};
use crate::solve::network::{Law, Network, NetworkError};
use crate::solve::{IslandStatus, PartState, solve};

#[test]
fn series_circuit_follows_ohms_law() {
    // Computed: 12 / (0.5 + 5.5) = 2 A.
    let s = solve(&network(
        3,
        &[
            (battery(12.0, 0.5), 1, 0),
            (resistor(0.5), 1, 2),
            (Law::LoadResistance { ohm: 5.0 }, 2, 0),
        ],
    ))
    .unwrap();
    for current in s.currents {
        close(current.unwrap(), 2.0, 1e-12);
    }
    close(s.node_volts[1], 11.0, 1e-12);
    close(s.node_volts[2], 10.0, 1e-12);
}

#[test]
fn battery_takes_charge_through_its_charge_resistance() {
    // Computed: (14 - 12.5) / (0.05 + 0.01) = 25 A into it; 12.5 / (0.02 + 4.98) = 2.5 A out of it.
    let law = Law::Battery {
        emf_v: 12.5,
        ohm: 0.02,
        charge_ohm: Some(0.05),
    };
    let charging = solve(&network(2, &[(law, 1, 0), (battery(14.0, 0.01), 1, 0)])).unwrap();
    close(charging.currents[0].unwrap(), -25.0, 1e-6);
    close(charging.currents[1].unwrap(), 25.0, 1e-6);
    let giving = solve(&network(2, &[(law, 1, 0), (resistor(4.98), 1, 0)])).unwrap();
    close(giving.currents[0].unwrap(), 2.5, 1e-6);
    assert_eq!(giving.states, [None, None]);
}

#[test]
fn alternator_regulates_limits_and_blocks() {
    // Computed: 14.2 / (0.02 + 1.4) = 10 A; 60 A x 0.1 ohm = 6 V; battery above the set point: 0 A.
    let law = Law::Alternator {
        v_set: 14.2,
        ohm_reg: 0.02,
        i_max: 60.0,
    };
    for (other, amp, volt, state) in [
        (resistor(1.4), 10.0, 14.0, PartState::Regulating),
        (resistor(0.1), 60.0, 6.0, PartState::Limit),
        (battery(15.0, 0.01), 0.0, 15.0, PartState::Off),
    ] {
        let s = solve(&network(2, &[(law, 1, 0), (other, 1, 0)])).unwrap();
        close(s.currents[0].unwrap(), amp, 1e-6);
        close(s.node_volts[1], volt, 1e-6);
        assert_eq!(s.states[0], Some(state));
    }
}

#[test]
fn diode_passes_one_way() {
    // Computed: (12 - 0.7) / (0.1 + 0.1 + 11.1) = 1 A; nothing in reverse.
    let diode = Law::Diode {
        vf_v: 0.7,
        ohm: 0.1,
    };
    let elements = [
        (battery(12.0, 0.1), 1, 0),
        (diode, 1, 2),
        (resistor(11.1), 2, 0),
    ];
    let s = solve(&network(3, &elements)).unwrap();
    close(s.currents[2].unwrap(), 1.0, 1e-6);
    assert_eq!(s.states[1], Some(PartState::On));
    let s = solve(&network(3, &[elements[0], (diode, 2, 1), elements[2]])).unwrap();
    close(s.currents[2].unwrap(), 0.0, 1e-6);
    assert_eq!(s.states[1], Some(PartState::Off));
}

#[test]
fn off_elements_carry_nothing_and_join_nothing() {
    let mut net = network(
        3,
        &[
            (battery(12.0, 0.1), 1, 0),
            (resistor(0.1), 1, 2),
            (resistor(5.0), 2, 0),
        ],
    );
    net.elements[1].off = true;
    net.elements[2].off = true;
    let s = solve(&net).unwrap();
    assert_eq!(s.currents[1], Some(0.0));
    let status: Vec<_> = s.islands.iter().map(|i| (i.reference, i.status)).collect();
    assert_eq!(
        status,
        [
            (0, IslandStatus::Referenced),
            (2, IslandStatus::FloatingUnsourced)
        ]
    );
    assert_eq!(s.node_island, [0, 0, 1]);
}

#[test]
fn floating_source_has_its_own_zero() {
    let s = solve(&network(
        3,
        &[(battery(9.0, 1.0), 1, 2), (resistor(8.0), 1, 2)],
    ))
    .unwrap();
    assert_eq!(s.islands[1].status, IslandStatus::FloatingSourced);
    assert_eq!(s.islands[1].reference, 2);
    close(s.node_volts[1], 8.0, 1e-12);
    close(s.node_volts[2], 0.0, 0.0);
}

#[test]
fn bridge_without_resistance_has_a_known_current() {
    // A chain of two joints to a load: each carries the full 4 A, in either drawing direction.
    let s = solve(&network(
        4,
        &[
            (battery(12.0, 1.0), 1, 0),
            (Law::Ideal, 1, 2),
            (resistor(1e-9), 3, 2),
            (resistor(2.0), 3, 0),
        ],
    ))
    .unwrap();
    close(s.currents[1].unwrap(), 4.0, 1e-12);
    close(s.currents[2].unwrap(), -4.0, 1e-12);
    assert!(s.undetermined.is_empty());
}

#[test]
fn loop_without_resistance_is_not_invented() {
    // Two in parallel share 4 A; the split in a triangle is undetermined.
    let feed = (battery(12.0, 1.0), 1, 0);
    let s = solve(&network(
        3,
        &[
            feed,
            (Law::Ideal, 2, 1),
            (Law::Ideal, 1, 2),
            (resistor(2.0), 2, 0),
        ],
    ))
    .unwrap();
    assert_eq!((s.currents[1], s.currents[2]), (None, None));
    assert_eq!(s.undetermined.len(), 1);
    assert_eq!(s.undetermined[0].elements, [1, 2]);
    close(s.undetermined[0].sum_amp.unwrap(), -4.0, 1e-12);
    let s = solve(&network(
        4,
        &[
            feed,
            (Law::Ideal, 1, 2),
            (Law::Ideal, 2, 3),
            (Law::Ideal, 3, 1),
            (resistor(2.0), 3, 0),
        ],
    ))
    .unwrap();
    assert_eq!(s.undetermined[0].elements, [1, 2, 3]);
    assert_eq!(s.undetermined[0].sum_amp, None);
}

#[test]
fn unusable_figures_are_named() {
    let bad = |law| network(2, &[(law, 1, 0)]).check().unwrap_err();
    for (law, field) in [
        (resistor(f64::NAN), "ohm"),
        (resistor(-0.1), "ohm"),
        (battery(f64::INFINITY, 0.1), "emf_v"),
        (battery(12.0, 0.0), "ohm"),
        (
            Law::LoadPower {
                watt: -5.0,
                v_cut: 0.0,
            },
            "watt",
        ),
        (
            Law::Battery {
                emf_v: 12.0,
                ohm: 0.1,
                charge_ohm: Some(-1.0),
            },
            "charge_ohm",
        ),
        (
            Law::Diode {
                vf_v: 0.7,
                ohm: 0.0,
            },
            "ohm",
        ),
    ] {
        let error = bad(law);
        assert!(
            matches!(error, NetworkError::Value { field: f, element: 0, .. } if f == field),
            "{error}"
        );
    }
    let far = Network {
        node_count: 1,
        reference: 0,
        ..network(1, &[(resistor(1.0), 0, 7)])
    };
    assert_eq!(
        far.check(),
        Err(NetworkError::Node {
            element: 0,
            node: 7,
            node_count: 1
        })
    );
    let none = Network::default();
    assert_eq!(
        none.check(),
        Err(NetworkError::Reference {
            reference: 0,
            node_count: 0
        })
    );
}

#[test]
fn nodes_alone_are_a_network() {
    let s = solve(&network(3, &[])).unwrap();
    assert_eq!(s.node_volts, [0.0; 3]);
    assert_eq!(s.islands.len(), 3);
}
