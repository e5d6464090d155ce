//! The changes that fixes are made of.

use super::Facts;
use crate::{
    document::{Device, ElementKind, End, Wire},
    edit::{Change, Key, Record},
    ids::{DeviceId, ElementId, TerminalId, WireId},
};

/// A record as a fix leaves it: the values that it changes are no longer those of the catalog or of a list.
fn computed(mut now: Record, was: Option<Record>) -> Record {
    if let Some(was) = was {
        now.typed_since(&was);
    }
    now
}

impl Facts<'_> {
    /// The first name made of this stem and a number that is not taken.
    pub fn free_name(&self, stem: &str, taken: impl Fn(&str) -> bool) -> String {
        (1..)
            .map(|n| format!("{stem}{n}"))
            .find(|name| !taken(name))
            .expect("there are fewer records than numbers")
    }

    /// The change that does this to a device.
    pub fn change_device(&self, id: &DeviceId, edit: impl FnOnce(&mut Device)) -> Change {
        let after = self.device(id).map(|device| {
            let mut device = device.clone();
            edit(&mut device);
            computed(
                Record::Device(device),
                self.device(id).cloned().map(Record::Device),
            )
        });
        Change::set(self.document, Key::Device(id.clone()), after)
    }

    /// The change that does this to an element of a device.
    pub fn change_element(
        &self,
        id: &DeviceId,
        element: &ElementId,
        edit: impl FnOnce(&mut ElementKind),
    ) -> Change {
        self.change_device(id, |device| {
            if let Some(element) = device.elements.iter_mut().find(|it| it.id == *element) {
                edit(&mut element.is);
            }
        })
    }

    /// The change that does this to a wire.
    pub fn change_wire(&self, id: &WireId, edit: impl FnOnce(&mut Wire)) -> Change {
        let after = self.wire(id).map(|wire| {
            let mut wire = wire.clone();
            edit(&mut wire);
            computed(Record::Wire(wire), self.wire(id).cloned().map(Record::Wire))
        });
        Change::set(self.document, Key::Wire(id.clone()), after)
    }

    /// The change that exchanges whatever ends at two terminals of a device.
    pub fn exchange_wires(&self, id: &DeviceId, a: &TerminalId, b: &TerminalId) -> Change {
        let [a, b] = [a, b].map(|terminal| End::Terminal(id.clone(), terminal.clone()));
        let mut change = Change::default();
        let wires = self.wires_at(&a).chain(self.wires_at(&b));
        for (wire_id, _) in wires {
            let Some(wire) = self.wire(wire_id) else {
                continue;
            };
            let mut wire = wire.clone();
            for end in [&mut wire.from, &mut wire.to] {
                if *end == a {
                    *end = b.clone();
                } else if *end == b {
                    *end = a.clone();
                }
            }
            change.and_set(
                self.document,
                Key::Wire(wire_id.clone()),
                Some(Record::Wire(wire)),
            );
        }
        change
    }

    /// The change that turns a diode round: the wires at its ends change places.
    pub fn turn_diode(&self, device: &DeviceId, element: &ElementId) -> Change {
        let found = self.device(device).and_then(|it| it.element(element));
        match found.map(|element| &element.is) {
            Some(ElementKind::Diode(diode)) => {
                self.exchange_wires(device, &diode.anode, &diode.cathode)
            }
            _ => Change::default(),
        }
    }
}
