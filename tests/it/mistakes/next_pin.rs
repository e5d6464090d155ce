//! An end of a wire sits one pin further.

use super::walk::{BOTH, Edit, Mistake, Wiring, end_of};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, wire) in &wiring.document.wires {
        for which in BOTH {
            if let Some(next) = wiring.next(end_of(wire, which)) {
                let what = format!("{id}: {} to {next}", end_of(wire, which));
                all.extend(Edit::of(wiring).moved(id, which, next).made(what));
            }
        }
    }
    all
}
