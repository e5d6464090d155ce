//! An aircraft as a line of the sheet sets it up, and what a meter shows there: the drawing's own circuit, with what
//! no drawing shows at its worst (points closed, probes grounded, antennas grounded for direct current).

use std::collections::{BTreeMap, BTreeSet};

use super::faults::{Fault, Spot};
use loomwright_core::{
    analysis::ring_out::Line,
    document::{
        Device, DeviceKind, Document, ElementKind, End, LoadLaw, Place, ProtectorStyle, Role, Test,
        WireEnd,
    },
    ids::CableId,
    netlist::{EdgeKind, EdgeOf, Netlist},
    solve::resistance::edge_ohm,
};

/// A part whose ohms nobody gave reads low, ohm.
const LOW_OHM: f64 = 0.5;
/// What is closed inside a magneto, a grounded antenna or probe, ohm.
const CLOSED_OHM: f64 = 0.01;
/// A probe's own leads, ohm.
const PROBE_OHM: f64 = 4.0;

type Part = (usize, usize, f64);

/// The aircraft as a line sets it up: metal, and what stays wired.
pub struct Bench<'d> {
    document: &'d Document,
    netlist: &'d Netlist,
    metal: Vec<Part>,
    parts: Vec<Part>,
    /// By node: the circuit that metal makes.
    circuit: Vec<usize>,
    /// The end of a shield whose pigtail is broken.
    pigtail: Option<(CableId, WireEnd)>,
}

fn unplugs(device: &Device) -> bool {
    !device.connectors.is_empty() && device.kind != DeviceKind::InlineConnector
}

/// The metal that a lead, wire or shield with these ends can touch.
pub fn metal_at(document: &Document, netlist: &Netlist, ends: &[&End]) -> Option<usize> {
    let place = |end: &&End| match end {
        End::Terminal(device, _) => document.devices[device].place.clone(),
        End::Structure(place) => Some(place.clone()),
        _ => None,
    };
    let near = ends.iter().filter_map(place).find(|it| {
        let place = document.places.get(it);
        place.is_some_and(Place::is_metal)
    });
    let mut metal = document.places.iter().filter(|it| it.1.is_metal());
    let place = near.or_else(|| metal.next().map(|it| it.0.clone()));
    let block = || {
        document.devices.iter().find_map(|(id, device)| {
            let bar = device.elements.iter().find_map(|it| match &it.is {
                ElementKind::Bar(bar) => Some(bar),
                _ => None,
            });
            let bar = bar.filter(|it| serde_json::json!(it.used_as) == "ground")?;
            let first = device
                .terminals
                .iter()
                .find(|it| bar.terminals.contains(&it.id))?;
            netlist.terminal(id, &first.id)
        })
    };
    let node = match place {
        Some(place) => netlist.end_node(&End::Structure(place)),
        None => block(),
    };
    Some(node?.index())
}

impl<'d> Bench<'d> {
    /// With what is unplugged, set and taken off for this line.
    pub fn new(document: &'d Document, netlist: &'d Netlist, line: &Line) -> Self {
        let mut bench = Self {
            document,
            netlist,
            metal: Vec::new(),
            parts: Vec::new(),
            circuit: Vec::new(),
            pigtail: None,
        };
        for edge in netlist.graph.edge_indices() {
            let (a, b) = netlist.ends(edge);
            let it = &netlist.graph[edge];
            let off_board = match netlist.of(edge) {
                EdgeOf::Element(id, ..) => document.devices.get(id).is_some_and(unplugs),
                EdgeOf::ShieldEnd(cable, which) => {
                    let mut free = line.shields.iter();
                    free.any(|(id, free)| id == cable && free == which)
                }
                _ => false,
            };
            let is_off = |end: &End| {
                let node = netlist.end_node(end);
                matches!((end, netlist.of(edge)), (End::Terminal(of, _), EdgeOf::Element(id, ..)) if of == id)
                    && (node == Some(a) || node == Some(b))
            };
            if line.off.iter().any(is_off) {
                continue;
            }
            let ohm = edge_ohm(&it.kind, 20.0).unwrap_or(0.0);
            let closed = match &it.kind {
                EdgeKind::Switch {
                    made_in,
                    made_at_rest,
                    ..
                } => match &line.position {
                    Some((key, at)) if netlist.edges_of_key(key).any(|it| it == edge) => {
                        (made_in >> at) & 1 == 1
                    }
                    _ => *made_at_rest,
                },
                EdgeKind::Contact { made_energised, .. } => !made_energised,
                EdgeKind::Protector { .. } => match netlist.of(edge) {
                    EdgeOf::Element(id, element, _) => {
                        let element = document.devices[id].element(element).expect("drawn");
                        matches!(&element.is, ElementKind::Protector(it) if it.style == ProtectorStyle::Limiter)
                    }
                    _ => true,
                },
                _ => true,
            };
            let part = |ohm| (a.index(), b.index(), ohm);
            match &it.kind {
                EdgeKind::Resistor { ohm } => bench.parts.push(part(*ohm)),
                EdgeKind::Mate { .. } => bench.metal.push(part(ohm)),
                _ if off_board || !closed => {}
                EdgeKind::Battery { .. } => {}
                EdgeKind::Coil { ohm, .. } => bench.parts.push(part(*ohm)),
                EdgeKind::Diode { .. } | EdgeKind::Alternator { .. } => {
                    bench.parts.push(part(LOW_OHM));
                }
                EdgeKind::Load => {
                    let load = netlist.load(edge).expect("a load");
                    let amps = load.continuous_a.or(load.intermittent_a).or(load.peak_a);
                    let ohm = match (load.law, amps) {
                        (LoadLaw::Resistance, Some(amps)) => load.at_v / amps,
                        _ => LOW_OHM,
                    };
                    bench.parts.push(part(ohm));
                }
                _ => bench.metal.push(part(ohm)),
            }
        }
        bench.inside(line);
        bench.circuit = circuits(netlist.graph.node_count(), bench.metal.iter());
        bench
    }

    /// The same with what a fault does, if the line leaves it there.
    pub fn with(mut self, fault: &Fault, line: &Line) -> Self {
        let node = |it: &Spot| it.node(self.document, self.netlist).expect("it is drawn");
        if !fault.lugs.iter().any(|it| line.off.contains(it)) {
            let touches = fault.touches.iter();
            let touches: Vec<Part> = touches.map(|(a, b)| (node(a), node(b), 0.0)).collect();
            self.metal.extend(touches);
        }
        self.circuit = circuits(self.circuit.len(), self.metal.iter());
        self.pigtail.clone_from(&fault.pigtail);
        self
    }

    /// By node: the circuit that this wiring makes.
    pub fn circuit(&self) -> &[usize] {
        &self.circuit
    }

    /// What no drawing shows, unless it is taken off.
    fn inside(&mut self, line: &Line) {
        let (document, netlist) = (self.document, self.netlist);
        for (id, device) in document.devices.iter().filter(|it| !unplugs(it.1)) {
            let is_switch = device
                .elements
                .iter()
                .any(|it| matches!(it.is, ElementKind::Switch(_)));
            let node = |role: Role| {
                let terminal = device.terminals.iter().find(|it| it.role == role)?;
                let end = End::Terminal(id.clone(), terminal.id.clone());
                let is_off = line.off.contains(&end);
                Some(netlist.end_node(&end).filter(|_| !is_off)?.index())
            };
            let metal = || {
                let place = device.place.as_ref()?;
                Some(netlist.end_node(&End::Structure(place.clone()))?.index())
            };
            let case = || {
                node(Role::Return)
                    .or_else(|| node(Role::ShieldTie))
                    .or_else(metal)
            };
            if let (Some(lead), Some(case), false) = (node(Role::PLead), case(), is_switch) {
                self.parts.push((lead, case, CLOSED_OHM));
            }
            if device.kind == DeviceKind::Antenna
                && let (Some(center), Some(base)) = (node(Role::Rf), case())
            {
                self.parts.push((center, base, CLOSED_OHM));
            }
            let takes_power = device.terminals.iter().any(|it| it.role == Role::PowerIn);
            let legs = (node(Role::ThermocouplePlus), node(Role::ThermocoupleMinus));
            if let ((Some(plus), Some(minus)), false) = (legs, takes_power) {
                self.parts.push((plus, minus, PROBE_OHM));
                if let Some(engine) = metal() {
                    self.parts.push((plus, engine, CLOSED_OHM));
                }
            }
        }
    }

    /// What the meter shows. `drawn` is, by node, the circuit as the drawing has it.
    pub fn read(&self, line: &Line, drawn: &[usize]) -> f64 {
        let node = |end: &End| self.netlist.end_node(end).expect("it is drawn").index();
        // On a pigtail that is broken, the lead reads nothing.
        let shields = line.shields.iter().map(|braid| match &self.pigtail {
            Some(broken) if broken == braid => None,
            _ => {
                let ends = self.netlist.shield(&braid.0).expect("drawn");
                Some(ends[usize::from(braid.1 == WireEnd::To)].index())
            }
        });
        let ohms = |braid: Option<usize>, to| braid.map_or(f64::INFINITY, |it| self.ohms(it, to));
        let from = node(&line.from);
        match (&line.to, line.test) {
            (End::Open, Test::Continuity) => {
                let ohms = shields.map(|it| ohms(it, from));
                ohms.fold(0.0, f64::max)
            }
            (End::Open, _) if !line.shields.is_empty() => {
                let ohms = shields.map(|it| ohms(it, from));
                ohms.fold(f64::INFINITY, f64::min)
            }
            (End::Open, _) => self.against_all(line, from, drawn),
            (to, _) => self.ohms(from, node(to)),
        }
    }

    /// One lead stays, the other goes to each pin that the drawing has in another circuit, and to metal.
    fn against_all(&self, line: &Line, from: usize, drawn: &[usize]) -> f64 {
        let metal = metal_at(self.document, self.netlist, &[&line.from]);
        let pins = match &line.from {
            End::Terminal(id, own) => {
                let device = &self.document.devices[id];
                let connector = &device.terminal(own).expect("drawn").connector;
                let row = device
                    .terminals
                    .iter()
                    .filter(|it| it.connector == *connector);
                row.filter_map(|it| Some(self.netlist.terminal(id, &it.id)?.index()))
                    .collect()
            }
            _ => Vec::new(),
        };
        let others: BTreeSet<usize> = (pins.into_iter().chain(metal))
            .filter(|it| drawn[*it] != drawn[from])
            .collect();
        let own = self.circuit[from];
        if others.iter().all(|it| self.circuit[*it] != own) {
            // No more than all that leaves the circuit can be measured: if that passes, each pin does.
            let leaving = self.parts.iter();
            let leaving =
                leaving.filter(|(a, b, _)| (self.circuit[*a] == own) != (self.circuit[*b] == own));
            let siemens = leaving.map(|it| 1.0 / it.2).fold(0.0, |sum, one| sum + one);
            if !line.fails(1.0 / siemens) {
                return 1.0 / siemens;
            }
        }
        let ohms = others.into_iter().map(|it| self.ohms(from, it));
        ohms.fold(f64::INFINITY, f64::min)
    }

    fn ohms(&self, from: usize, to: usize) -> f64 {
        ohms(self.metal.iter().chain(&self.parts).copied(), from, to)
    }
}

fn circuits<'p>(nodes: usize, metal: impl Iterator<Item = &'p Part>) -> Vec<usize> {
    let mut of: Vec<usize> = (0..nodes).collect();
    fn root(of: &mut [usize], mut at: usize) -> usize {
        while of[at] != at {
            of[at] = of[of[at]];
            at = of[at];
        }
        at
    }
    for (a, b, _) in metal {
        let (a, b) = (root(&mut of, *a), root(&mut of, *b));
        of[a] = b;
    }
    (0..nodes).map(|at| root(&mut of, at)).collect()
}

/// By node: the conductor that wires, shields and blocks make, without any switch or contact.
pub fn conductors(document: &Document, netlist: &Netlist, line: &Line) -> Vec<usize> {
    let bench = Bench::new(document, netlist, line);
    let switched: BTreeSet<(usize, usize)> = (netlist.graph.edge_indices())
        .filter(|edge| {
            let kind = &netlist.graph[*edge].kind;
            matches!(kind, EdgeKind::Switch { .. } | EdgeKind::Contact { .. })
        })
        .map(|edge| {
            let (a, b) = netlist.ends(edge);
            (a.index(), b.index())
        })
        .collect();
    let metal = bench.metal.iter();
    circuits(
        netlist.graph.node_count(),
        metal.filter(|(a, b, _)| !switched.contains(&(*a, *b))),
    )
}

/// Ohms between two nodes: nodal equations of what hangs together, without its dead ends, solved by elimination.
fn ohms(parts: impl Iterator<Item = Part>, from: usize, to: usize) -> f64 {
    if from == to {
        return 0.0;
    }
    let mut at: BTreeMap<usize, BTreeMap<usize, f64>> = BTreeMap::new();
    for (a, b, ohm) in parts.filter(|(a, b, _)| a != b) {
        let siemens = 1.0 / ohm.max(1e-6);
        *at.entry(a).or_default().entry(b).or_default() += siemens;
        *at.entry(b).or_default().entry(a).or_default() += siemens;
    }
    let mut ends: Vec<usize> = at.keys().copied().collect();
    while let Some(node) = ends.pop() {
        let is_end = at.get(&node).is_some_and(|it| it.len() <= 1);
        if !is_end || node == from || node == to {
            continue;
        }
        for other in at.remove(&node).expect("it is there").into_keys() {
            at.get_mut(&other).expect("both ways").remove(&node);
            ends.push(other);
        }
    }
    let mut place = BTreeMap::from([(from, 0)]);
    let mut order = vec![from];
    let mut next = 0;
    while next < order.len() {
        for other in at.get(&order[next]).into_iter().flat_map(BTreeMap::keys) {
            if !place.contains_key(other) {
                place.insert(*other, order.len());
                order.push(*other);
            }
        }
        next += 1;
    }
    let Some(&to) = place.get(&to) else {
        return f64::INFINITY;
    };
    // One ampere into `from`, out of `to`, which is at 0 V.
    let n = order.len();
    let mut rows = vec![vec![0.0; n + 1]; n];
    for (row, node) in order.iter().enumerate() {
        for (other, siemens) in at.get(node).into_iter().flatten() {
            rows[row][row] += siemens;
            rows[row][place[other]] -= siemens;
        }
    }
    rows[0][n] = 1.0;
    rows[to] = vec![0.0; n + 1];
    rows[to][to] = 1.0;
    for pivot in 0..n {
        let line = rows[pivot].clone();
        for row in rows
            .iter_mut()
            .skip(pivot + 1)
            .filter(|row| row[pivot] != 0.0)
        {
            let times = row[pivot] / line[pivot];
            for (cell, by) in row[pivot..].iter_mut().zip(&line[pivot..]) {
                *cell -= times * by;
            }
        }
    }
    let mut volts = vec![0.0; n];
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|it| rows[row][it] * volts[it]).sum();
        volts[row] = (rows[row][n] - known) / rows[row][row];
    }
    volts[0]
}
