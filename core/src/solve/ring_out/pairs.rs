//! Every two circuits that can touch are held against each other.
//!
//! A line "all others" sweeps the connector that its lead is on, so it says nothing of circuits that meet
//! this one at another plug, at an in-line connector that stays mated, or in a cable.

use petgraph::graph::NodeIndex;

use super::{Line, Sheet};
use crate::{
    document::{DeviceKind, End, Test},
    ids::ConnectorId,
    order::{Map, Sorted},
};

/// Circuits by their place: a point of each.
type Circuits = Map<usize, NodeIndex>;

impl Sheet<'_> {
    /// A line for each two circuits that meet and that no line before holds against each other.
    pub(super) fn pairs(&mut self) {
        let lead: Circuits = (self.lines.iter())
            .filter(|line| line.test == Test::Isolation && line.to == End::Open)
            .filter_map(|line| self.netlist.end_node(&line.from))
            .map(|node| (self.group(node), node))
            .collect();
        let (swept, hidden) = self.meetings(&lead);
        let mut held = Sorted::new();
        let mut hold = |a: usize, b: usize| held.insert((a.min(b), a.max(b)));
        // What the lines there are sweep already, first.
        for circuits in &swept {
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
                let mut is_new = false;
                for other in circuits.keys().filter(|it| *it != circuit) {
                    is_new |= hold(*circuit, *other);
                }
                if is_new {
                    more.push((*node, None));
                }
            }
        }
        for circuits in &hidden {
            for (circuit, node) in circuits {
                for (other, far) in circuits {
                    if other > circuit && hold(*circuit, *other) {
                        more.push((*node, Some(*far)));
                    }
                }
            }
        }
        for (from, to) in more {
            let expect = self.through(self.group(from), to.map(|it| self.group(it)));
            self.lines.push(Line {
                test: Test::Isolation,
                from: self.end(from),
                to: to.map_or(End::Open, |it| self.end(it)),
                expect,
                path: Vec::new(),
            });
        }
    }

    /// Where circuits meet: places whose pins a lead can reach, with the pin that it goes to; and mated
    /// connectors and cables, with where each circuit can be reached elsewhere. Grounds are left out: every
    /// line is against them.
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
                if is_mated {
                    circuits.insert(self.group(node), *reached);
                } else if self.points[node.index()] && !circuits.contains_key(&self.group(node)) {
                    // The pin that has a line stands for its circuit.
                    circuits.insert(self.group(node), node);
                }
                if *reached == node {
                    circuits.insert(self.group(node), node);
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
