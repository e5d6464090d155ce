//! A pin of an in-line connector has no partner, though a conductor sits on it.

use loomwright_core::document::{ElementKind, End};

use super::walk::{Edit, Mistake, Wiring};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, _, element) in wiring.elements() {
        let ElementKind::Mate(mate) = &element.is else {
            continue;
        };
        let pins = [&mate.a, &mate.b].map(|it| End::Terminal(id.clone(), it.clone()));
        if pins.iter().all(|pin| wiring.is_free(pin)) {
            continue;
        }
        let edit = Edit::of(wiring).device(id, |it| it.elements.retain(|it| it.id != element.id));
        all.extend(edit.made(format!("{id}/{} not mated", element.id)));
    }
    all
}
