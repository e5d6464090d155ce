//! A circuit from end to end as one list: wires, connectors, splices, switches and protectors in order.

use crate::order::InOrder;
use petgraph::graph::{EdgeIndex, NodeIndex};

use crate::{
    document::{BarUse, Document, ElementKind, rating},
    ids::WireId,
    netlist::{EdgeKind, EdgeOf, Netlist, Point},
    order::Sorted,
};

/// One line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// How many branches precede it.
    pub depth: usize,
    /// The wire, pin or part, in words.
    pub text: String,
    /// Kind and key of its record, as in files.
    pub record: (&'static str, String),
}

/// The circuit of a wire, listed from its supply, or from its first end if it has none. It ends at buses, grounds,
/// structure, sources and loads. Empty if there is no such wire.
pub fn follow(document: &Document, wire: &WireId) -> Vec<Line> {
    let netlist = Netlist::new(document);
    let Some(at) = netlist.wire(wire) else {
        return Vec::new();
    };
    let mut walk = Walk {
        document,
        netlist: &netlist,
        seen: Sorted::new(),
        lines: Vec::new(),
    };
    // A wire at a bus is followed from its other end. One between two such ends is the complete circuit.
    let inner = at.ends.into_iter().find(|&node| !walk.ends_here(node));
    let (start, first) = match inner {
        Some(node) => walk.start(node),
        None => (at.ends[0], Some(at.edge)),
    };
    match first.filter(|_| walk.ends_here(start)) {
        // A bus leads to many circuits: only this one is followed.
        Some(edge) => {
            walk.seen.insert(edge);
            walk.list_node(start, 0);
            walk.list_edge(edge, 0);
            walk.node(netlist.other(edge, start), Some(edge), 0);
        }
        None => walk.node(start, None, 0),
    }
    walk.lines
}

struct Walk<'d> {
    document: &'d Document,
    netlist: &'d Netlist,
    seen: Sorted<EdgeIndex>,
    lines: Vec<Line>,
}

impl Walk<'_> {
    /// Where the list begins: the circuit's end nearest to supply, and the edge that leads there.
    fn start(&self, from: NodeIndex) -> (NodeIndex, Option<EdgeIndex>) {
        let mut ends: Vec<(u8, NodeIndex, Option<EdgeIndex>)> = Vec::new();
        let mut front = vec![(from, None)];
        let mut visited = Sorted::from([from]);
        while let Some((node, by)) = front.pop() {
            let onward = self.onward(node);
            if onward.len() < 2 || self.ends_here(node) {
                ends.push((self.nearness(node), node, by));
            }
            if self.ends_here(node) {
                continue;
            }
            for edge in onward {
                let other = self.netlist.other(edge, node);
                if visited.insert(other) {
                    front.push((other, Some(edge)));
                }
            }
        }
        let first = ends.into_iter().min();
        first.map_or((from, None), |(_, node, by)| (node, by))
    }

    /// Rank of an end: 0 at a bus or a source, 2 at ground, 1 elsewhere.
    fn nearness(&self, node: NodeIndex) -> u8 {
        let positive = |edge: EdgeIndex| {
            self.netlist.graph[edge].kind.is_source() && self.netlist.ends(edge).0 == node
        };
        match self.netlist.bar_at(node) {
            Some(BarUse::Bus) => 0,
            Some(BarUse::Ground) => 2,
            _ if self.netlist.edges_at(node).any(positive) => 0,
            _ if matches!(self.netlist.point(node), Point::Structure(_)) => 2,
            _ => 1,
        }
    }

    /// True where a circuit ends: at buses, grounds and structure.
    fn ends_here(&self, node: NodeIndex) -> bool {
        let bar = self.netlist.bar_at(node);
        matches!(bar, Some(BarUse::Bus | BarUse::Ground))
            || matches!(self.netlist.point(node), Point::Structure(_))
    }

    /// The edges to follow from a node: all but sources, loads, coils and shields.
    fn onward(&self, node: NodeIndex) -> Vec<EdgeIndex> {
        let mut edges: Vec<EdgeIndex> = (self.netlist.edges_at(node))
            .filter(|&edge| {
                let kind = &self.netlist.graph[edge].kind;
                let ends = matches!(kind, EdgeKind::Load | EdgeKind::Coil { .. });
                let shield = matches!(
                    kind,
                    EdgeKind::Shield { .. } | EdgeKind::ShieldEnd { .. } | EdgeKind::JackTie(_)
                );
                !ends && !shield && !kind.is_source()
            })
            .collect();
        edges.order();
        edges
    }

    /// Lists a node, and everything reached from it.
    fn node(&mut self, node: NodeIndex, by: Option<EdgeIndex>, depth: usize) {
        self.list_node(node, depth);
        if by.is_some() && self.ends_here(node) {
            return;
        }
        let onward: Vec<EdgeIndex> = self.onward(node);
        let new: Vec<EdgeIndex> = (onward.into_iter())
            .filter(|edge| self.seen.insert(*edge))
            .collect();
        let branches = new.len() > 1;
        for edge in new {
            let depth = depth + usize::from(branches);
            self.list_edge(edge, depth);
            self.node(self.netlist.other(edge, node), Some(edge), depth);
        }
    }

    fn list_node(&mut self, node: NodeIndex, depth: usize) {
        let (text, record) = match self.netlist.point(node) {
            Point::Terminal(device, terminal) => {
                let found = self.document.devices.get(device);
                let found = found.and_then(|it| Some((it, it.terminal(terminal)?)));
                let text = match found {
                    Some((it, terminal)) if !terminal.name.is_empty() => {
                        format!("{}, {}", it.terminal_label(terminal), terminal.name)
                    }
                    Some((it, terminal)) => it.terminal_label(terminal),
                    None => format!("{device} {terminal}"),
                };
                (text, ("device", device.to_string()))
            }
            Point::Splice(id) => {
                let label = self.document.record_label("splice", id.as_str());
                (format!("splice {label}"), ("splice", id.to_string()))
            }
            Point::Structure(id) => {
                let label = self.document.record_label("place", id.as_str());
                (format!("airframe, {label}"), ("place", id.to_string()))
            }
            Point::WireOpen(id, _) => ("not wired yet".into(), ("wire", id.to_string())),
            Point::Shield(..) | Point::InFuse(_) => return,
        };
        let takes = self.takes(node);
        let text = match takes.is_empty() {
            true => text,
            false => format!("{text}: {}", takes.join(", ")),
        };
        self.lines.push(Line {
            depth,
            text,
            record,
        });
    }

    /// The loads, coils and sources at a node, in words.
    fn takes(&self, node: NodeIndex) -> Vec<String> {
        let said = |edge: EdgeIndex| match &self.netlist.graph[edge].kind {
            EdgeKind::Load => {
                let figures = self.netlist.load(edge)?;
                Some(match figures.continuous_a.or(figures.peak_a) {
                    Some(amps) => format!("load of {amps} A"),
                    None => "load".into(),
                })
            }
            EdgeKind::Coil { .. } => Some("coil".into()),
            EdgeKind::Battery { .. } => Some("battery".into()),
            EdgeKind::Alternator { .. } => Some("alternator".into()),
            _ => None,
        };
        let mut all: Vec<String> = self.netlist.edges_at(node).filter_map(said).collect();
        all.order();
        all
    }

    fn list_edge(&mut self, edge: EdgeIndex, depth: usize) {
        let it = &self.netlist.graph[edge];
        let open = if it.closed { "" } else { ", open at rest" };
        let (text, record) = match self.netlist.of(edge) {
            EdgeOf::Wire(id) => {
                let Some(wire) = self.document.wires.get(id) else {
                    return;
                };
                let length = self.document.wire_length_m(wire);
                let length = length.map_or(String::new(), |m| {
                    format!(", {}", self.document.project.length(m, 2))
                });
                let label = self.document.wire_label(id);
                let text = format!("wire {label}, {} {}{length}", wire.size(), wire.colour);
                (text, ("wire", id.to_string()))
            }
            EdgeOf::InlineFuse(id) => {
                let fuse = self.document.wires.get(id).and_then(|it| it.fuse.as_ref());
                let rating =
                    fuse.map_or(String::new(), |fuse| format!(", {}", rating(fuse.rating_a)));
                (format!("in-line fuse{rating}"), ("wire", id.to_string()))
            }
            EdgeOf::Element(device, element, _) => {
                let found = self.document.devices.get(device);
                let found = found.and_then(|it| Some((it, it.element(element)?)));
                let Some((it, element)) = found else { return };
                let label = it.element_label(element);
                let text = match &element.is {
                    // Its two pins are listed.
                    ElementKind::Mate(_) | ElementKind::Bar(_) => return,
                    ElementKind::Protector(it) => {
                        format!("through {label}, {}{open}", rating(it.rating_a))
                    }
                    ElementKind::StructureTie(_) => "to the metal it is mounted on".into(),
                    is => format!("through {label} ({}){open}", is.name()),
                };
                (text, ("device", device.to_string()))
            }
            EdgeOf::Bond(place) => ("bonded to".into(), ("place", place.to_string())),
            EdgeOf::Shield(_) | EdgeOf::ShieldEnd(..) => return,
        };
        self.lines.push(Line {
            depth,
            text,
            record,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    const LAMPS: &str = "
        battery BT1
        bus MBUS CB6=5
        ground GB1 STUD T1 T2
        switch S6 1-2
        mated J310/P310 1
        splice SP1
        load LT2 1.2
        load LT3 1.2
        wire P BT1.+ MBUS.STUD 6 1m
        wire G GB1.STUD BT1.- 6 1m
        wire L2A MBUS.CB6 S6.1 18 0.7m
        wire L2B S6.2 J310.J310-1 18 1m
        wire L2C J310.P310-1 SP1 18 2m
        wire L2D SP1 LT2.+ 18 1m
        wire L2E SP1 LT3.+ 18 6m
        wire L2F LT2.- GB1.T1 18 3m
        wire L2G LT3.- GB1.T2 18 6m";

    fn lines_of(wire: &str) -> Vec<String> {
        let lines = follow(&document(LAMPS), &wire.into());
        let line = |line: Line| format!("{}{}", "  ".repeat(line.depth), line.text);
        lines.into_iter().map(line).collect()
    }

    #[test]
    fn a_circuit_is_listed_from_its_bus_to_its_loads() {
        let all = lines_of("L2C");
        assert_eq!(all, lines_of("L2E"), "the same from any of its wires");
        assert!(all[0].starts_with("MBUS"), "{all:#?}");
        let place = |what: &str| {
            let found = all.iter().position(|line| line.contains(what));
            found.unwrap_or_else(|| panic!("{what} in {all:#?}"))
        };
        let way = [
            "through", "wire L2A", "S6 1", "S6 2", "wire L2B", "J310", "P310", "wire L2C",
        ];
        let places: Vec<usize> = way.into_iter().map(place).collect();
        assert!(places.is_sorted(), "{all:#?}");
        for wire in ["wire L2D", "wire L2E"] {
            assert!(
                all[place(wire)].starts_with("  wire"),
                "branches are indented: {all:#?}"
            );
        }
        assert!(all[place("LT2 +")].contains("load of 1.2 A"));
        assert!(
            !all.iter()
                .any(|line| line.contains("wire P,") || line.contains("wire L2F"))
        );
    }

    #[test]
    fn a_return_is_listed_as_its_own_circuit() {
        let all = lines_of("L2F");
        assert_eq!(all.len(), 3, "{all:#?}");
        assert!(all[0].starts_with("LT2 -") && all[2].starts_with("GB1"));
    }

    #[test]
    fn a_wire_at_a_bus_leads_away_from_it() {
        let all = lines_of("P");
        assert_eq!(all.len(), 3, "{all:#?}");
        assert_eq!(lines_of("L2A"), lines_of("L2C"));
    }

    #[test]
    fn no_wire_no_circuit() {
        assert!(lines_of("NONE").is_empty());
    }
}
