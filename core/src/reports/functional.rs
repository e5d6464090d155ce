//! The functional checks at the end of the first power-up: what a meter cannot show. A line only for what is drawn.

use petgraph::graph::NodeIndex;

use super::{Cell, Table, harness::position};
use crate::{
    document::{Device, DeviceKind, Document, ElementKind, Role, natural_cmp},
    ids::DeviceId,
    netlist::{AtNode, EdgeKind, EdgeOf, Netlist, Through},
    order::InOrder,
};

const COLUMNS: &[(&str, &str, &str)] = &[
    ("check", "Check", ""),
    ("at", "Where", ""),
    ("action", "Do", ""),
    ("expected", "Pass if", ""),
    ("result", "Result", ""),
    ("who", "Who and when", ""),
];

/// The checks, in the order in which they are made: units alone, then transmitting, then with the engine.
pub(super) fn table(document: &Document) -> Table {
    let checks = Checks {
        document,
        netlist: Netlist::new(document),
    };
    let mut table = Table::new("functions", "Functional checks", COLUMNS).grouped();
    let mut rows = checks.lamps();
    rows.extend(checks.jacks());
    rows.extend(checks.inputs());
    rows.extend(checks.keys());
    rows.extend(checks.antennas());
    rows.extend(checks.engine());
    table.rows = rows
        .into_iter()
        .map(|[check, at, action, expected]| {
            let mut row = [check, at, action, expected].map(Cell::text).to_vec();
            row.extend([Cell::Empty, Cell::Empty]);
            row
        })
        .collect();
    table
}

type Row = [String; 4];

struct Checks<'d> {
    document: &'d Document,
    netlist: Netlist,
}

impl<'d> Checks<'d> {
    /// The devices with their labels, in the order of these.
    fn devices(&self) -> Vec<(String, &'d DeviceId, &'d Device)> {
        let devices = self.document.devices.iter();
        let label = |(id, device): (&'d DeviceId, &'d Device)| match device.title.as_str() {
            "" => (device.tag.clone(), id, device),
            title => (format!("{}, {title}", device.tag), id, device),
        };
        let mut all: Vec<_> = devices.map(label).collect();
        all.order_by(|a, b| natural_cmp(&a.0, &b.0));
        all
    }

    /// The nodes of a device's terminals of some roles that metal leads away from.
    fn wired(&self, id: &DeviceId, device: &Device, roles: &[Role]) -> Vec<NodeIndex> {
        let terminals = device.terminals.iter();
        let of_role = terminals.filter(|it| roles.contains(&it.role));
        let nodes = of_role.filter_map(|it| self.netlist.terminal(id, &it.id));
        let is_wired = |node: &NodeIndex| {
            let mut edges = self.netlist.edges_at(*node);
            edges.any(|it| matches!(self.netlist.of(it), EdgeOf::Wire(_) | EdgeOf::InlineFuse(_)))
        };
        nodes.filter(is_wired).collect()
    }

    /// The switches that metal, breakers and fuses join to a node: keys of their elements.
    fn switches_at(&self, node: NodeIndex) -> Vec<String> {
        let through = Through::METAL.and(Through::PROTECTORS);
        let reach = self.netlist.reach([node], through, |node| {
            // Not on to what else a bus or block joins.
            AtNode::stop_if(self.netlist.bar_at(node).is_some())
        });
        let mut keys = Vec::new();
        for node in &reach.nodes {
            for edge in self.netlist.edges_at(*node) {
                if let (EdgeKind::Switch { .. }, EdgeOf::Element(device, element, _)) =
                    (self.netlist.graph[edge].kind, self.netlist.of(edge))
                {
                    let key = format!("{device}/{element}");
                    if !keys.contains(&key) {
                        keys.push(key);
                    }
                }
            }
        }
        keys
    }

    /// The positions of switches other than rest: "GRIP1 PTT: PRESSED".
    fn thrown(&self, keys: &[String]) -> Vec<String> {
        let mut all = Vec::new();
        for key in keys {
            if let Some((.., element)) = self.document.element_at(key)
                && let ElementKind::Switch(switch) = &element.is
            {
                let others = (0..switch.positions.len()).filter(|it| *it != switch.rest);
                all.extend(others.map(|at| position(self.document, key, at)));
            }
        }
        all
    }

    fn lamps(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for (label, id, device) in self.devices() {
            if device.kind != DeviceKind::Lamp {
                continue;
            }
            let fed = self.wired(id, device, &[Role::PowerIn]);
            let keys: Vec<String> = fed.iter().flat_map(|it| self.switches_at(*it)).collect();
            let action = match self.thrown(&keys).as_slice() {
                [] => "Switch it on".into(),
                all => all.join(", "),
            };
            rows.push([
                "Light".into(),
                label,
                action,
                "lit in each of these positions, brighter or dimmer as labeled, dark at rest; no noise in a headset"
                    .into(),
            ]);
        }
        rows
    }

    fn jacks(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for (label, id, device) in self.devices() {
            let is_wired = !self.wired(id, device, &[Role::AudioHigh]).is_empty();
            if device.kind != DeviceKind::Jack || !is_wired {
                continue;
            }
            let is_mic = device.terminals.iter().any(|it| it.role == Role::KeyLine);
            let (check, action, expected) = match is_mic {
                true => (
                    "Microphone",
                    "Headset in, speak",
                    "heard in every other headset, clear, no hum",
                ),
                false => (
                    "Sound",
                    "Headset in, each sound source on, one at a time",
                    "heard in both ears, no hum, no click when a light or pump is switched",
                ),
            };
            rows.push([check.into(), label, action.into(), expected.into()]);
        }
        rows
    }

    /// Inputs of units that a switch grounds: a servo's disconnect is one.
    fn inputs(&self) -> Vec<Row> {
        let mut by_switch: Vec<(String, Vec<String>)> = Vec::new();
        for (label, id, device) in self.devices() {
            for node in self.wired(id, device, &[Role::InputGround, Role::InputPower]) {
                for key in self.switches_at(node) {
                    match by_switch.iter_mut().find(|it| it.0 == key) {
                        Some((_, units)) if !units.contains(&label) => units.push(label.clone()),
                        Some(_) => {}
                        None => by_switch.push((key, vec![label.clone()])),
                    }
                }
            }
        }
        let row = |(key, units): (String, Vec<String>)| {
            [
                "Input of a unit".into(),
                units.join("; "),
                self.thrown(&[key]).join(", "),
                "does what its maker\u{2019}s manual says; a servo lets go, and the controls move freely by hand".into(),
            ]
        };
        by_switch.into_iter().map(row).collect()
    }

    fn keys(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        for (label, id, device) in self.devices() {
            let is_switch =
                |it: &&crate::document::Element| matches!(it.is, ElementKind::Switch(_));
            for element in device.elements.iter().filter(is_switch) {
                let touches = |role: Role| {
                    let ends = element.is.terminals();
                    let mut ends = ends.iter().filter_map(|(_, it)| device.terminal(it));
                    ends.any(|it| it.role == role)
                };
                if !touches(Role::KeyLine) || self.wired(id, device, &[Role::KeyLine]).is_empty() {
                    continue;
                }
                rows.push([
                    "Transmit".into(),
                    label.clone(),
                    self.thrown(&[format!("{id}/{}", element.id)]).join(", "),
                    "the selected radio transmits, only while pressed; a second receiver hears clear speech".into(),
                ]);
            }
        }
        rows
    }

    fn antennas(&self) -> Vec<Row> {
        let devices = self.devices().into_iter();
        let wired = devices.filter(|(_, id, device)| {
            device.kind == DeviceKind::Antenna && !self.wired(id, device, &[Role::Rf]).is_empty()
        });
        let row = |(label, ..): (String, &DeviceId, &Device)| {
            [
                "Antenna".into(),
                label,
                "If a transmitter is on it: standing-wave ratio at the lowest, middle and highest frequency. Else: \
                 reception"
                    .into(),
                "within the limit of the radio\u{2019}s maker".into(),
            ]
        };
        wired.map(row).collect()
    }

    fn engine(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        let mut push = |row: [&str; 4]| rows.push(row.map(ToOwned::to_owned));
        let is_jack = |it: &Device| it.kind == DeviceKind::Jack;
        for (label, id, device) in self.devices() {
            let is_p_lead = !self.wired(id, device, &[Role::PLead]).is_empty();
            let switch = device.elements.iter().find_map(|it| match &it.is {
                ElementKind::Switch(_) => Some(format!("{id}/{}", it.id)),
                _ => None,
            });
            if let (Some(key), true) = (switch, is_p_lead) {
                push([
                    "Magneto switch",
                    &label,
                    &format!(
                        "Engine at idle: {}, then a moment at rest",
                        self.thrown(&[key]).join(", ")
                    ),
                    "the engine runs on each magneto alone and begins to stop at rest",
                ]);
            }
            for element in &device.elements {
                let ElementKind::Alternator(alternator) = &element.is else {
                    continue;
                };
                push([
                    "Charging",
                    &label,
                    "Engine from idle to cruise rpm, then every load on; alternator off and on",
                    &format!(
                        "{:.1} V at the bus above idle, within the maker\u{2019}s limits; any low-voltage warning shows \
                         with it off",
                        alternator.set_v
                    ),
                ]);
                push([
                    "Over-voltage",
                    &label,
                    "With its maker\u{2019}s tester only; never raise the bus with units connected",
                    "the alternator drops out at the maker\u{2019}s voltage",
                ]);
                if self.document.devices.values().any(is_jack) {
                    push([
                        "Whine",
                        &label,
                        "At each seat: idle, 1/3, 2/3 and full rpm; alternator off and on; each load off and on",
                        "no sound that follows rpm, and none that stops with the alternator off",
                    ]);
                }
            }
        }
        rows
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    fn checks(text: &str) -> Vec<Vec<String>> {
        let rows = table(&document(text)).rows;
        rows.iter()
            .map(|row| row.iter().map(Cell::show).collect())
            .collect()
    }

    #[test]
    fn nothing_is_checked_that_is_not_drawn() {
        assert_eq!(checks("ground GB1 T1").len(), 0);
        let lamp = checks(
            "battery BT1
             load LT1 2
             ground GB1 T1 T2
             wire A BT1.+ LT1.+ 20 1m
             wire B LT1.- GB1.T1 20 1m
             wire C BT1.- GB1.T2 20 1m",
        );
        assert!(lamp.iter().all(|row| row[0] == "Light"), "{lamp:?}");
    }
}
