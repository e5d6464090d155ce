//! Checks of the solver against closed forms, and against a search over every combination of
//! states.

mod dense;
mod laws;
mod loads;
mod operating;
mod random;

use super::network::{Element, Law, Network};

pub(super) fn element(law: Law, a: usize, b: usize) -> Element {
    Element {
        law,
        a,
        b,
        off: false,
    }
}

pub(super) fn network(node_count: usize, elements: &[(Law, usize, usize)]) -> Network {
    let elements = elements
        .iter()
        .map(|&(law, a, b)| element(law, a, b))
        .collect();
    Network {
        node_count,
        reference: 0,
        elements,
    }
}

pub(super) fn resistor(ohm: f64) -> Law {
    Law::Resistor { ohm }
}

pub(super) fn battery(emf_v: f64, ohm: f64) -> Law {
    Law::Battery {
        emf_v,
        ohm,
        charge_ohm: None,
    }
}

#[track_caller]
pub(super) fn close(got: f64, want: f64, tolerance: f64) {
    assert!(
        (got - want).abs() <= tolerance,
        "got {got}, want {want} within {tolerance}"
    );
}
