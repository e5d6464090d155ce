//! Measures between every two circuits that can touch.
//!
//! A line "all others" covers the connector of its lead only. It does not cover circuits that meet this one at
//! another plug, at an in-line connector that stays mated, or in a cable.

use petgraph::graph::NodeIndex;

use super::sheet::Sheet;
use crate::{
    document::{DeviceKind, End, Test},
    ids::ConnectorId,
    order::{Map, Sorted},
};

/// More circuits than any connector or cable of an aircraft has: pairs of so many are not stored. Where they meet,
/// each is measured against all others; where no lead reaches them, each is measured against the next one.
const MANY: usize = 200;

/// Circuits by place: one point of each.
type Circuits = Map<usize, NodeIndex>;

impl Sheet<'_> {
    /// A line for each two circuits that meet and that no earlier line covers.
    pub(super) fn pairs(&mut self) {
        let lead: Circuits = (self.lines.iter())
            .filter(|line| line.test == Test::Isolation && line.to == End::Open)
            .filter_map(|line| self.netlist.end_node(&line.from))
            .map(|node| (self.group(node), node))
            .collect();
        let (swept, hidden) = self.meetings(&lead);
        let mut held = Sorted::new();
        let mut hold = |a: usize, b: usize| held.insert((a.min(b), a.max(b)));
        // First, what the existing lines already cover.
        let is_few = |circuits: &&Circuits| circuits.len() <= MANY;
        for circuits in swept.iter().filter(is_few) {
            for (circuit, node) in circuits {
                if lead.get(circuit) == Some(node) {
                    for other in circuits.keys() {
                        hold(*circuit, *other);
                    }
                }
            }
        }
        let mut more = Vec::new();
        for circuits in &swept {
            for (circuit, node) in circuits {
                let mut is_new = !is_few(&circuits) && lead.get(circuit) != Some(node);
                for other in circuits
                    .keys()
                    .filter(|it| is_few(&circuits) && *it != circuit)
                {
                    is_new |= hold(*circuit, *other);
                }
                if is_new {
                    more.push((*node, None));
                }
            }
        }
        for circuits in &hidden {
            let reach = if is_few(&circuits) { MANY } else { 1 };
            let all: Vec<(&usize, &NodeIndex)> = circuits.iter().collect();
            for (at, (circuit, node)) in all.iter().enumerate() {
                for (other, far) in all[at + 1..].iter().take(reach) {
                    if hold(**circuit, **other) {
                        more.push((**node, Some(**far)));
                    }
                }
            }
        }
        for (from, to) in more {
            let line = self.apart_line(from, to);
            self.lines.push(line);
        }
    }

    /// Where circuits meet: places whose pins a lead can reach, with the pin to use; and mated connectors and
    /// cables, with where each circuit can be reached elsewhere. Grounds are left out, because every line covers
    /// them.
    fn meetings(&self, lead: &Circuits) -> (Vec<Circuits>, Vec<Circuits>) {
        let (mut swept, mut hidden) = (Vec::new(), Vec::new());
        for (id, device) in &self.document.devices {
            let mut places: Map<Option<&str>, Circuits> = Map::new();
            let is_mated = device.kind == DeviceKind::InlineConnector;
            for terminal in &device.terminals {
                let end = End::Terminal(id.clone(), terminal.id.clone());
                let Some(node) = self.netlist.end_node(&end) else {
                    continue;
                };
                let Some(reached) = lead.get(&self.group(node)) else {
                    continue;
                };
                let connector = terminal.connector.as_ref().map(ConnectorId::as_str);
                let circuits = places.or_default(connector);
                let group = self.group(node);
                if is_mated {
                    circuits.insert(group, *reached);
                } else if *reached == node {
                    // The pin that has a line represents its circuit.
                    circuits.insert(group, node);
                } else if self.points[node.index()] && !circuits.contains_key(&group) {
                    circuits.insert(group, node);
                }
            }
            let to = if is_mated { &mut hidden } else { &mut swept };
            to.extend(places.values().cloned());
        }
        for cable in self.document.cables.values() {
            let wires = cable.wires.iter();
            let wires = wires.filter_map(|id| self.document.wires.get(id));
            let ends = wires.flat_map(|wire| [&wire.from, &wire.to]);
            let circuits = ends
                .filter_map(|end| self.netlist.end_node(end))
                .map(|node| self.group(node));
            let circuits = circuits.filter_map(|it| Some((it, *lead.get(&it)?)));
            hidden.push(circuits.collect());
        }
        (swept, hidden)
    }
}

#[cfg(test)]
mod tests {
    use crate::{
        analysis::ring_out::RingOut,
        document::{End, Test},
        testing::document,
    };

    /// Circuits from one connector of a first unit to one of a second, `pins` at a time, so that those of
    /// different first units meet at the second only.
    fn swept_at_the_second(firsts: usize, pins: usize) -> usize {
        let mut text = String::new();
        let all = firsts * pins;
        let names = |from: usize, to: usize, plug: &str| -> String {
            (from..to).map(|n| format!(" {plug}-{n}:passive")).collect()
        };
        for first in 0..firsts {
            let own = names(first * pins, (first + 1) * pins, &format!("J{first}"));
            text += &format!("unit A{first}{own}\n");
        }
        text += &format!("unit Z{}\n", names(0, all, "J999"));
        for n in 0..all {
            let first = n / pins;
            text += &format!("wire W{n} A{first}.J{first}-{n} Z.J999-{n} 22 1m\n");
        }
        let sheet = RingOut::new(&document(&text));
        let lines = sheet.lines.iter();
        let at_second = |from: &End| matches!(from, End::Terminal(id, _) if id.as_str() == "Z");
        lines
            .filter(|it| it.test == Test::Isolation && at_second(&it.from))
            .count()
    }

    /// Of four circuits that met in pairs before, the first two are measured against all others there.
    #[test]
    fn circuits_that_meet_elsewhere_are_swept_there() {
        assert_eq!(swept_at_the_second(1, 4), 0);
        assert_eq!(swept_at_the_second(2, 2), 2);
    }

    #[test]
    fn a_connector_that_no_aircraft_has_takes_no_time() {
        assert_eq!(swept_at_the_second(20, 100), 2000);
    }
}
