//! Both sides of a switch, contactor or relay contact are on one terminal: it can no longer switch off.

use loomwright_core::document::{Closed, ElementKind, End};

use super::walk::{Edit, Mistake, Wiring, switched};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, _, element) in wiring.elements() {
        if matches!(&element.is, ElementKind::Contact(it) if it.closed == Closed::Released) {
            continue;
        }
        for [a, b] in switched(element) {
            let [a, b] = [a, b].map(|it| End::Terminal(id.clone(), it.clone()));
            if wiring.wires_at(&a).is_empty() {
                continue;
            }
            let mut edit = Edit::of(wiring);
            for (wire, which) in wiring.wires_at(&b) {
                edit = edit.moved(wire, *which, a.clone());
            }
            all.extend(edit.made(format!("{id}/{}: {b} on {a}", element.id)));
        }
    }
    all
}
