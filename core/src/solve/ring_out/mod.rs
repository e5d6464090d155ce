//! What an ohmmeter shows on the finished wiring before first power: every connection with its ohms, every circuit
//! that must be open to the others, buses, jack bodies and data buses.
//!
//! It applies with the battery out, units unplugged, in-line connectors mated, breakers pulled and fuses out,
//! limiters in, switches at rest. Items without a connector (lamps, motors, coils) stay wired.

use petgraph::graph::{EdgeIndex, NodeIndex};
use petgraph::unionfind::UnionFind;

mod least;
mod pairs;
mod special;

use least::Least;

use crate::{
    document::{
        BarUse, Device, DeviceKind, Document, ElementKind, End, LoadLaw, ProtectorStyle, Reading,
        Role, Test, Wire, natural_cmp,
    },
    ids::WireId,
    netlist::{EdgeKind, EdgeOf, Netlist, Point},
    order::{Map, Sorted, sort_by},
};

/// What a meter may show above the computed ohms, leads nulled: this, ohm, or a quarter, whichever is larger
/// (common practice, no source).
const OVER_OHM: f64 = 0.2;
/// From this resistance on a circuit counts as open to another, ohm (common practice, no source).
pub const OPEN_OHM: f64 = 100_000.0;
/// Share by which the resistance of a data bus may differ (5 % resistors and a meter's own error;
/// common practice, no source).
const RESISTOR_SHARE: f64 = 0.1;
/// Below this a coil or motor that stays wired cannot be distinguished from a short, ohm (common practice, no
/// source).
const LEAST_TOLD_OHM: f64 = 2.0;
/// The highest reading for continuity if a length is unknown, ohm (common practice, no source).
const UNKNOWN_OHM: f64 = 5.0;
/// What a thermocouple probe's own leads may add to those drawn, ohm (common practice, no source).
const PROBE_OHM: f64 = 20.0;
/// A thermocouple pair that reads less than this share of its leads is shorted before its probe.
const PAIR_SHARE: f64 = 0.75;

/// The expected result of a line.
#[derive(Clone, Debug, PartialEq)]
pub enum Expect {
    /// This resistance, leads nulled, or less where another path is in parallel; unknown if a length is missing or
    /// the conductor is not copper.
    Ohm(Option<f64>),
    /// Open, except that the named parts stay wired and are measured with it. The resistance of all of them, if
    /// known; otherwise the reading depends on the unit.
    Open {
        /// Parts that stay wired.
        through: Vec<String>,
        /// Its ohms.
        ohm: Option<f64>,
    },
    /// This resistance, through resistors.
    About(f64),
    /// A thermocouple pair through its junction: the ohms of its leads, if lengths and alloys are known. The
    /// probe's own leads add to them.
    Probe(Option<f64>),
}

/// One measurement.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The kind of test.
    pub test: Test,
    /// One lead.
    pub from: End,
    /// The other; [`End::Open`] for all other circuits and structure.
    pub to: End,
    /// Ends to disconnect from their terminals first.
    pub off: Vec<End>,
    /// The switch that is moved from rest, `DEVICE/ELEMENT`, and its position.
    pub position: Option<(String, usize)>,
    /// The expected result.
    pub expect: Expect,
    /// The path of the measurement, from one lead to the other.
    pub path: Vec<EdgeIndex>,
}

/// The result of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// As drawn.
    Right,
    /// Not as drawn, and why.
    Wrong(String),
    /// It cannot be judged.
    Unknown,
}

impl Line {
    /// A measurement with nothing disconnected, every switch at rest.
    fn new(test: Test, from: End, to: End, expect: Expect) -> Self {
        Self {
            test,
            from,
            to,
            off: Vec::new(),
            position: None,
            expect,
            path: Vec::new(),
        }
    }

    /// True if a reading belongs to this line, in either direction.
    pub fn is_of(&self, reading: &Reading) -> bool {
        let ends = (&reading.from, &reading.to);
        self.test == reading.test
            && self.position == reading.position
            && (ends == (&self.from, &self.to) || ends == (&self.to, &self.from))
    }

    /// The highest, or lowest, resistance that passes, ohm.
    pub fn limit_ohm(&self) -> Option<f64> {
        match &self.expect {
            Expect::Ohm(Some(ohm)) => Some(ohm + OVER_OHM.max(ohm / 4.0)),
            Expect::Ohm(None) => Some(UNKNOWN_OHM),
            Expect::Open { through, .. } if through.is_empty() => Some(OPEN_OHM),
            // If it is nearly a short anyway, a reading proves nothing.
            Expect::Open { ohm, .. } => ohm.filter(|it| *it >= LEAST_TOLD_OHM).map(|it| it / 2.0),
            Expect::About(ohm) => Some(*ohm),
            Expect::Probe(ohm) => Some(ohm.map_or(UNKNOWN_OHM, |it| it * 1.25) + PROBE_OHM),
        }
    }

    /// The range that passes, in words: "0.25 Ω or less".
    pub fn limits(&self) -> String {
        let Some(limit) = self.limit_ohm() else {
            return "not judged".into();
        };
        match &self.expect {
            Expect::Ohm(_) => format!("{limit:.2} Ω or less"),
            Expect::Open { through, .. } if through.is_empty() => "100 kΩ or more".into(),
            Expect::Open { .. } => format!("{limit:.1} Ω or more"),
            Expect::About(ohm) => {
                let off = RESISTOR_SHARE * ohm;
                format!("{:.0} to {:.0} Ω", ohm - off, ohm + off)
            }
            Expect::Probe(None) => format!("{limit:.0} Ω or less"),
            Expect::Probe(Some(ohm)) => format!("{:.1} to {limit:.0} Ω", ohm * PAIR_SHARE),
        }
    }

    /// Compares a reading with the expected result.
    pub fn judge(&self, reading: &Reading) -> Outcome {
        if reading.value.is_none() && !reading.over_range {
            return Outcome::Right;
        }
        let ohm = match reading.over_range {
            true => f64::INFINITY,
            false => reading.value.unwrap_or_default(),
        };
        let Some(limit) = self.limit_ohm() else {
            return match self.expect {
                Expect::Open { .. } if ohm >= OPEN_OHM => Outcome::Right,
                _ => Outcome::Unknown,
            };
        };
        let shown = match reading.over_range {
            true => "open".into(),
            false => format!("{} ohm", reading.shown()),
        };
        match self.expect {
            Expect::Ohm(_) if ohm > limit => {
                Outcome::Wrong(format!("{shown}, at most {limit:.2} ohm expected"))
            }
            Expect::Open { .. } if ohm < limit => {
                Outcome::Wrong(format!("{shown}, {limit:.0} ohm or more expected"))
            }
            Expect::About(want) if (ohm - want).abs() > RESISTOR_SHARE * want => {
                Outcome::Wrong(format!("{shown}, {want:.0} ohm expected"))
            }
            Expect::Probe(_) if ohm > limit => {
                Outcome::Wrong(format!("{shown}, at most {limit:.0} ohm expected"))
            }
            Expect::Probe(Some(leads)) if ohm < PAIR_SHARE * leads => {
                Outcome::Wrong(format!("{shown}, its leads alone have {leads:.1} ohm"))
            }
            _ => Outcome::Right,
        }
    }
}

/// The complete sheet.
#[derive(Clone, Debug)]
pub struct RingOut {
    /// The graph of its paths.
    pub netlist: Netlist,
    /// The measurements: by connector or device, continuity first.
    pub lines: Vec<Line>,
    group: Vec<usize>,
}

impl RingOut {
    /// The measurements for a document's wiring.
    pub fn new(document: &Document) -> Self {
        let netlist = Netlist::new(document);
        let stays: Vec<bool> = (netlist.graph.edge_indices())
            .map(|edge| stays(document, &netlist, edge))
            .collect();
        let mut sets = UnionFind::<usize>::new(netlist.graph.node_count());
        for edge in netlist.graph.edge_indices().filter(|it| stays[it.index()]) {
            let (a, b) = netlist.ends(edge);
            sets.union(a.index(), b.index());
        }
        let group = sets.into_labeling();
        let joined = joined(document, &netlist);
        let mut joined_at: Map<usize, Vec<EdgeIndex>> = Map::new();
        for &edge in &joined {
            let (a, b) = netlist.ends(edge);
            let (a, b) = (group[a.index()], group[b.index()]);
            if a != b {
                joined_at.or_default(a).push(edge);
                joined_at.or_default(b).push(edge);
            }
        }
        let mut sheet = Sheet {
            document,
            points: points(document, &netlist),
            first: first_wires(document),
            joined,
            joined_at,
            low: special::low(document, &netlist, &group),
            netlist: &netlist,
            stays: &stays,
            group: &group,
            lines: Vec::new(),
        };
        sheet.buses();
        sheet.circuits();
        sheet.pairs();
        sheet.jacks();
        sheet.data_buses();
        sheet.take_off();
        sheet.probes();
        sheet.magnetos();
        let lines = sheet.lines;
        Self {
            netlist,
            lines,
            group,
        }
    }

    /// The line that a reading belongs to.
    pub fn line_of(&self, reading: &Reading) -> Option<&Line> {
        self.lines.iter().find(|line| line.is_of(reading))
    }

    /// True if both ends are in one circuit here.
    pub fn joined(&self, a: &End, b: &End) -> bool {
        let group = |end| self.netlist.end_node(end).map(|it| self.group[it.index()]);
        group(a).is_some() && group(a) == group(b)
    }

    /// The terminals and structure of the circuit of an end.
    pub fn circuit(&self, end: &End) -> Vec<NodeIndex> {
        let Some(node) = self.netlist.end_node(end) else {
            return Vec::new();
        };
        let all = self.netlist.graph.node_indices();
        let same = |it: &NodeIndex| self.group[it.index()] == self.group[node.index()];
        all.filter(same).collect()
    }
}

/// True if an edge connects with the units unplugged.
fn stays(document: &Document, netlist: &Netlist, edge: EdgeIndex) -> bool {
    let it = &netlist.graph[edge];
    let is_loose = |id: &crate::ids::DeviceId| {
        let device = document.devices.get(id);
        device.is_some_and(|device| !unplugs(device))
    };
    match (&it.kind, netlist.of(edge)) {
        (
            EdgeKind::Wire { .. }
            | EdgeKind::Shield { .. }
            | EdgeKind::ShieldEnd { .. }
            | EdgeKind::Mate { .. }
            | EdgeKind::Bar(BarUse::Bus | BarUse::Ground)
            | EdgeKind::Bond { .. }
            | EdgeKind::JackTie(_),
            _,
        )
        | (EdgeKind::Protector { .. }, EdgeOf::InlineFuse(_)) => true,
        (
            EdgeKind::Bar(_) | EdgeKind::Shunt { .. } | EdgeKind::Tie { .. },
            EdgeOf::Element(id, ..),
        ) => is_loose(id),
        (EdgeKind::Switch { .. } | EdgeKind::Contact { .. }, EdgeOf::Element(id, ..)) => {
            it.closed && is_loose(id)
        }
        (EdgeKind::Protector { .. }, EdgeOf::Element(id, element, _)) => {
            let device = document.devices.get(id);
            let element = device.and_then(|device| device.element(element));
            element.is_some_and(|element| {
                matches!(&element.is, ElementKind::Protector(it) if it.style == ProtectorStyle::Limiter)
            })
        }
        _ => false,
    }
}

/// True if connectors disconnect a device from the wiring.
fn unplugs(device: &Device) -> bool {
    !device.connectors.is_empty() && device.kind != DeviceKind::InlineConnector
}

/// By node: true if a meter lead goes there.
fn points(document: &Document, netlist: &Netlist) -> Vec<bool> {
    let wires_at = |node| {
        let edges = netlist.edges_at(node);
        edges
            .filter(|edge| matches!(netlist.graph[*edge].kind, EdgeKind::Wire { .. }))
            .count()
    };
    let is_wired = |node| {
        let mut edges = netlist.edges_at(node);
        edges.any(|edge| {
            matches!(
                netlist.graph[edge].kind,
                EdgeKind::Wire { .. } | EdgeKind::ShieldEnd { .. }
            ) || matches!(netlist.of(edge), EdgeOf::InlineFuse(_))
        })
    };
    let mut points = vec![false; netlist.graph.node_count()];
    for node in netlist.graph.node_indices() {
        let Point::Terminal(id, _) = netlist.point(node) else {
            continue;
        };
        let device = document.devices.get(id);
        if device.is_none_or(|device| device.kind != DeviceKind::InlineConnector) {
            points[node.index()] = is_wired(node);
        }
    }
    // Of a mated pair, one pin where a conductor or shield does not continue as a wire.
    for edge in netlist.graph.edge_indices() {
        if !matches!(netlist.graph[edge].kind, EdgeKind::Mate { .. }) {
            continue;
        }
        let (a, b) = netlist.ends(edge);
        match (wires_at(a) > 0, wires_at(b) > 0) {
            (true, true) => {}
            (true, false) => points[b.index()] = true,
            (false, true) => points[a.index()] = true,
            (false, false) => points[a.index()] = is_wired(a) || is_wired(b),
        }
    }
    points
}

/// By end: the position of its first wire by number, and which end of it it is.
fn first_wires(document: &Document) -> Map<&End, (usize, bool)> {
    let mut wires: Vec<(&WireId, &Wire)> = document.wires.iter().collect();
    sort_by(&mut wires, |a, b| {
        natural_cmp(&a.1.number, &b.1.number).then_with(|| a.0.cmp(b.0))
    });
    let mut first = Map::new();
    for (at, (_, wire)) in wires.into_iter().enumerate() {
        for (end, is_to) in [(&wire.from, false), (&wire.to, true)] {
            if !first.contains_key(end) {
                first.insert(end, (at, is_to));
            }
        }
    }
    first
}

/// Loads, coils, resistors and diodes of devices that do not unplug, and resistors in backshells, which stay with
/// the wiring.
fn joined(document: &Document, netlist: &Netlist) -> Vec<EdgeIndex> {
    let stays = |edge: &EdgeIndex| {
        let EdgeOf::Element(id, ..) = netlist.of(*edge) else {
            return false;
        };
        match &netlist.graph[*edge].kind {
            EdgeKind::Resistor { .. } => true,
            EdgeKind::Load
            | EdgeKind::Coil { .. }
            | EdgeKind::Diode { .. }
            | EdgeKind::Alternator { .. } => {
                (document.devices.get(id)).is_some_and(|device| !unplugs(device))
            }
            _ => false,
        }
    };
    netlist.graph.edge_indices().filter(stays).collect()
}

struct Sheet<'d> {
    document: &'d Document,
    netlist: &'d Netlist,
    stays: &'d [bool],
    points: Vec<bool>,
    first: Map<&'d End, (usize, bool)>,
    /// Connections that are not metal and stay wired.
    joined: Vec<EdgeIndex>,
    /// The same by circuit.
    joined_at: Map<usize, Vec<EdgeIndex>>,
    /// Connections that read low by design.
    low: Vec<special::Low>,
    group: &'d [usize],
    lines: Vec<Line>,
}

impl Sheet<'_> {
    fn end(&self, node: NodeIndex) -> End {
        match self.netlist.point(node) {
            Point::Terminal(device, terminal) => End::Terminal(device.clone(), terminal.clone()),
            Point::Splice(id) => End::Splice(id.clone()),
            Point::Structure(id) => End::Structure(id.clone()),
            Point::Shield(..) | Point::WireOpen(..) | Point::InFuse(_) => End::Open,
        }
    }

    fn group(&self, node: NodeIndex) -> usize {
        self.group[node.index()]
    }

    /// 0 at a ground block or metal, 1 at a bus, 2 elsewhere: where the fixed lead goes.
    fn rank(&self, node: NodeIndex) -> u8 {
        match (self.netlist.point(node), self.netlist.bar_at(node)) {
            (_, Some(BarUse::Ground)) => 0,
            (_, Some(BarUse::Bus)) => 1,
            _ => 2,
        }
    }

    /// The points of each circuit, circuits in the order of their first wires.
    fn groups(&self) -> Vec<Vec<NodeIndex>> {
        let mut by_group: Map<usize, Vec<NodeIndex>> = Map::new();
        for node in self.netlist.graph.node_indices() {
            if self.points[node.index()] {
                by_group.or_default(self.group(node)).push(node);
            }
        }
        let mut groups: Vec<(usize, Vec<NodeIndex>)> = Vec::new();
        for nodes in by_group.values() {
            let mut nodes = nodes.clone();
            let place = |node: NodeIndex| {
                let first = self.first.get(&self.end(node)).copied();
                (self.rank(node), first.unwrap_or((usize::MAX, false)), node)
            };
            sort_by(&mut nodes, |a, b| place(*a).cmp(&place(*b)));
            let order = nodes.iter().map(|node| place(*node).1.0).min();
            groups.push((order.unwrap_or(usize::MAX), nodes));
        }
        sort_by(&mut groups, |a, b| a.0.cmp(&b.0));
        groups.into_iter().map(|(_, nodes)| nodes).collect()
    }

    fn circuits(&mut self) {
        let mut least = Least::over(self.netlist);
        for nodes in self.groups() {
            let rank = self.rank(nodes[0]);
            // Every terminal of a block or bus can take the fixed lead; elsewhere only one.
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

    /// The measurement from one circuit to another, or to all, through parts that stay wired.
    fn through(&self, from: usize, to: Option<usize>) -> Expect {
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

    /// The parts that stay wired between one circuit and another through further circuits, such as two lamps and
    /// their ground.
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
    fn buses(&mut self) {
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

    /// Every insulated jack's body against the metal it is mounted in.
    fn jacks(&mut self) {
        for (id, device) in &self.document.devices {
            let Some(place) = (device.place.as_ref()).filter(|it| {
                self.document
                    .places
                    .get(*it)
                    .is_some_and(|it| it.conductive)
            }) else {
                continue;
            };
            for element in &device.elements {
                let ElementKind::Jack(jack) = &element.is else {
                    continue;
                };
                if jack.isolated {
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
    fn data_buses(&mut self) {
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
