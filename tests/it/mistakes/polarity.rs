//! A battery, diode, light or unit is the wrong way round.

use loomwright_core::document::{ElementKind, End};

use super::walk::{Edit, Mistake, Wiring};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, _, element) in wiring.elements() {
        let (plus, minus) = match &element.is {
            ElementKind::Battery(it) => (&it.plus, &it.minus),
            ElementKind::Diode(it) => (&it.anode, &it.cathode),
            ElementKind::Load(it) if !it.either_way => (&it.plus, &it.minus),
            _ => continue,
        };
        let sides = [plus, minus].map(|it| wiring.wires_on(id, it));
        if sides.iter().any(Vec::is_empty) {
            continue;
        }
        let mut edit = Edit::of(wiring);
        for (wires, to) in sides.iter().zip([minus, plus]) {
            for (wire, which) in wires {
                edit = edit.moved(wire, *which, End::Terminal(id.clone(), to.clone()));
            }
        }
        all.extend(edit.made(format!("{id}/{} reversed", element.id)));
    }
    all
}
