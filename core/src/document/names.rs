//! Labels that a person sees: of records, ends and parts of devices.

use super::{
    Device, DeviceKind, Document, Element, End, Key, Terminal, kind::Kind, others::Others,
};
use crate::ids::{DeviceId, PlaceId, TerminalId, WireId};

impl Device {
    /// The label of a terminal: "COM1 J105-1" in a connector, "K1 BAT" for a loose stud. A
    /// connector with the device's own tag, and the halves of an in-line connector, omit the tag:
    /// "P310-6".
    pub fn terminal_label(&self, terminal: &Terminal) -> String {
        match self.connector_of(terminal) {
            Some(connector)
                if self.kind == DeviceKind::InlineConnector || connector.label == self.tag =>
            {
                format!("{}-{}", connector.label, terminal.label)
            }
            Some(connector) => format!("{} {}-{}", self.tag, connector.label, terminal.label),
            None => format!("{} {}", self.tag, terminal.label),
        }
    }

    /// The label of an element: its own label, else the device's tag.
    pub fn element_label(&self, element: &Element) -> String {
        match element.label.as_str() {
            "" => self.tag.clone(),
            label if label == self.tag => label.into(),
            label => format!("{} {label}", self.tag),
        }
    }
}

impl Document {
    /// The device and the element that a key of a state, `DEVICE/ELEMENT`, names.
    pub fn element_at(&self, key: &str) -> Option<(&DeviceId, &Device, &Element)> {
        let (device, element) = key.split_once('/')?;
        let (id, device) = self.devices.get_key_value(device)?;
        let element = device.elements.iter().find(|e| e.id.as_str() == element)?;
        Some((id, device, element))
    }

    /// The label of an end. A record that is not in the document is named by its key.
    pub fn end_label(&self, end: &End) -> String {
        match end {
            End::Terminal(device, terminal) => {
                let found = self.devices.get(device);
                match found.and_then(|d| Some((d, d.terminal(terminal)?))) {
                    Some((device, terminal)) => device.terminal_label(terminal),
                    None => format!("{device} {terminal}"),
                }
            }
            End::Splice(id) => self.record_label("splice", id.as_str()),
            End::Structure(id) => format!("airframe, {}", self.record_label("place", id.as_str())),
            End::Open => "not wired yet".into(),
        }
    }

    /// The label of a wire: its number, or its two ends if it has none.
    pub fn wire_label(&self, id: &WireId) -> String {
        self.wires
            .get(id)
            .map_or_else(|| id.to_string(), |wire| wire.label(self))
    }

    /// The label of a record or of a part of a device. `kind` and `id` are those of a finding:
    /// `device`, `wire`, `cable`… and `terminal` or `element` with `DEVICE/PART`.
    pub fn record_label(&self, kind: &str, id: &str) -> String {
        if let Some(key) = Key::parse(kind, id) {
            return self.key_label(&key);
        }
        let label = match kind {
            "terminal" => (id.split_once('/'))
                .map(|(device, terminal)| self.end_label(&End::terminal(device, terminal))),
            "element" => {
                (self.element_at(id)).map(|(_, device, element)| device.element_label(element))
            }
            _ => None,
        };
        label
            .filter(|label| !label.is_empty())
            .unwrap_or_else(|| id.into())
    }
}

impl Others for Document {
    fn has(&self, kind: &str, id: &str) -> bool {
        Key::parse(kind, id).is_some_and(|key| self.get(&key).is_some())
    }

    fn has_terminal(&self, device: &DeviceId, terminal: &TerminalId) -> bool {
        let found = self.devices.get(device);
        found.is_some_and(|device| device.terminal(terminal).is_some())
    }

    fn element(&self, key: &str) -> Option<&Element> {
        self.element_at(key).map(|(_, _, element)| element)
    }

    fn place_title(&self, id: &PlaceId) -> &str {
        self.places.get(id).map_or("", |place| &place.title)
    }

    fn end_label(&self, end: &End) -> String {
        Self::end_label(self, end)
    }
}
