//! A shield is connected at both ends, nowhere, to a power, signal or spare pin, or is used as the low.

use loomwright_core::{
    document::{Cable, CableKind, Document, End, Extra, Role, ShieldEnd, WireEnd},
    ids::CableId,
};

use super::walk::{BOTH, Edit, Mistake, Wiring, end_of, other, shield_end};

/// Shielded cables whose shield is a shield: not the other half of a coaxial line.
fn shielded(document: &Document) -> impl Iterator<Item = (&CableId, &Cable)> {
    let cables = document.cables.iter();
    cables.filter(|(_, it)| it.shield.is_some() && it.kind != CableKind::Coaxial)
}

pub fn tied(at: End) -> ShieldEnd {
    ShieldEnd::Tied {
        at,
        pigtail_mm: None,
        extra: Extra::new(),
    }
}

/// The ends of a cable's cores at one of its ends.
fn core_ends<'d>(
    document: &'d Document,
    cable: &'d Cable,
    which: WireEnd,
) -> impl Iterator<Item = &'d End> {
    let wires = cable.wires.iter().filter_map(|id| document.wires.get(id));
    wires.map(move |wire| end_of(wire, which))
}

/// Where a shield is grounded by habit at this end: a shield terminal of the device there, else its metal place.
fn ground_at(wiring: &Wiring<'_>, cable: &Cable, which: WireEnd) -> Option<End> {
    let (id, device, _) =
        core_ends(wiring.document, cable, which).find_map(|end| wiring.terminal(end))?;
    let shell = device
        .terminals
        .iter()
        .find(|it| it.role == Role::ShieldTie);
    let is_metal = |place: &_| {
        wiring
            .document
            .places
            .get(place)
            .is_some_and(|it| it.conductive == Some(true))
    };
    match shell {
        Some(terminal) => Some(End::Terminal(id.clone(), terminal.id.clone())),
        None => device.place.clone().filter(is_metal).map(End::Structure),
    }
}

pub fn both_ends(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, cable) in shielded(wiring.document) {
        for which in BOTH {
            if shield_end(cable, which) == Some(&ShieldEnd::Floating)
                && shield_end(cable, other(which)) != Some(&ShieldEnd::Floating)
                && let Some(at) = ground_at(wiring, cable, which)
            {
                let what = format!("shield of {id} on {at} too");
                all.extend(Edit::of(wiring).shield(id, which, tied(at)).made(what));
            }
        }
    }
    all
}

pub fn nowhere(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let shielded = shielded(wiring.document);
    let edits = shielded.filter_map(|(id, cable)| {
        let mut edit = Edit::of(wiring);
        for which in BOTH {
            if matches!(shield_end(cable, which), Some(ShieldEnd::Tied { .. })) {
                edit = edit.shield(id, which, ShieldEnd::Floating);
            }
        }
        edit.made(format!("shield of {id} nowhere"))
    });
    edits.collect()
}

/// The connected end of each shield goes to the first pin of these roles on the device there.
fn on_pin(wiring: &Wiring<'_>, is_it: fn(Role) -> bool) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, cable) in shielded(wiring.document) {
        for which in BOTH {
            let Some(ShieldEnd::Tied { at, .. }) = shield_end(cable, which) else {
                continue;
            };
            let Some((device_id, device, _)) = wiring.terminal(at) else {
                continue;
            };
            let Some(pin) = device.terminals.iter().find(|it| is_it(it.role)) else {
                continue;
            };
            let pin = End::Terminal(device_id.clone(), pin.id.clone());
            let what = format!("shield of {id}: {at} to {pin}");
            all.extend(Edit::of(wiring).shield(id, which, tied(pin)).made(what));
        }
    }
    all
}

pub fn on_power(wiring: &Wiring<'_>) -> Vec<Mistake> {
    on_pin(wiring, |role| {
        matches!(role, Role::PowerIn | Role::PowerOut)
    })
}

pub fn on_signal(wiring: &Wiring<'_>) -> Vec<Mistake> {
    on_pin(wiring, |role| {
        matches!(
            role,
            Role::AudioHigh
                | Role::KeyLine
                | Role::SerialTx
                | Role::SerialRx
                | Role::CanHigh
                | Role::CanLow
                | Role::Arinc429A
                | Role::Arinc429B
                | Role::Discrete
                | Role::InputGround
                | Role::InputPower
                | Role::SensorPlus
                | Role::PLead
        )
    })
}

pub fn on_spare(wiring: &Wiring<'_>) -> Vec<Mistake> {
    on_pin(wiring, |role| role == Role::Spare)
}

/// The low core is left out, and the shield is in its place at both ends.
pub fn as_low(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let document = wiring.document;
    let mut all = Vec::new();
    for (id, cable) in shielded(document) {
        let is_low = |end: &End| {
            let role = wiring.role(end);
            matches!(
                role,
                Some(Role::AudioLow | Role::SignalReturn | Role::SensorMinus | Role::Return)
            )
        };
        let low = cable.wires.iter().find(|it| {
            let wire = document.wires.get(*it);
            wire.is_some_and(|it| is_low(&it.from) && is_low(&it.to))
        });
        let Some(low) = low else {
            continue;
        };
        let wire = &document.wires[low];
        let edit = Edit::of(wiring).without(low);
        let edit = edit.shield(id, WireEnd::From, tied(wire.from.clone()));
        let edit = edit.shield(id, WireEnd::To, tied(wire.to.clone()));
        all.extend(edit.made(format!("shield of {id} in the place of {low}")));
    }
    all
}
