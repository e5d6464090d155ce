//! The center of a coaxial line is on the shell or base, or the lines of two antennas are swapped.

use loomwright_core::{
    document::{ConductorKind, DeviceKind, End, Role, WireEnd},
    ids::WireId,
};

use super::walk::{BOTH, Edit, Mistake, Wiring, end_of};

fn centers<'d>(wiring: &Wiring<'d>) -> Vec<(&'d WireId, WireEnd)> {
    let wires = wiring.document.wires.iter();
    let coax = wires.filter(|(_, it)| it.conductor == ConductorKind::Coax);
    let ends = coax.flat_map(|(id, _)| BOTH.map(|which| (id, which)));
    ends.filter(|(id, which)| {
        wiring.role(end_of(&wiring.document.wires[*id], *which)) == Some(Role::Rf)
    })
    .collect()
}

pub fn on_shell(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, which) in centers(wiring) {
        let at = end_of(&wiring.document.wires[id], which);
        let Some((device_id, device, _)) = wiring.terminal(at) else {
            continue;
        };
        // The shell that the line's own shield is on; a unit can have other shells.
        let shells = device
            .terminals
            .iter()
            .filter(|it| it.role == Role::ShieldTie);
        let mut shells = shells.map(|it| End::Terminal(device_id.clone(), it.id.clone()));
        let is_own = |end: &End| {
            let mut shields = wiring.shields_at(end).iter();
            shields.any(|(cable, _)| wiring.document.cables[*cable].wires.contains(id))
        };
        if let Some(shell) = shells.find(is_own) {
            let what = format!("{id}: center on {shell}");
            all.extend(Edit::of(wiring).moved(id, which, shell).made(what));
        }
    }
    all
}

pub fn swapped(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let is_antenna = |(id, which): &(&WireId, WireEnd)| {
        let end = end_of(&wiring.document.wires[*id], *which);
        wiring
            .terminal(end)
            .is_some_and(|(_, device, _)| device.kind == DeviceKind::Antenna)
    };
    let ends: Vec<_> = centers(wiring).into_iter().filter(is_antenna).collect();
    let mut all = Vec::new();
    for (at, first) in ends.iter().enumerate() {
        for second in &ends[at + 1..] {
            all.extend(super::magneto::swap(wiring, [*first, *second]));
        }
    }
    all
}
