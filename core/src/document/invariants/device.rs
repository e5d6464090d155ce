//! Devices: unique keys, and elements that refer to existing terminals.

use super::{Check, FieldPath};
use crate::document::{Device, Element, ElementKind, Reserve, limits::MAX_POSITIONS, parts::Bound};
use crate::order::Sorted;

impl Check<'_> {
    pub(in crate::document) fn device(&mut self, at: &FieldPath, id: &str, device: &Device) {
        if id.contains('/') {
            // `DEVICE/TERMINAL` is split at the first slash.
            self.say(at, "the id of a device must not contain \"/\"");
        }
        self.text(at, "tag", &device.tag);
        self.text(at, "title", &device.title);
        self.text(at, "source", &device.source);
        self.text(at, "note", &device.note);
        self.number(at, "weight_kg", device.weight_kg, Bound::NotNegative);
        if let Some(place) = &device.place {
            self.place_mention(&at.field("place"), place);
        }
        self.connectors(&at.field("connectors"), device);
        self.terminals(&at.field("terminals"), device);
        let all = at.field("elements");
        let mut seen = Sorted::new();
        for (index, element) in device.elements.iter().enumerate() {
            let at = all.index(index);
            self.part_id(&at, element.id.as_str(), seen.insert(&element.id));
            self.text(&at, "label", &element.label);
            let is = at.field("is");
            self.element(&is.field(element.is.name()), device, element);
        }
    }

    fn part_id(&mut self, at: &FieldPath, id: &str, is_new: bool) {
        let at = at.field("id");
        self.id(&at, id);
        if !is_new {
            self.say(&at, format!("\"{id}\" appears twice"));
        }
    }

    fn connectors(&mut self, all: &FieldPath, device: &Device) {
        let mut seen = Sorted::new();
        for (index, connector) in device.connectors.iter().enumerate() {
            let at = all.index(index);
            self.part_id(&at, connector.id.as_str(), seen.insert(&connector.id));
            self.text(&at, "label", &connector.label);
            self.text(&at, "style", &connector.style);
            self.text(&at, "keying", &connector.keying);
            self.text(&at, "contact_part", &connector.contact_part);
            self.text(&at, "tool", &connector.tool);
            self.text(&at, "tool_setting", &connector.tool_setting);
            self.number(&at, "contact_a", connector.contact_a, Bound::Positive);
            self.number(&at, "strip_mm", connector.strip_mm, Bound::Positive);
            for (field, gauge) in [
                ("thickest_awg", connector.thickest_awg),
                ("thinnest_awg", connector.thinnest_awg),
            ] {
                if let Some(gauge) = gauge {
                    self.gauge(&at, field, gauge);
                }
            }
        }
    }

    fn terminals(&mut self, all: &FieldPath, device: &Device) {
        let mut seen = Sorted::new();
        for (index, terminal) in device.terminals.iter().enumerate() {
            let at = all.index(index);
            self.part_id(&at, terminal.id.as_str(), seen.insert(&terminal.id));
            self.text(&at, "label", &terminal.label);
            self.text(&at, "name", &terminal.name);
            self.text(&at, "stud", &terminal.stud);
            self.number(&at, "bit_per_s", terminal.bit_per_s, Bound::Positive);
            self.number(&at, "level_v", terminal.level_v, Bound::Positive);
            self.number(&at, "bias_v", terminal.bias_v, Bound::NotNegative);
            if let Some(connector) = &terminal.connector {
                let exists = device.connector(connector).is_some();
                self.mention(
                    &at.field("connector"),
                    "connector",
                    connector.as_str(),
                    exists,
                );
            }
        }
    }

    fn element(&mut self, at: &FieldPath, device: &Device, element: &Element) {
        let joined = element.is.terminals();
        for (field, terminal) in &joined {
            let exists = device.terminal(terminal).is_some();
            self.mention(&at.field(field), "terminal", terminal.as_str(), exists);
        }
        for (field, value, bound) in element.is.numbers() {
            self.number(at, field, Some(value), bound);
        }
        match &element.is {
            ElementKind::Switch(switch) => {
                let positions = at.field("positions");
                if switch.positions.is_empty() {
                    self.say(&positions, "expected at least one position");
                } else if switch.positions.len() > MAX_POSITIONS {
                    let found = switch.positions.len();
                    self.say(
                        &positions,
                        format!("found {found} positions, expected at most {MAX_POSITIONS}"),
                    );
                } else if switch.rest >= switch.positions.len() {
                    let (found, most) = (switch.rest, switch.positions.len() - 1);
                    self.say(
                        &at.field("rest"),
                        format!("found position {found}, expected 0 to {most}"),
                    );
                }
                for (index, position) in switch.positions.iter().enumerate() {
                    let at = positions.index(index);
                    self.text(&at, "label", &position.label);
                    if position.joins.iter().any(|[a, b]| a == b) {
                        self.say(&at.field("joins"), "connects a terminal to itself");
                    }
                }
            }
            ElementKind::Contact(contact) => {
                let coil = device.element(&contact.coil);
                let exists = coil.is_some_and(|coil| matches!(coil.is, ElementKind::Coil(_)));
                self.mention(&at.field("coil"), "coil", contact.coil.as_str(), exists);
            }
            ElementKind::Battery(battery) => {
                if let Some(reserve) = &battery.reserve {
                    self.reserve(&at.field("reserve"), reserve);
                }
            }
            ElementKind::Coil(coil) if coil.drop_out_v > coil.pull_in_v => self.say(
                &at.field("drop_out_v"),
                format!(
                    "found {} V, expected no more than pull_in_v, {} V",
                    coil.drop_out_v, coil.pull_in_v
                ),
            ),
            _ => {}
        }
        let is_a_path = !matches!(
            element.is,
            ElementKind::Switch(_) | ElementKind::Bar(_) | ElementKind::StructureTie(_)
        );
        if let (true, [(_, a), (field, b), ..]) = (is_a_path, joined.as_slice())
            && a == b
        {
            self.say(
                &at.field(field),
                format!("both sides are on terminal \"{a}\", expected two terminals"),
            );
        }
    }

    fn reserve(&mut self, at: &FieldPath, reserve: &Reserve) {
        for (field, value, bound) in reserve.numbers() {
            self.number(at, field, Some(value), bound);
        }
        let curve = &reserve.open_circuit_v;
        let rises = curve.windows(2).all(|pair| pair[0][0] < pair[1][0]);
        let holds =
            |&[left, volts]: &[f64; 2]| (0.0..=1.0).contains(&left) && Bound::Positive.holds(volts);
        if !rises || !curve.iter().all(holds) {
            self.say(
                &at.field("open_circuit_v"),
                "expected pairs of charge left, rising from 0 to 1, and volts above 0",
            );
        }
    }
}
