//! What the sheet is worth: how many single faults fail at least one of its lines.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    RingOut,
    faults::{Change, Fault, conductors, faults, row_of},
    line::Line,
    meter::{Meter, Pieces},
    special::{Inside, inside, is_ground, metal_at},
};
use crate::{
    document::{Document, End, Test, WireEnd},
    ids::CableId,
    netlist::{EdgeKind, EdgeOf},
    order::{InOrder, Map, Sorted},
};

/// The single faults of a drawing, and those that no line of its sheet finds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Coverage {
    /// How many single faults there are.
    pub faults: usize,
    /// Those that leave every line within its limits.
    pub missed: Vec<Fault>,
}

impl RingOut {
    /// How many single faults fail a line, if one is made at a time. `document` is the one that the sheet is of.
    pub fn coverage(&self, document: &Document) -> Coverage {
        let netlist = &self.netlist;
        let conductor = conductors(netlist, &self.stays);
        let inside = inside(document, netlist);
        let hidden: Vec<_> = inside.iter().map(|it| (it.a, it.b, it.ohm)).collect();
        let mut drawn = self.stays.clone();
        for edge in &self.joined {
            drawn[edge.index()] = true;
        }
        drawn.extend(inside.iter().map(|_| true));
        let mut bench = Bench {
            sheet: self,
            document,
            pieces: Pieces::new(netlist, &hidden, drawn),
            inside,
            setups: Vec::new(),
            by_edge: Map::new(),
            by_set: Map::new(),
            conductor: &conductor,
        };
        bench.set_up();
        bench.index();
        let mut coverage = Coverage::default();
        for change in faults(document, netlist, &conductor, &bench.inside) {
            coverage.faults += 1;
            if !bench.finds(&change) {
                coverage.missed.push(change.fault);
            }
        }
        coverage
    }
}

/// How a line differs from the drawing with every switch at rest.
struct Setup {
    /// The pieces that conduct here and not there, or there and not here.
    flipped: Vec<usize>,
    /// Where the other lead goes on a line against all others.
    others: Vec<usize>,
}

struct Bench<'d> {
    sheet: &'d RingOut,
    document: &'d Document,
    pieces: Pieces,
    inside: Vec<Inside>,
    /// By line.
    setups: Vec<Setup>,
    /// The lines that are measured along an edge.
    by_edge: Map<EdgeIndex, Vec<usize>>,
    /// The other lines by circuit, and by conductor: false, true and its number.
    by_set: Map<(bool, usize), Vec<usize>>,
    conductor: &'d [usize],
}

impl Bench<'_> {
    fn set_up(&mut self) {
        for line in &self.sheet.lines {
            let flipped = self.flipped(line);
            let is_swept =
                line.test == Test::Isolation && line.to == End::Open && line.shields.is_empty();
            let others = match self.sheet.netlist.end_node(&line.from).filter(|_| is_swept) {
                Some(from) => self.others(line, from, &flipped),
                None => Vec::new(),
            };
            self.setups.push(Setup { flipped, others });
        }
    }

    /// What a line sets and takes off: the position of a switch, terminals, shields.
    fn flipped(&self, line: &Line) -> Vec<usize> {
        let netlist = &self.sheet.netlist;
        let mut open = Vec::new();
        let mut flipped = Vec::new();
        if let Some((key, at)) = &line.position {
            for edge in netlist.edges_of_key(key) {
                if let EdgeKind::Switch { made_in, .. } = netlist.graph[edge].kind {
                    let is_closed = *at < 64 && (made_in >> at) & 1 == 1;
                    if is_closed != self.sheet.stays[edge.index()] {
                        flipped.push(edge.index());
                    }
                }
            }
        }
        for (cable, free) in &line.shields {
            open.extend(netlist.pigtail(cable, *free).map(EdgeIndex::index));
        }
        for end in &line.off {
            let End::Terminal(device, _) = end else {
                continue;
            };
            let edges = netlist.end_node(end).into_iter();
            let edges = edges.flat_map(|it| netlist.edges_at(it));
            let inside = edges
                .filter(|it| matches!(netlist.of(*it), EdgeOf::Element(id, ..) if id == device));
            open.extend(inside.map(EdgeIndex::index));
        }
        let first = netlist.graph.edge_count();
        for (at, it) in self.inside.iter().enumerate() {
            if it.until_off.iter().any(|end| line.off.contains(end)) {
                open.push(first + at);
            }
        }
        open.order();
        open.dedup();
        flipped.extend(open.into_iter().filter(|it| self.pieces.is_drawn(*it)));
        flipped
    }

    /// Where the other lead goes on a line against all others: metal, then each other pin of the connector, or terminal
    /// of the device, that the drawing has in another circuit.
    fn others(&self, line: &Line, from: NodeIndex, flipped: &[usize]) -> Vec<usize> {
        let netlist = &self.sheet.netlist;
        let own = Meter::new(&self.pieces, flipped, &Change::none()).circuit(from.index());
        let metal = metal_at(self.document, netlist, [&line.from]);
        let pins = row_of(self.document, &line.from);
        let pins = pins.iter().filter_map(|end| netlist.end_node(end));
        let all = metal.into_iter().chain(pins).map(NodeIndex::index);
        all.filter(|node| own.binary_search(node).is_err())
            .collect()
    }

    fn index(&mut self) {
        let netlist = &self.sheet.netlist;
        let of = |is_conductor: bool| match is_conductor {
            true => self.conductor,
            false => &self.sheet.group[..],
        };
        let mut grounds = Sorted::new();
        for node in netlist
            .graph
            .node_indices()
            .filter(|it| is_ground(netlist, *it))
        {
            for is_conductor in [false, true] {
                grounds.insert((is_conductor, of(is_conductor)[node.index()]));
            }
        }
        for (at, line) in self.sheet.lines.iter().enumerate() {
            for edge in &line.path {
                self.by_edge.or_default(*edge).push(at);
            }
            // At a lifted shield, the path leaves out the braid or its pigtail.
            for (cable, free) in &line.shields {
                let node = netlist.shield_end(cable, *free);
                for edge in node.into_iter().flat_map(|it| netlist.edges_at(it)) {
                    self.by_edge.or_default(edge).push(at);
                }
            }
            if line.test == Test::Continuity {
                continue;
            }
            let nodes = [&line.from, &line.to].map(|end| netlist.end_node(end));
            for node in nodes.into_iter().flatten() {
                for is_conductor in [false, true] {
                    let set = (is_conductor, of(is_conductor)[node.index()]);
                    if !grounds.contains(&set) {
                        self.by_set.or_default(set).push(at);
                    }
                }
            }
        }
    }

    /// True if a line fails. Only lines along what is cut, or of the circuits that touch, can.
    fn finds(&self, change: &Change) -> bool {
        let netlist = &self.sheet.netlist;
        let along = |edge: &EdgeIndex| self.by_edge.get(edge).into_iter().flatten();
        let mut lines = Sorted::new();
        let touched = change.added.iter().flat_map(|(a, b, _)| [*a, *b]);
        for node in touched {
            let sets = [
                (false, self.sheet.group[node.index()]),
                (true, self.conductor[node.index()]),
            ];
            for at in sets.iter().filter_map(|it| self.by_set.get(it)).flatten() {
                lines.insert(*at);
            }
            let shield = |it: &EdgeIndex| matches!(netlist.of(*it), EdgeOf::Shield(_));
            for edge in netlist.edges_at(node).filter(shield) {
                along(&edge).for_each(|at| {
                    lines.insert(*at);
                });
            }
        }
        for edge in &change.removed {
            along(edge).for_each(|at| {
                lines.insert(*at);
            });
        }
        lines.iter().any(|at| self.fails(*at, change))
    }

    fn fails(&self, at: usize, change: &Change) -> bool {
        let line = &self.sheet.lines[at];
        let netlist = &self.sheet.netlist;
        // Terminals touch no more if what ends there is lifted.
        if let Fault::Touching(a, b) = &change.fault
            && (line.off.contains(a) || line.off.contains(b))
        {
            return false;
        }
        let setup = &self.setups[at];
        let meter = Meter::new(&self.pieces, &setup.flipped, change);
        let Some([least, most]) = line.limits_ohm() else {
            return false;
        };
        let Some(from) = netlist.end_node(&line.from).map(NodeIndex::index) else {
            return false;
        };
        let to = netlist.end_node(&line.to).map(NodeIndex::index);
        // On a pigtail that is broken, the lead reads nothing.
        if let Fault::ShieldOpen(cable, which) = &change.fault
            && line
                .shields
                .iter()
                .any(|it| (&it.0, &it.1) == (cable, which))
        {
            return line.test == Test::Continuity;
        }
        let braid = |(cable, free): &(CableId, WireEnd)| netlist.shield_end(cable, *free);
        let mut braids = line.shields.iter().filter_map(braid).map(NodeIndex::index);
        match (line.test, to) {
            // From the fixed lead most of the circuit can be reached.
            (Test::Continuity, Some(to)) => meter.is_over(to, from, most),
            (Test::Continuity, None) => braids.any(|it| meter.is_over(it, from, most)),
            (Test::Isolation, Some(to)) => !meter.is_over(from, to, least),
            (Test::Isolation, None) if line.shields.is_empty() => {
                let mut others = setup.others.iter();
                others.any(|it| !meter.is_over(from, *it, least))
            }
            (Test::Isolation, None) => braids.any(|it| !meter.is_over(it, from, least)),
            (_, Some(to)) => line.fails(meter.ohms(from, to)),
            (_, None) => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::{analysis::ring_out::RingOut, testing::document};

    fn missed(text: &str) -> (usize, Vec<String>) {
        let document = document(text);
        let coverage = RingOut::new(&document).coverage(&document);
        let missed = coverage.missed.iter().map(|it| it.label(&document));
        (coverage.faults, missed.collect())
    }

    /// Two wires between two plugs, next to metal: each open and each touching metal; the pins touching and swapped at
    /// either plug.
    #[test]
    fn every_single_fault_of_two_wires_is_found() {
        let text = "place FRAME metal
            unit A J1-1:passive J1-2:passive at=FRAME
            unit B J2-1:passive J2-2:passive at=FRAME
            wire W1 A.J1-1 B.J2-1 22 1m
            wire W2 A.J1-2 B.J2-2 22 1m";
        assert_eq!(missed(text), (8, Vec::new()));
    }

    /// Two wires side by side between the same two points: either may be open, and no line shows it.
    #[test]
    fn a_doubled_wire_hides_its_break_and_is_named() {
        let text = "place FRAME metal
            unit A J1-1:passive at=FRAME
            unit B J2-1:passive at=FRAME
            wire W1 A.J1-1 B.J2-1 22 1m
            wire W2 A.J1-1 B.J2-1 22 1m";
        let (faults, missed) = missed(text);
        assert_eq!(faults, 4);
        assert_eq!(missed, ["W1 open", "W2 open"]);
    }
}
