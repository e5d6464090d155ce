//! The body of an isolated jack touches metal.

use loomwright_core::document::ElementKind;

use super::walk::{Edit, Mistake, Wiring};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let elements = wiring.elements();
    let jacks = elements
        .filter(|(_, _, it)| matches!(&it.is, ElementKind::Jack(it) if it.isolated == Some(true)));
    let edits = jacks.filter_map(|(id, _, element)| {
        let edit = Edit::of(wiring).element(id, &element.id, |is| {
            if let ElementKind::Jack(it) = is {
                it.isolated = Some(false);
            }
        });
        edit.made(format!("{id} touches metal"))
    });
    edits.collect()
}
