//! The shared walk of the operators: what ends where, by roles of pins, elements and devices.

use std::collections::{BTreeMap, BTreeSet};

use loomwright_core::{
    document::{
        Bar, Cable, Device, Document, Element, ElementKind, End, Role, ShieldEnd, Terminal, Wire,
        WireEnd, natural_cmp,
    },
    edit::{Change, Key, Record},
    ids::{CableId, ConnectorId, DeviceId, ElementId, TerminalId, WireId},
};

/// A mistake: in words, and as the edit of the sound document.
#[derive(Clone, Debug)]
pub struct Mistake {
    pub what: String,
    pub change: Change,
}

/// A document with what ends at each of its terminals.
pub struct Wiring<'d> {
    pub document: &'d Document,
    wires: BTreeMap<&'d End, Vec<(&'d WireId, WireEnd)>>,
    shields: BTreeMap<&'d End, Vec<(&'d CableId, WireEnd)>>,
}

pub fn end_of(wire: &Wire, which: WireEnd) -> &End {
    match which {
        WireEnd::From => &wire.from,
        WireEnd::To => &wire.to,
    }
}

pub fn end_mut(wire: &mut Wire, which: WireEnd) -> &mut End {
    match which {
        WireEnd::From => &mut wire.from,
        WireEnd::To => &mut wire.to,
    }
}

pub fn other(which: WireEnd) -> WireEnd {
    match which {
        WireEnd::From => WireEnd::To,
        WireEnd::To => WireEnd::From,
    }
}

pub fn shield_end(cable: &Cable, which: WireEnd) -> Option<&ShieldEnd> {
    let shield = cable.shield.as_ref()?;
    Some(match which {
        WireEnd::From => &shield.from,
        WireEnd::To => &shield.to,
    })
}

pub const BOTH: [WireEnd; 2] = [WireEnd::From, WireEnd::To];

/// A protector, by its element: line side, load side.
pub fn protector(element: &Element) -> Option<(&TerminalId, &TerminalId)> {
    match &element.is {
        ElementKind::Protector(it) => Some((&it.line, &it.load)),
        _ => None,
    }
}

/// Pairs of terminals that an element joins or parts: each pole of a switch that is open at rest, and each contact.
pub fn switched(element: &Element) -> Vec<[&TerminalId; 2]> {
    match &element.is {
        ElementKind::Contact(it) => vec![[&it.a, &it.b]],
        ElementKind::Switch(it) => {
            let at_rest = it.positions.get(it.rest).map(|it| &it.joins[..]);
            let made_at_rest = |[a, b]: [&TerminalId; 2]| {
                let mut rest = at_rest.unwrap_or_default().iter();
                rest.any(|[x, y]| (x, y) == (a, b) || (y, x) == (a, b))
            };
            let mut pairs = Vec::new();
            for [a, b] in it.positions.iter().flat_map(|it| &it.joins) {
                let known = pairs.contains(&[a, b]) || pairs.contains(&[b, a]);
                if !known && !made_at_rest([a, b]) {
                    pairs.push([a, b]);
                }
            }
            pairs
        }
        _ => Vec::new(),
    }
}

pub fn bars(device: &Device) -> impl Iterator<Item = &Bar> {
    device.elements.iter().filter_map(|it| match &it.is {
        ElementKind::Bar(bar) => Some(bar),
        _ => None,
    })
}

/// The first terminal that metal inside the device makes one with this.
pub fn class<'d>(device: &'d Device, terminal: &'d TerminalId) -> &'d TerminalId {
    let mut one = BTreeSet::from([terminal]);
    loop {
        let before = one.len();
        for bar in bars(device) {
            if bar.terminals.iter().any(|it| one.contains(it)) {
                one.extend(&bar.terminals);
            }
        }
        if one.len() == before {
            return one.first().expect("it holds one");
        }
    }
}

pub fn is_touching(element: &Element, terminal: &TerminalId) -> bool {
    element.is.terminals().iter().any(|(_, it)| *it == terminal)
}

impl<'d> Wiring<'d> {
    pub fn new(document: &'d Document) -> Self {
        let mut wiring = Self {
            document,
            wires: BTreeMap::new(),
            shields: BTreeMap::new(),
        };
        for (id, wire) in &document.wires {
            for which in BOTH {
                let at = wiring.wires.entry(end_of(wire, which)).or_default();
                at.push((id, which));
            }
        }
        for (id, cable) in &document.cables {
            for which in BOTH {
                if let Some(at) = shield_end(cable, which).and_then(ShieldEnd::at) {
                    wiring.shields.entry(at).or_default().push((id, which));
                }
            }
        }
        wiring
    }

    /// The ends of wires here.
    pub fn wires_at(&self, end: &End) -> &[(&'d WireId, WireEnd)] {
        self.wires.get(end).map_or(&[], Vec::as_slice)
    }

    /// The ends of wires at a terminal, and at what metal inside the device makes one with it.
    pub fn wires_on(&self, id: &DeviceId, terminal: &TerminalId) -> Vec<(&'d WireId, WireEnd)> {
        let Some(device) = self.document.devices.get(id) else {
            return Vec::new();
        };
        let one = class(device, terminal);
        let same = device
            .terminals
            .iter()
            .filter(|it| class(device, &it.id) == one);
        let ends = same.map(|it| End::Terminal(id.clone(), it.id.clone()));
        ends.flat_map(|end| self.wires_at(&end).to_vec()).collect()
    }

    /// The ends of shields here.
    pub fn shields_at(&self, end: &End) -> &[(&'d CableId, WireEnd)] {
        self.shields.get(end).map_or(&[], Vec::as_slice)
    }

    pub fn is_free(&self, end: &End) -> bool {
        self.wires_at(end).is_empty() && self.shields_at(end).is_empty()
    }

    /// The device and terminal of an end.
    pub fn terminal(&self, end: &End) -> Option<(&'d DeviceId, &'d Device, &'d Terminal)> {
        let End::Terminal(id, terminal) = end else {
            return None;
        };
        let (id, device) = self.document.devices.get_key_value(id)?;
        Some((id, device, device.terminal(terminal)?))
    }

    pub fn role(&self, end: &End) -> Option<Role> {
        self.terminal(end).map(|(_, _, it)| it.role)
    }

    /// Every element with its device.
    pub fn elements(&self) -> impl Iterator<Item = (&'d DeviceId, &'d Device, &'d Element)> {
        let devices = self.document.devices.iter();
        devices.flat_map(|(id, device)| device.elements.iter().map(move |it| (id, device, it)))
    }

    /// The terminals of a device that are neighbors: each connector's by pin number, loose ones in their order.
    pub fn rows(device: &Device) -> Vec<Vec<&Terminal>> {
        let mut rows: BTreeMap<Option<&str>, Vec<&Terminal>> = BTreeMap::new();
        for terminal in &device.terminals {
            let connector = terminal.connector.as_ref().map(ConnectorId::as_str);
            rows.entry(connector).or_default().push(terminal);
        }
        for (connector, row) in &mut rows {
            if connector.is_some() {
                row.sort_by(|a, b| natural_cmp(&a.label, &b.label));
            }
        }
        rows.into_values().collect()
    }

    /// The terminal after this one among its neighbors.
    pub fn next(&self, end: &End) -> Option<End> {
        let (id, device, terminal) = self.terminal(end)?;
        let rows = Self::rows(device);
        let row = rows
            .iter()
            .find(|row| row.iter().any(|it| it.id == terminal.id))?;
        let at = row.iter().position(|it| it.id == terminal.id)?;
        let next = row.get(at + 1)?;
        Some(End::Terminal(id.clone(), next.id.clone()))
    }

    /// Keys of what is at an end: the place or splice; the terminal, its device and elements there, and the other
    /// pin of a mated pair; and the rest of the conductor through splices and mated pins.
    pub fn around(&self, end: &End, keys: &mut BTreeSet<String>) {
        let mut todo = vec![end.clone()];
        let mut done = BTreeSet::new();
        while let Some(end) = todo.pop() {
            if !done.insert(end.clone()) {
                continue;
            }
            match &end {
                End::Open => continue,
                End::Structure(place) => {
                    keys.insert(format!("place:{place}"));
                    continue;
                }
                End::Splice(splice) => {
                    keys.insert(format!("splice:{splice}"));
                }
                End::Terminal(id, terminal) => {
                    keys.insert(format!("terminal:{id}/{terminal}"));
                    keys.insert(format!("device:{id}"));
                    let Some(device) = self.document.devices.get(id) else {
                        continue;
                    };
                    let mut mated = false;
                    for element in device
                        .elements
                        .iter()
                        .filter(|it| is_touching(it, terminal))
                    {
                        keys.insert(format!("element:{id}/{}", element.id));
                        if let ElementKind::Mate(it) = &element.is {
                            mated = true;
                            for pin in [&it.a, &it.b] {
                                todo.push(End::Terminal(id.clone(), pin.clone()));
                            }
                        }
                    }
                    if !mated {
                        continue;
                    }
                }
            }
            for (id, which) in self.wires_at(&end) {
                keys.insert(format!("wire:{id}"));
                todo.push(end_of(&self.document.wires[*id], other(*which)).clone());
            }
        }
    }
}

/// An edit in the making: records as they become.
pub struct Edit<'d> {
    sound: &'d Document,
    change: Change,
}

impl<'d> Edit<'d> {
    pub fn of(wiring: &Wiring<'d>) -> Self {
        Self {
            sound: wiring.document,
            change: Change::default(),
        }
    }

    pub fn wire(mut self, id: &WireId, edit: impl FnOnce(&mut Wire)) -> Self {
        let key = Key::Wire(id.clone());
        if let Some(Record::Wire(mut wire)) = self.change.after(self.sound, &key) {
            edit(&mut wire);
            self.change
                .and_set(self.sound, key, Some(Record::Wire(wire)));
        }
        self
    }

    pub fn moved(self, id: &WireId, which: WireEnd, to: End) -> Self {
        self.wire(id, |wire| *end_mut(wire, which) = to)
    }

    pub fn device(mut self, id: &DeviceId, edit: impl FnOnce(&mut Device)) -> Self {
        let key = Key::Device(id.clone());
        if let Some(Record::Device(mut device)) = self.change.after(self.sound, &key) {
            edit(&mut device);
            self.change
                .and_set(self.sound, key, Some(Record::Device(device)));
        }
        self
    }

    pub fn element(
        self,
        id: &DeviceId,
        element: &ElementId,
        edit: impl FnOnce(&mut ElementKind),
    ) -> Self {
        self.device(id, |device| {
            let found = device.elements.iter_mut().find(|it| it.id == *element);
            edit(&mut found.expect("an element of the device").is);
        })
    }

    pub fn cable(mut self, id: &CableId, edit: impl FnOnce(&mut Cable)) -> Self {
        let key = Key::Cable(id.clone());
        if let Some(Record::Cable(mut cable)) = self.change.after(self.sound, &key) {
            edit(&mut cable);
            self.change
                .and_set(self.sound, key, Some(Record::Cable(cable)));
        }
        self
    }

    pub fn shield(self, id: &CableId, which: WireEnd, becomes: ShieldEnd) -> Self {
        self.cable(id, |cable| {
            if let Some(shield) = &mut cable.shield {
                match which {
                    WireEnd::From => shield.from = becomes,
                    WireEnd::To => shield.to = becomes,
                }
            }
        })
    }

    pub fn add_device(mut self, id: &DeviceId, device: Device) -> Self {
        let (key, record) = (Key::Device(id.clone()), Record::Device(device));
        self.change.and_set(self.sound, key, Some(record));
        self
    }

    /// Without the wire; a cable whose last core it is goes with it.
    pub fn without(mut self, id: &WireId) -> Self {
        for (cable, record) in &self.sound.cables {
            if record.wires.contains(id) {
                self = self.cable(cable, |it| it.wires.retain(|it| it != id));
                let key = Key::Cable(cable.clone());
                if matches!(self.change.after(self.sound, &key), Some(Record::Cable(it)) if it.wires.is_empty())
                {
                    self.change.and_set(self.sound, key, None);
                }
            }
        }
        self.change.and_set(self.sound, Key::Wire(id.clone()), None);
        self
    }

    /// The mistake, if anything changed.
    pub fn made(self, what: String) -> Option<Mistake> {
        let change = self.change;
        (!change.is_empty()).then_some(Mistake { what, change })
    }
}
