//! Small documents for the tests of `netlist` and `solve`: elements and wires in a line each.

use crate::{
    document::{
        Device, DeviceKind, Document, Element, Place, Splice, State, Wire,
    },
    units::Gauge,
};

/// A document being put together.
#[derive(Default)]
pub(crate) struct Small(pub(crate) Document);

impl Small {
    /// Adds an element to a device, made if it is new: `element("bt", "b", "battery", "plus:+ minus:- emf_v:12.8 ohm:0.01")`.
    pub(crate) fn element(self, device: &str, element: &str, kind: &str, fields: &str) -> Self {
        let value = |text: &str| {
            serde_json::from_str(text).unwrap_or_else(|_| serde_json::Value::from(text))
        };
        let fields: serde_json::Map<_, _> = fields
            .split_whitespace()
            .map(|field| field.split_once(':').expect("key:value"))
            .map(|(key, text)| (key.to_string(), value(text)))
            .collect();
        self.json(device, element, serde_json::json!({ kind: fields }))
    }

    fn json(mut self, device: &str, element: &str, is: serde_json::Value) -> Self {
        self.0.devices.entry(device.into()).or_insert_with(|| new_device(device)).elements.push(
            Element {
                id: element.into(),
                label: String::new(),
                is: serde_json::from_value(is).expect("an element"),
                extra: crate::document::Extra::new(),
            },
        );
        self
    }

    pub(crate) fn battery(self) -> Self {
        self.element("bt", "b", "battery", "plus:+ minus:- emf_v:12.8 ohm:0.01")
    }

    pub(crate) fn bar(self, device: &str, element: &str, used_as: &str, terminals: &[&str]) -> Self {
        let bar = serde_json::json!({"bar": {"terminals": terminals, "used_as": used_as}});
        self.json(device, element, bar)
    }

    /// A switch; each position is a list of joined pairs.
    pub(crate) fn switch(self, device: &str, element: &str, positions: &[&[[&str; 2]]]) -> Self {
        let positions: Vec<_> = positions
            .iter()
            .map(|joins| serde_json::json!({"label": "", "joins": joins}))
            .collect();
        self.json(device, element, serde_json::json!({"switch": {"positions": positions}}))
    }

    pub(crate) fn load(self, device: &str, law: &str, amps: f64) -> Self {
        let figure = serde_json::json!({"amps": amps, "origin": "manual"});
        let load = serde_json::json!({"plus": "+", "minus": "-", "law": law, "at_v": 13.8, "continuous_a": figure});
        self.json(device, "l", serde_json::json!({ "load": load }))
    }

    /// Adds a wire; ends as `device/terminal`, `splice:s`, `structure:p` or `open`. No length: 0.
    pub(crate) fn wire(mut self, id: &str, from: &str, to: &str, awg: i8, length_m: f64) -> Self {
        let end = |text: &str| match text.contains('/') {
            true => format!("terminal:{text}"),
            false => text.to_string(),
        };
        let wire = serde_json::json!({
            "number": id, "from": end(from), "to": end(to), "gauge_awg": Gauge(awg),
        });
        let mut wire: Wire = serde_json::from_value(wire).expect("a wire");
        wire.length_m = (length_m > 0.0).then_some(length_m);
        self.0.wires.insert(id.into(), wire);
        self
    }

    pub(crate) fn place(mut self, id: &str, conductive: bool, bonded_to: Option<&str>) -> Self {
        let place = Place {
            title: id.into(),
            conductive,
            bonded_to: bonded_to.map(Into::into),
            bond_ohm: None,
            extra: crate::document::Extra::new(),
        };
        self.0.places.insert(id.into(), place);
        self
    }

    pub(crate) fn in_place(mut self, device: &str, place: &str) -> Self {
        let device = self.0.devices.get_mut(device).expect("a device");
        device.place = Some(place.into());
        self
    }

    pub(crate) fn splice(mut self, id: &str, ohm: f64) -> Self {
        let splice = Splice {
            label: id.into(),
            place: None,
            ohm: Some(ohm),
            extra: crate::document::Extra::new(),
        };
        self.0.splices.insert(id.into(), splice);
        self
    }

    pub(crate) fn state(mut self, id: &str, change: impl FnOnce(&mut State)) -> Self {
        let mut state = State { title: id.into(), ..State::default() };
        change(&mut state);
        self.0.states.insert(id.into(), state);
        self
    }
}

fn new_device(id: &str) -> Device {
    serde_json::from_value(serde_json::json!({"tag": id, "title": id, "kind": DeviceKind::Unit}))
        .expect("a device")
}
