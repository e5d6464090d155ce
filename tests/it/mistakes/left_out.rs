//! A wire is missing.

use super::walk::{Edit, Mistake, Wiring};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let wires = wiring.document.wires.keys();
    wires
        .filter_map(|id| Edit::of(wiring).without(id).made(format!("{id} left out")))
        .collect()
}
