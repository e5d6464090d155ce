//! The lines of circuits: the ways along each, each against all others, buses against ground, jack bodies
//! against metal, data buses through their terminators.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    least::Least,
    line::{Expect, LEAST_TOLD_OHM, Line},
    meter::load_ohm,
    sheet::Sheet,
};
use crate::{
    document::{BarUse, ElementKind, End, Role, Test, natural_cmp},
    netlist::{EdgeKind, EdgeOf, Point},
    order::{InOrder, Sorted},
};

impl Sheet<'_> {
    /// The ways along each circuit, and each against all others.
    pub(super) fn circuits(&mut self) {
        let mut least = Least::over(self.netlist);
        for nodes in self.groups() {
            let rank = self.rank(nodes[0]);
            // Every terminal of a block or bus can take the fixed lead; elsewhere one does.
            let fixed = match rank {
                2 => 1,
                _ => nodes.iter().filter(|it| self.rank(**it) == rank).count(),
            };
            let (fixed, others) = nodes.split_at(fixed);
            least.begin(self.netlist, self.stays, fixed);
            for &node in others {
                self.way(&least, node);
            }
            // One block to the next.
            let mut blocks = Sorted::new();
            if fixed.len() > 1 {
                least.begin(self.netlist, self.stays, &fixed[..1]);
            }
            for &node in fixed {
                if let Point::Terminal(id, _) = self.netlist.point(node)
                    && blocks.insert(id)
                    && blocks.len() > 1
                {
                    self.way(&least, node);
                }
            }
            let is_ground = rank == 0
                || (self.netlist.graph.node_indices())
                    .filter(|it| self.group(*it) == self.group(nodes[0]))
                    .any(|it| matches!(self.netlist.point(it), Point::Structure(_)));
            if !is_ground {
                self.apart(nodes[0]);
            }
        }
    }

    /// From each terminal with a strap to metal, to that metal.
    pub(super) fn straps(&mut self) {
        let mut least = Least::over(self.netlist);
        for (_, at) in self.netlist.wires() {
            let is_metal =
                |node: &NodeIndex| matches!(self.netlist.point(*node), Point::Structure(_));
            let (terminal, metal) = match at.ends.each_ref().map(is_metal) {
                [false, true] => (at.ends[0], at.ends[1]),
                [true, false] => (at.ends[1], at.ends[0]),
                _ => continue,
            };
            least.begin(self.netlist, self.stays, &[terminal]);
            self.way(&least, metal);
        }
    }

    fn way(&mut self, ways: &Least, node: NodeIndex) {
        let Some((root, path)) = ways.path(self.netlist, node) else {
            return;
        };
        let known = path.iter().all(|edge| self.is_known(*edge));
        let ohm = known.then(|| ways.ohm[node.index()]);
        self.lines.push(Line {
            path,
            ..Line::new(
                Test::Continuity,
                self.end(root),
                self.end(node),
                Expect::Ohm(ohm),
            )
        });
    }

    /// A circuit against all others.
    fn apart(&mut self, node: NodeIndex) {
        let line = self.apart_line(node, None);
        self.lines.push(line);
    }

    /// A line from a circuit to another, or to all: what stays joined is measured with it, and what would leave nothing
    /// to judge, because its ohms are unknown or low, is disconnected first.
    pub(super) fn apart_line(&self, from: NodeIndex, to: Option<NodeIndex>) -> Line {
        let circuit = self.group(from);
        let mut stay: Vec<(EdgeIndex, f64)> = Vec::new();
        let mut off = Vec::new();
        for &edge in self.joined_at.get(&circuit).into_iter().flatten() {
            if to.is_some_and(|to| !self.leads_to(circuit, edge, self.group(to))) {
                continue;
            }
            let ohm = match &self.netlist.graph[edge].kind {
                EdgeKind::Resistor { ohm } | EdgeKind::Coil { ohm, .. } => Some(*ohm),
                EdgeKind::Load => load_ohm(self.netlist, edge),
                _ => None,
            };
            match ohm {
                Some(ohm) => stay.push((edge, ohm)),
                None => off.push(edge),
            }
        }
        stay.order_by(|a, b| b.1.total_cmp(&a.1));
        let ohm_of = |stay: &[(EdgeIndex, f64)]| {
            let siemens: f64 = stay.iter().map(|it| 1.0 / it.1).sum();
            (siemens > 0.0).then(|| 1.0 / siemens)
        };
        while ohm_of(&stay).is_some_and(|it| it < LEAST_TOLD_OHM) {
            off.extend(stay.pop().map(|it| it.0));
        }
        let mut through = Vec::new();
        for (edge, _) in &stay {
            if let EdgeOf::Element(id, element, _) = self.netlist.of(*edge) {
                let label = (self.document).record_label("element", &format!("{id}/{element}"));
                if !through.contains(&label) {
                    through.push(label);
                }
            }
        }
        through.order_by(|a, b| natural_cmp(a, b));
        let ohm = ohm_of(&stay);
        let mut line = Line::new(
            Test::Isolation,
            self.end(from),
            to.map_or(End::Open, |it| self.end(it)),
            Expect::Open { through, ohm },
        );
        for edge in off {
            let (a, b) = self.netlist.ends(edge);
            let own = if self.group(a) == circuit { a } else { b };
            let end = self.end(own);
            if !line.off.contains(&end) {
                line.off.push(end);
            }
        }
        line
    }

    /// True if what is beyond a part of a circuit can be measured at another circuit: directly, or by way of others,
    /// such as two lamps and their ground.
    fn leads_to(&self, from: usize, part: EdgeIndex, to: usize) -> bool {
        let beyond = |at: usize, edge: EdgeIndex| {
            let (a, b) = self.netlist.ends(edge);
            self.group(a) + self.group(b) - at
        };
        let mut seen = Sorted::new();
        let mut front = vec![beyond(from, part)];
        while let Some(at) = front.pop() {
            if at == to {
                return true;
            }
            if at != from && seen.insert(at) {
                let parts = self.joined_at.get(&at).into_iter().flatten();
                front.extend(parts.map(|edge| beyond(at, *edge)));
            }
        }
        false
    }

    /// Each bus against ground, before first power.
    pub(super) fn buses(&mut self) {
        let mut seen = Sorted::new();
        let ground = (self.netlist.graph.node_indices())
            .find(|node| self.netlist.bar_at(*node) == Some(BarUse::Ground));
        let Some(ground) = ground else { return };
        for node in self.netlist.graph.node_indices() {
            if self.netlist.bar_at(node) == Some(BarUse::Bus)
                && seen.insert(self.group(node))
                && self.group(node) != self.group(ground)
            {
                let line = self.apart_line(node, Some(ground));
                self.lines.push(line);
            }
        }
    }

    /// Every jack's body against the metal it is mounted in, unless it is known to touch it.
    pub(super) fn jacks(&mut self) {
        for (id, device) in &self.document.devices {
            let Some(place) = (device.place.as_ref()).filter(|it| {
                self.document
                    .places
                    .get(*it)
                    .is_some_and(crate::document::Place::is_metal)
            }) else {
                continue;
            };
            for element in &device.elements {
                let ElementKind::Jack(jack) = &element.is else {
                    continue;
                };
                if jack.isolated != Some(false) {
                    self.lines.push(Line::new(
                        Test::Isolation,
                        End::Terminal(id.clone(), jack.sleeve.clone()),
                        End::Structure(place.clone()),
                        Expect::Open {
                            through: Vec::new(),
                            ohm: None,
                        },
                    ));
                }
            }
        }
    }

    /// High to low of each CAN trunk, through its terminators.
    pub(super) fn data_buses(&mut self) {
        let mut seen = Sorted::new();
        for (id, device) in &self.document.devices {
            let of = |role: Role| device.terminals.iter().find(|it| it.role == role);
            let (Some(high), Some(low)) = (of(Role::CanHigh), of(Role::CanLow)) else {
                continue;
            };
            let [high, low] = [high, low].map(|it| End::Terminal(id.clone(), it.id.clone()));
            let nodes = [&high, &low].map(|end| self.netlist.end_node(end));
            let [Some(a), Some(b)] = nodes else { continue };
            if !self.points[a.index()] || !seen.insert(self.group(a)) {
                continue;
            }
            let siemens: f64 = (self.netlist.graph.edge_indices())
                .filter_map(|edge| match self.netlist.graph[edge].kind {
                    EdgeKind::Resistor { ohm } => {
                        let (x, y) = self.netlist.ends(edge);
                        let ends = [self.group(x), self.group(y)];
                        let wanted = [self.group(a), self.group(b)];
                        let same = ends == wanted || ends == [wanted[1], wanted[0]];
                        same.then_some(1.0 / ohm)
                    }
                    _ => None,
                })
                .sum();
            if siemens > 0.0 {
                self.lines.push(Line::new(
                    Test::Resistance,
                    high,
                    low,
                    Expect::About(1.0 / siemens),
                ));
            }
        }
    }
}
