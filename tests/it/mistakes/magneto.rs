//! A P-lead is on the magneto's case, on the wrong magneto, or left out.

use loomwright_core::{
    document::{DeviceKind, End, Role, ShieldEnd, WireEnd},
    ids::WireId,
};

use super::walk::{BOTH, Edit, Mistake, Wiring, end_of, shield_end};

/// The ends of P-leads at magnetos.
fn leads<'d>(wiring: &Wiring<'d>) -> Vec<(&'d WireId, WireEnd)> {
    let wires = wiring.document.wires.iter();
    let ends = wires.flat_map(|(id, wire)| BOTH.map(|which| (id, wire, which)));
    let at_magneto = ends.filter(|(_, wire, which)| {
        let at = wiring.terminal(end_of(wire, *which));
        at.is_some_and(|(_, device, it)| {
            it.role == Role::PLead && device.kind != DeviceKind::Switch
        })
    });
    at_magneto.map(|(id, _, which)| (id, which)).collect()
}

pub fn on_case(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, which) in leads(wiring) {
        let at = end_of(&wiring.document.wires[id], which);
        let Some((device_id, device, _)) = wiring.terminal(at) else {
            continue;
        };
        let case = device
            .terminals
            .iter()
            .find(|it| matches!(it.role, Role::ShieldTie | Role::Return));
        if let Some(case) = case {
            let case = End::Terminal(device_id.clone(), case.id.clone());
            let what = format!("{id}: {at} to {case}");
            all.extend(Edit::of(wiring).moved(id, which, case).made(what));
        }
    }
    all
}

pub fn swapped(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let leads = leads(wiring);
    leads
        .windows(2)
        .filter_map(|pair| swap(wiring, [pair[0], pair[1]]))
        .collect()
}

pub fn left_out(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let leads = leads(wiring).into_iter();
    leads
        .filter_map(|(id, _)| {
            Edit::of(wiring)
                .without(id)
                .made(format!("P-lead {id} left out"))
        })
        .collect()
}

/// These ends of two wires, each with the shield around it, in each other's place.
pub fn swap(wiring: &Wiring<'_>, pair: [(&WireId, WireEnd); 2]) -> Option<Mistake> {
    let document = wiring.document;
    let [a, b] = pair.map(|(id, which)| end_of(&document.wires[id], which).clone());
    let mut edit = Edit::of(wiring);
    let cables = pair.map(|(id, which)| {
        let mut cables = document.cables.iter();
        let (cable, record) = cables.find(|(_, it)| it.wires.contains(id))?;
        let at = shield_end(record, which).and_then(ShieldEnd::at)?;
        Some((cable, which, at.clone()))
    });
    if let [
        Some((first, of_first, at_first)),
        Some((second, of_second, at_second)),
    ] = cables
    {
        edit = edit.shield(first, of_first, super::shield::tied(at_second));
        edit = edit.shield(second, of_second, super::shield::tied(at_first));
    }
    edit.moved(pair[0].0, pair[0].1, b.clone())
        .moved(pair[1].0, pair[1].1, a.clone())
        .made(format!("{} at {b}, {} at {a}", pair[0].0, pair[1].0))
}
