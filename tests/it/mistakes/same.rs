//! Whether an edit changes anything: two tabs of one ground block are one point, and a switch whose two wires change
//! places is the same switch.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    document::{Device, Document, ElementKind, End, LoadSort, ProtectorStyle, Terminal, Wire},
    edit::{Change, Record},
    ids::{CableId, DeviceId, TerminalId},
};

use super::walk::{BOTH, Wiring, class, shield_end};

/// True if the circuit and the documents say the same after the change: every changed conductor ends at the same points
/// as before, or two terminals between which its device makes no difference changed places; and no terminal holds more
/// than fits, if it did not before.
pub fn changes_nothing(sound: &Document, changed: &Document, change: &Change) -> bool {
    let is_conductor =
        |record: &Option<Record>| matches!(record, Some(Record::Wire(_) | Record::Cable(_)));
    if change
        .steps()
        .values()
        .any(|step| !is_conductor(&step.before) || !is_conductor(&step.after))
    {
        return false;
    }
    let none = |_: &DeviceId, _: &TerminalId| None;
    (form(sound, &none) == form(changed, &none) || swapped(sound, changed, change))
        && !fits_less(sound, changed, change)
}

/// Conductors with their ends as points, by record.
type Form = BTreeMap<String, Vec<String>>;

fn point(
    document: &Document,
    end: &End,
    swap: &dyn Fn(&DeviceId, &TerminalId) -> Option<TerminalId>,
) -> String {
    let End::Terminal(id, terminal) = end else {
        return end.to_string();
    };
    let Some(device) = document.devices.get(id) else {
        return end.to_string();
    };
    let one = class(device, terminal);
    let one = swap(id, one).unwrap_or_else(|| one.clone());
    format!("{id}/{one}")
}

fn form(document: &Document, swap: &dyn Fn(&DeviceId, &TerminalId) -> Option<TerminalId>) -> Form {
    let mut form = Form::new();
    for (id, wire) in &document.wires {
        let ends = [&wire.from, &wire.to].map(|end| point(document, end, swap));
        form.insert(
            format!("wire:{id}"),
            [ends.to_vec(), vec![rest(wire)]].concat(),
        );
    }
    for (id, cable) in &document.cables {
        let ends = BOTH.map(|which| shield_point(document, id, which, swap));
        form.insert(
            format!("cable:{id}"),
            [
                ends.to_vec(),
                cable.wires.iter().map(ToString::to_string).collect(),
            ]
            .concat(),
        );
    }
    form
}

fn shield_point(
    document: &Document,
    id: &CableId,
    which: loomwright_core::document::WireEnd,
    swap: &dyn Fn(&DeviceId, &TerminalId) -> Option<TerminalId>,
) -> String {
    let at = shield_end(&document.cables[id], which).and_then(|it| it.at());
    at.map_or(String::new(), |end| point(document, end, swap))
}

/// What a wire is besides its ends.
fn rest(wire: &Wire) -> String {
    format!(
        "{:?} {:?} {:?} {:?}",
        wire.gauge_awg, wire.length_m, wire.fuse, wire.conductor
    )
}

/// True if the change is only that two terminals of one device changed places, and the device is the same then.
fn swapped(sound: &Document, changed: &Document, change: &Change) -> bool {
    let mut pairs: BTreeSet<(&DeviceId, &TerminalId, &TerminalId)> = BTreeSet::new();
    for step in change.steps().values() {
        if let (Some(Record::Wire(was)), Some(Record::Wire(now))) = (&step.before, &step.after) {
            for (was, now) in [(&was.from, &now.from), (&was.to, &now.to)] {
                if let (End::Terminal(a, x), End::Terminal(b, y)) = (was, now)
                    && a == b
                    && x != y
                {
                    pairs.insert((a, x.min(y), x.max(y)));
                }
            }
        }
    }
    let before = form(sound, &|_, _| None);
    pairs.into_iter().any(|(id, x, y)| {
        let device = &sound.devices[id];
        let (x, y) = (class(device, x), class(device, y));
        let swap = |at: &DeviceId, it: &TerminalId| match it {
            _ if at != id => None,
            it if it == x => Some(y.clone()),
            it if it == y => Some(x.clone()),
            _ => None,
        };
        is_symmetric(device, x, y) && form(changed, &swap) == before
    })
}

/// True if a device is the same with two of its terminals in each other's place.
fn is_symmetric(device: &Device, x: &TerminalId, y: &TerminalId) -> bool {
    let like = |id: &TerminalId| {
        device
            .terminal(id)
            .map(|it| (it.role, it.form, &it.connector, it.fits()))
    };
    let touched = |id: &TerminalId| {
        device
            .elements
            .iter()
            .any(|it| super::walk::is_touching(it, id))
    };
    let swap = |id: &TerminalId| match id {
        id if id == x => y.clone(),
        id if id == y => x.clone(),
        id => id.clone(),
    };
    like(x) == like(y)
        && touched(x)
        && touched(y)
        && inside(device, &|id| id.clone()) == inside(device, &swap)
}

/// What is inside a device, with its terminals renamed; of what works either way round, in one order.
fn inside(device: &Device, name: &dyn Fn(&TerminalId) -> TerminalId) -> Vec<String> {
    let mut all: Vec<String> = (device.elements.iter())
        .map(|element| {
            let mut is = element.is.clone();
            is.each_terminal_mut(&mut |id| *id = name(id));
            let turn = |a: &mut TerminalId, b: &mut TerminalId| {
                if b < a {
                    std::mem::swap(a, b);
                }
            };
            match &mut is {
                ElementKind::Protector(it) if it.style != ProtectorStyle::Breaker => {
                    turn(&mut it.line, &mut it.load);
                }
                ElementKind::Contact(it) => turn(&mut it.a, &mut it.b),
                ElementKind::Coil(it) => turn(&mut it.a, &mut it.b),
                ElementKind::Resistor(it) => turn(&mut it.a, &mut it.b),
                ElementKind::Shunt(it) => turn(&mut it.a, &mut it.b),
                ElementKind::Load(it) if it.either_way && it.sort != LoadSort::Motor => {
                    turn(&mut it.plus, &mut it.minus);
                }
                ElementKind::Switch(it) => {
                    for position in &mut it.positions {
                        position.joins.iter_mut().for_each(|join| join.sort());
                        position.joins.sort();
                    }
                }
                ElementKind::Bar(it) => it.terminals.sort(),
                _ => {}
            }
            format!("{is:?}")
        })
        .collect();
    all.sort();
    all
}

/// True if a terminal holds more than fits that did not before.
fn fits_less(sound: &Document, changed: &Document, change: &Change) -> bool {
    let [before, after] = [sound, changed].map(Wiring::new);
    let over = |wiring: &Wiring<'_>, end: &End, terminal: &Terminal| {
        wiring.wires_at(end).len() + wiring.shields_at(end).len() > terminal.fits() as usize
    };
    let mut ends = BTreeSet::new();
    for step in change.steps().values() {
        if let Some(Record::Wire(wire)) = &step.after {
            ends.extend([wire.from.clone(), wire.to.clone()]);
        }
    }
    ends.iter().any(|end| {
        let Some((_, _, terminal)) = after.terminal(end) else {
            return false;
        };
        over(&after, end, terminal) && !over(&before, end, terminal)
    })
}
