//! A terminator of a CAN trunk is missing, or there is one too many.

use loomwright_core::{
    document::{Device, Element, ElementKind, End, Extra, Resistor, Role},
    ids::TerminalId,
};

use super::walk::{Edit, Mistake, Wiring};

/// The resistance of a terminator, ohm (ISO 11898-2).
const TERMINATOR_OHM: f64 = 120.0;

fn role(device: &Device, id: &TerminalId) -> Option<Role> {
    device.terminal(id).map(|it| it.role)
}

fn is_terminator(device: &Device, element: &Element) -> bool {
    let ElementKind::Resistor(it) = &element.is else {
        return false;
    };
    let roles = [role(device, &it.a), role(device, &it.b)];
    roles.contains(&Some(Role::CanHigh)) && roles.contains(&Some(Role::CanLow))
}

pub fn missing(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let terminators = wiring
        .elements()
        .filter(|(_, device, it)| is_terminator(device, it));
    let edits = terminators.filter_map(|(id, _, element)| {
        let edit = Edit::of(wiring).device(id, |it| it.elements.retain(|it| it.id != element.id));
        edit.made(format!("{id} without its terminator"))
    });
    edits.collect()
}

pub fn too_many(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, device) in &wiring.document.devices {
        let with = |role: Role| {
            let mut pins = device.terminals.iter().filter(|it| it.role == role);
            pins.find(|it| !wiring.is_free(&End::Terminal(id.clone(), it.id.clone())))
        };
        let (Some(high), Some(low)) = (with(Role::CanHigh), with(Role::CanLow)) else {
            continue;
        };
        if device.elements.iter().any(|it| is_terminator(device, it)) {
            continue;
        }
        let resistor = Element {
            id: "one-too-many".into(),
            label: String::new(),
            is: ElementKind::Resistor(Resistor {
                a: high.id.clone(),
                b: low.id.clone(),
                ohm: TERMINATOR_OHM,
                extra: Extra::new(),
            }),
            extra: Extra::new(),
        };
        let edit = Edit::of(wiring).device(id, |it| it.elements.push(resistor));
        all.extend(edit.made(format!("{id} with a terminator too")));
    }
    all
}
