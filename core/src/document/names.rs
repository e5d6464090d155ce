//! Labels that a person sees: of records, ends and parts of devices.

use super::{Device, DeviceKind, Document, Element, End, Terminal};
use crate::ids::{DeviceId, WireId};

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
        match self.wires.get(id) {
            None => id.to_string(),
            Some(wire) if wire.number.is_empty() => format!(
                "wire from {} to {}",
                self.end_label(&wire.from),
                self.end_label(&wire.to)
            ),
            Some(wire) => wire.number.clone(),
        }
    }

    /// The label of a record or of a part of a device. `kind` and `id` are those of a finding:
    /// `device`, `wire`, `cable`… and `terminal` or `element` with `DEVICE/PART`.
    pub fn record_label(&self, kind: &str, id: &str) -> String {
        let label = match kind {
            "project" => Some(self.project.title.clone()),
            "place" => self.places.get(id).map(|place| place.title.clone()),
            "device" => self.devices.get(id).map(|device| device.tag.clone()),
            "wire" => Some(self.wire_label(&id.into())),
            "cable" => self.cables.get(id).map(|cable| cable.label.clone()),
            "splice" => self.splices.get(id).map(|splice| splice.label.clone()),
            "route" => self.routes.get(id).map(|route| route.title.clone()),
            "state" => self.states.get(id).map(|state| state.title.clone()),
            "sheet" => {
                (self.sheets.get(id)).map(|sheet| format!("sheet {} {}", sheet.number, sheet.title))
            }
            "log" => self
                .log
                .get(id)
                .map(|entry| format!("log of {}", entry.date)),
            "accepted" => {
                (self.accepted.get(id)).map(|accepted| format!("accepted {}", accepted.rule))
            }
            "reading" => self.readings.get(id).map(|reading| {
                format!(
                    "{} at {}",
                    reading.test.name(),
                    self.end_label(&reading.from)
                )
            }),
            "revision" => self.revisions.get(id).map(|it| match it.name.is_empty() {
                true => format!("of {}, {}", it.date, it.reason),
                false => it.name.clone(),
            }),
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
