//! The lines of circuits: the ways along each, each against all others, buses against ground, jack bodies
//! against metal, data buses through their terminators.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    least::Least,
    line::{Expect, Line},
    sheet::Sheet,
};
use crate::{
    document::{BarUse, ElementKind, End, LoadLaw, Role, Test},
    netlist::{EdgeKind, EdgeOf, Point},
    order::{Map, Sorted},
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
        let expect = self.through(self.group(node), None);
        self.lines.push(Line::new(
            Test::Isolation,
            self.end(node),
            End::Open,
            expect,
        ));
    }

    /// What is measured from one circuit to another, or to all, through what stays joined.
    pub(super) fn through(&self, from: usize, to: Option<usize>) -> Expect {
        let (mut names, mut siemens) = (Vec::new(), Some(0.0));
        for &edge in &self.joined {
            let (a, b) = self.netlist.ends(edge);
            let (a, b) = (self.group(a), self.group(b));
            let far = match (a == from, b == from) {
                (true, false) => b,
                (false, true) => a,
                _ => continue,
            };
            if to.is_some_and(|to| to != far) {
                continue;
            }
            let EdgeOf::Element(id, element, _) = self.netlist.of(edge) else {
                continue;
            };
            let ohm = match &self.netlist.graph[edge].kind {
                EdgeKind::Resistor { ohm } | EdgeKind::Coil { ohm, .. } => Some(*ohm),
                EdgeKind::Load => self.netlist.load(edge).and_then(|load| {
                    let amps = load.continuous_a.or(load.intermittent_a).or(load.peak_a);
                    let tells = |amps: &f64| load.law == LoadLaw::Resistance && *amps > 0.0;
                    amps.filter(tells).map(|amps| load.at_v / amps)
                }),
                _ => None,
            };
            let label = (self.document).record_label("element", &format!("{id}/{element}"));
            if !names.contains(&label) {
                names.push(label);
            }
            siemens = siemens.zip(ohm).map(|(sum, ohm)| sum + 1.0 / ohm);
        }
        for label in to.map_or(Vec::new(), |to| self.round_about(from, to)) {
            siemens = None;
            if !names.contains(&label) {
                names.push(label);
            }
        }
        let ohm = siemens.filter(|it| *it > 0.0).map(|it| 1.0 / it);
        Expect::Open {
            through: names,
            ohm,
        }
    }

    /// What stays joined from one circuit to another by way of others, such as two lamps and their ground.
    fn round_about(&self, from: usize, to: usize) -> Vec<String> {
        let mut by: Map<usize, EdgeIndex> = Map::new();
        let mut front = std::collections::VecDeque::from([from]);
        while let Some(at) = front.pop_front() {
            for edge in self.joined_at.get(&at).into_iter().flatten() {
                let (a, b) = self.netlist.ends(*edge);
                let next = self.group(a) + self.group(b) - at;
                if next != from && !(at == from && next == to) && !by.contains_key(&next) {
                    by.insert(next, *edge);
                    front.push_back(next);
                }
            }
        }
        let (mut names, mut at) = (Vec::new(), to);
        while let Some(edge) = by.get(&at) {
            if let EdgeOf::Element(id, element, _) = self.netlist.of(*edge) {
                let key = format!("{id}/{element}");
                names.push(self.document.record_label("element", &key));
            }
            let (a, b) = self.netlist.ends(*edge);
            at = self.group(a) + self.group(b) - at;
            if at == from {
                break;
            }
        }
        names.reverse();
        names
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
                self.lines.push(Line::new(
                    Test::Isolation,
                    self.end(node),
                    self.end(ground),
                    self.through(self.group(node), Some(self.group(ground))),
                ));
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
