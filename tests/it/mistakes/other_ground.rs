//! A return that belongs on the avionics or audio ground point goes to the airframe, to another block, to a local stud.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    document::{
        Bar, BarUse, Device, DeviceKind, Document, Element, ElementKind, End, Extra, Role,
        ShieldEnd, StructureTie, Terminal,
    },
    ids::{DeviceId, PlaceId},
};

use super::{
    shield::tied,
    walk::{BOTH, Edit, Mistake, Wiring, bars, end_of, other, shield_end},
};

fn block(device: &Device) -> Option<&Bar> {
    bars(device).find(|it| it.used_as == BarUse::Ground)
}

fn is_tied(device: &Device) -> bool {
    device
        .elements
        .iter()
        .any(|it| matches!(it.is, ElementKind::StructureTie(_)))
}

fn is_audio(device: &Device) -> bool {
    device
        .terminals
        .iter()
        .any(|it| matches!(it.role, Role::AudioHigh | Role::AudioLow))
}

/// The blocks on which audio and avionics return: those that metal inside does not tie to their place; if each one is
/// tied, those on which an audio unit returns.
pub fn quiet_blocks<'d>(wiring: &Wiring<'d>) -> Vec<&'d DeviceId> {
    let blocks = wiring
        .document
        .devices
        .iter()
        .filter(|(_, it)| block(it).is_some());
    let blocks: Vec<_> = blocks.collect();
    let free = blocks
        .iter()
        .filter(|(_, it)| !is_tied(it))
        .map(|(id, _)| *id);
    let free: Vec<_> = free.collect();
    if !free.is_empty() {
        return free;
    }
    let audio = blocks.iter().filter(|(id, device)| {
        let mut ends = device
            .terminals
            .iter()
            .map(|it| End::Terminal((*id).clone(), it.id.clone()));
        ends.any(|end| {
            wiring.wires_at(&end).iter().any(|(wire, which)| {
                let far = wiring.terminal(end_of(&wiring.document.wires[*wire], other(*which)));
                far.is_some_and(|(_, device, _)| is_audio(device))
            })
        })
    });
    audio.map(|(id, _)| *id).collect()
}

/// The metal to which most others are bonded.
fn airframe(document: &Document) -> Option<&PlaceId> {
    let mut bonds: BTreeMap<&PlaceId, usize> = BTreeMap::new();
    for place in document.places.values() {
        if let Some(to) = &place.bonded_to {
            *bonds.entry(to).or_default() += 1;
        }
    }
    bonds.into_iter().max_by_key(|(_, n)| *n).map(|(id, _)| id)
}

/// The key of the local stud that a mistake adds.
const STUD: &str = "local-stud";

/// A stud on the metal of a place, with nothing else on it.
fn local_stud(place: &PlaceId) -> Device {
    let mut stud = Device::plain("GS99", "Local ground stud");
    stud.kind = DeviceKind::GroundBlock;
    stud.place = Some(place.clone());
    let mut terminal = Terminal::plain("stud", "STUD");
    (terminal.role, terminal.fits) = (Role::Return, Some(4));
    stud.terminals.push(terminal);
    stud.elements.push(Element {
        id: "tie".into(),
        label: String::new(),
        is: ElementKind::StructureTie(StructureTie {
            terminal: "stud".into(),
            ohm: None,
            extra: Extra::new(),
        }),
        extra: Extra::new(),
    });
    stud
}

/// The blocks on which a device returns.
fn blocks_of<'d>(wiring: &Wiring<'d>, device: &DeviceId) -> BTreeSet<&'d DeviceId> {
    let is_there = |end: &End| end.device() == Some(device);
    let wires = wiring.document.wires.values();
    let far = wires.filter_map(|wire| match (is_there(&wire.from), is_there(&wire.to)) {
        (true, false) => wiring.terminal(&wire.to),
        (false, true) => wiring.terminal(&wire.from),
        _ => None,
    });
    far.filter(|(_, it, _)| block(it).is_some())
        .map(|(id, _, _)| id)
        .collect()
}

/// Where a return of this device can go by mistake, each with the edit that makes the place.
fn wrong<'d>(wiring: &Wiring<'d>, device: &DeviceId, quiet: &[&DeviceId]) -> Vec<(End, Edit<'d>)> {
    let document = wiring.document;
    let mut all = Vec::new();
    if let Some(place) = airframe(document) {
        all.push((End::Structure(place.clone()), Edit::of(wiring)));
    }
    let own = blocks_of(wiring, device);
    let others = document.devices.iter().filter(|(id, it)| {
        let is_quiet = quiet.len() == 1 && quiet.contains(id);
        block(it).is_some() && !own.contains(id) && !is_quiet && *id != device
    });
    let mut tabs = others.flat_map(|(id, it)| {
        it.terminals
            .iter()
            .map(|it| End::Terminal(id.clone(), it.id.clone()))
    });
    if let Some(tab) = tabs.find(|it| wiring.is_free(it)) {
        all.push((tab, Edit::of(wiring)));
    }
    let is_metal = |place: &&PlaceId| {
        document
            .places
            .get(*place)
            .is_some_and(|it| it.conductive == Some(true))
    };
    let place = document
        .devices
        .get(device)
        .and_then(|it| it.place.as_ref())
        .filter(is_metal);
    if let Some(place) = place {
        let edit = Edit::of(wiring).add_device(&STUD.into(), local_stud(place));
        all.push((End::terminal(STUD, "stud"), edit));
    }
    all
}

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let document = wiring.document;
    let quiet = quiet_blocks(wiring);
    let mut all = Vec::new();
    for (id, wire) in &document.wires {
        for which in BOTH {
            let (at, far) = (end_of(wire, which), end_of(wire, other(which)));
            let (Some((here, ..)), Some((unit, far_device, _))) =
                (wiring.terminal(at), wiring.terminal(far))
            else {
                continue;
            };
            let is_return = quiet.contains(&here) && block(far_device).is_none();
            let is_low = [at, far]
                .iter()
                .all(|it| wiring.role(it) == Some(Role::AudioLow));
            if is_return || is_low {
                for (ground, edit) in wrong(wiring, unit, &quiet) {
                    let what = format!("{id}: {at} to {ground}");
                    all.extend(edit.moved(id, which, ground).made(what));
                }
            }
        }
    }
    for (id, cable) in &document.cables {
        let cores = cable.wires.iter().filter_map(|it| document.wires.get(it));
        let mut ends = cores.flat_map(|it| [&it.from, &it.to]);
        if !ends.any(|it| matches!(wiring.role(it), Some(Role::AudioHigh | Role::AudioLow))) {
            continue;
        }
        for which in BOTH {
            let Some(ShieldEnd::Tied { at, .. }) = shield_end(cable, which) else {
                continue;
            };
            let Some((unit, ..)) = wiring.terminal(at) else {
                continue;
            };
            for (ground, edit) in wrong(wiring, unit, &quiet) {
                let what = format!("shield of {id}: {at} to {ground}");
                all.extend(edit.shield(id, which, tied(ground)).made(what));
            }
        }
    }
    all
}
