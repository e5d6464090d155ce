//! The operating point of a document in a state: volts at every point, amps in every conductor.

use crate::order::InOrder;
use crate::order::Sorted;
use std::sync::{Arc, OnceLock};

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    unionfind::UnionFind,
    visit::EdgeRef,
};

use super::{
    DropReason, Element, Law, Network, PartState, Solution, circuit::Circuit, joined::Joined,
    states::Figures,
};
use crate::{
    ids::{DeviceId, ElementId, StateId, WireId},
    netlist::{EdgeKind, EdgeOf, Netlist, Point},
};

/// A point this far from 0 V counts as live, V (reasoned: above any drop in a return, below any
/// supply).
pub const LIVE_ABOVE_V: f64 = 1.0;

/// An alternator that gives less gives nothing, A; and how far over its set voltage another source holds
/// its output, V (reasoned: over what the solver leaks, under any load).
const GIVES_ABOVE: f64 = 1e-3;

/// A load that is on and supplied but cannot run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DroppedLoad {
    /// Its edge.
    pub edge: EdgeIndex,
    /// Why.
    pub reason: DropReason,
}

/// Currents below this count as zero, A: the leak that every solved part has.
pub(crate) const NO_AMPS: f64 = 1e-6;

/// One conductor with current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Its edge.
    pub edge: EdgeIndex,
    /// Current in it along the path, A; on the path of a load its own and that of loads sharing the conductor.
    pub amps: f64,
    /// Voltage drop in it, V.
    pub drop_v: f64,
}

/// A conductor with the current it brings or takes: one step on a path.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    pub(crate) leg: Leg,
    /// The node beyond it.
    pub(crate) beyond: NodeIndex,
}

/// Volts and amps in one state.
#[derive(Clone, Debug)]
pub struct OperatingPoint {
    /// The state.
    pub state: StateId,
    /// Which load figures are used.
    pub figures: Figures,
    /// True if this equals the previous point, because no load has a peak.
    pub repeats: bool,
    /// True if relays settled and the supply carries every load.
    pub converged: bool,
    /// If not, or if a figure is impossible: why, in a sentence.
    pub problem: Option<String>,
    /// Share of the demanded power that the supply can carry, if it cannot carry all.
    pub margin: Option<f64>,
    /// Loads that are supplied but cannot run.
    pub dropped: Vec<DroppedLoad>,
    /// The same moment with [`Self::dropped`] loads taking what they ask for: breakers, wires and returns are
    /// judged by it. `None` where every load runs, and where it was not requested.
    pub asked: Option<Arc<Self>>,
    /// True if this is such a moment: its currents are what loads demand, not what they take.
    pub is_asked: bool,
    /// Loads that are on but have no supply or no return path in this state.
    pub unpowered: Vec<EdgeIndex>,
    /// By edge: closed, contacts as solved.
    pub closed: Vec<bool>,
    /// Alternators that are enabled.
    pub running: Vec<EdgeIndex>,
    /// Coils that have pulled in.
    pub energised: Vec<EdgeIndex>,
    pub(crate) circuit: Arc<Circuit>,
    /// By point; NaN where no source holds a potential.
    volts: Vec<f64>,
    /// By edge; NaN where undetermined (bars).
    amps: Vec<f64>,
    /// By point: held by a source, but not connected to the reference.
    floating: Vec<bool>,
    /// By point, computed on first use: the conductors with the largest currents in and out.
    largest: OnceLock<Vec<[Option<Step>; 2]>>,
}

/// Result of letting relays settle.
pub(crate) struct Settled {
    pub(crate) solution: Option<Solution>,
    pub(crate) closed: Vec<bool>,
    /// By load: its element.
    pub(crate) load_elements: Vec<usize>,
    pub(crate) running: Vec<EdgeIndex>,
    pub(crate) energised: Vec<EdgeIndex>,
    pub(crate) problem: Option<String>,
}

impl OperatingPoint {
    pub(super) fn new(
        circuit: &Arc<Circuit>,
        network: &Network,
        state: &StateId,
        figures: Figures,
        settled: Settled,
    ) -> Self {
        let points = circuit.reduced.points;
        let mut point = Self {
            state: state.clone(),
            figures,
            repeats: false,
            converged: false,
            problem: None,
            margin: None,
            dropped: Vec::new(),
            asked: None,
            is_asked: false,
            unpowered: Vec::new(),
            closed: settled.closed,
            running: settled.running,
            energised: settled.energised,
            circuit: Arc::clone(circuit),
            volts: vec![f64::NAN; points],
            amps: vec![0.0; circuit.netlist.graph.edge_count()],
            floating: vec![false; points],
            largest: OnceLock::new(),
        };
        let mut problems = circuit.unsound.clone();
        problems.extend(settled.problem);
        if let Some(solution) = settled.solution {
            problems.extend(solution.sentence());
            point.margin = solution.margin;
            point.converged = solution.converged && problems.is_empty();
            point.expand(network, &solution, &settled.load_elements);
            point.sort_out(&solution, &settled.load_elements);
        }
        // Without a source there is nothing to solve, and that is not an error.
        point.converged |= circuit.reference.is_none() && problems.is_empty();
        point.problem = (!problems.is_empty()).then(|| problems.join("; "));
        point
    }

    /// Fills in the volts of every point and the amps of every edge.
    fn expand(&mut self, network: &Network, solution: &Solution, load_elements: &[usize]) {
        let circuit = Arc::clone(&self.circuit);
        let held = Held::new(network, solution);
        for (point, node) in circuit.node_of.iter().enumerate() {
            let Some(node) = *node else { continue };
            if !held.by_source[held.group[node]] {
                continue;
            }
            self.floating[point] = held.group[node] != held.group[network.reference];
            self.volts[point] = solution.node_volts[node];
        }
        let current = |element: usize| solution.currents[element].unwrap_or(f64::NAN);
        for (chain, element) in circuit.reduced.chains.iter().zip(&circuit.chain_element) {
            let is_closed = |(edge, _): &(EdgeIndex, bool)| self.closed[edge.index()];
            let through = chain.links.iter().all(is_closed);
            let amps = element.filter(|_| through).map_or(0.0, current);
            let mut held = (self.volts[chain.from], self.floating[chain.from]);
            let mut at = chain.from;
            for &(edge, forward) in &chain.links {
                let (a, b) = circuit.netlist.ends(edge);
                at = circuit.point(if forward { b } else { a });
                let drop_v = amps * circuit.ohm[edge.index()].unwrap_or_default();
                held = if self.closed[edge.index()] {
                    (held.0 - drop_v, held.1)
                } else {
                    NOT_HELD
                };
                if at != chain.to {
                    (self.volts[at], self.floating[at]) = held;
                }
                self.amps[edge.index()] = if forward { amps } else { -amps };
            }
            if through {
                continue;
            }
            // Beyond the first open edge the far end holds the potential, up to the next open edge.
            for &(edge, forward) in chain.links.iter().rev() {
                if !self.closed[edge.index()] {
                    break;
                }
                let (a, b) = circuit.netlist.ends(edge);
                let before = circuit.point(if forward { a } else { b });
                (self.volts[before], self.floating[before]) = (self.volts[at], self.floating[at]);
                at = before;
            }
        }
        for &(edge, outer, inner) in circuit.reduced.stubs.iter().rev() {
            if self.closed[edge.index()] {
                (self.volts[outer], self.floating[outer]) =
                    (self.volts[inner], self.floating[inner]);
            }
        }
        for edge in circuit.netlist.graph.edge_indices() {
            if matches!(circuit.edge(edge).kind, EdgeKind::Bar(_)) {
                self.amps[edge.index()] = f64::NAN;
            }
        }
        for &(edge, element) in &circuit.sources_and_others {
            self.amps[edge.index()] = current(element);
        }
        for ((part, _), &element) in circuit.loads.iter().zip(load_elements) {
            let turned = if element == part.element { 1.0 } else { -1.0 };
            self.amps[part.edge.index()] = turned * current(element);
        }
    }

    /// Separates loads that cannot run from loads without supply.
    fn sort_out(&mut self, solution: &Solution, load_elements: &[usize]) {
        let mut plain = None;
        let mut edge_of = vec![None; solution.currents.len()];
        for ((part, _), &element) in self.circuit.loads.iter().zip(load_elements) {
            edge_of[element] = Some(part.edge);
        }
        for dropped in &solution.dropped {
            let Some(edge) = edge_of[dropped.element] else {
                continue;
            };
            let across_v = self.across_v(edge).unwrap_or(0.0).abs();
            // A low voltage is a supply if a source is connected to the load, and a drop in a return if none is.
            let mut is_fed = || {
                let joined =
                    plain.get_or_insert_with(|| Joined::new(self.netlist(), &self.closed, &[]));
                across_v > 0.0 && self.is_fed(edge, joined)
            };
            if dropped.reason == DropReason::NoPath || (across_v < LIVE_ABOVE_V && !is_fed()) {
                self.unpowered.push(edge);
            } else {
                self.dropped.push(DroppedLoad {
                    edge,
                    reason: dropped.reason,
                });
            }
        }
        self.unpowered.order();
    }

    /// True if closed conductors connect one end of a load to the positive of a battery or of a running alternator,
    /// and do not connect its two ends.
    fn is_fed(&self, load: EdgeIndex, joined: &Joined) -> bool {
        let netlist = self.netlist();
        let (a, b) = netlist.ends(load);
        let gives = |source: &EdgeIndex| match netlist.graph[*source].kind {
            EdgeKind::Alternator { .. } => self.running.contains(source),
            _ => true,
        };
        let feeds = |source: EdgeIndex| {
            let (plus, _) = netlist.ends(source);
            joined.has(plus, a) || joined.has(plus, b)
        };
        !joined.has(a, b) && netlist.sources().filter(gives).any(feeds)
    }

    /// This moment, and the one in which loads that cannot run take what they ask for.
    pub fn judged(&self) -> impl Iterator<Item = &Self> {
        std::iter::once(self).chain(self.asked.as_deref())
    }

    /// True if a load is on and supplied but cannot run.
    pub fn cannot_run(&self, load: EdgeIndex) -> bool {
        self.dropped.iter().any(|it| it.edge == load)
    }

    /// Its graph.
    pub fn netlist(&self) -> &Arc<Netlist> {
        &self.circuit.netlist
    }

    /// The node at 0 V; `None` without a source.
    pub fn reference(&self) -> Option<NodeIndex> {
        self.circuit.reference
    }

    /// Volts of a node; `None` where no source holds a potential.
    pub fn node_volts(&self, node: NodeIndex) -> Option<f64> {
        known(self.volts[self.circuit.point(node)])
    }

    /// Volts of a point relative to the reference; `None` where no source holds a potential.
    pub fn volts(&self, point: &Point) -> Option<f64> {
        self.node_volts(self.netlist().node(point)?)
    }

    /// True if a node is not connected to the reference, so its volts are only relative.
    pub fn is_floating(&self, node: NodeIndex) -> bool {
        self.floating[self.circuit.point(node)]
    }

    /// True if a point is more than [`LIVE_ABOVE_V`] from 0 V.
    pub fn is_live(&self, point: &Point) -> bool {
        self.volts(point)
            .is_some_and(|volts| volts.abs() > LIVE_ABOVE_V)
    }

    /// Amps in an edge from its first end to its second, but out of the positive of a battery or
    /// alternator. `None` for a bar, whose share is undetermined.
    pub fn edge_amps(&self, edge: EdgeIndex) -> Option<f64> {
        known(self.amps[edge.index()])
    }

    /// Amps in a wire, positive from its `from` to its `to`.
    pub fn wire_amps(&self, wire: &WireId) -> Option<f64> {
        self.edge_amps(self.netlist().wire(wire)?.edge)
    }

    /// Amps in an element of one part, as [`Self::edge_amps`]. Of a switch, its first path's.
    pub fn element_amps(&self, device: &DeviceId, element: &ElementId) -> Option<f64> {
        self.edge_amps(self.netlist().element_edge(device, element)?)
    }

    /// True if an alternator gives current, or would if another source did not hold its output at a higher
    /// voltage than it is set to.
    pub fn gives(&self, alternator: EdgeIndex) -> bool {
        let EdgeKind::Alternator { set_v, .. } = self.netlist().graph[alternator].kind else {
            return false;
        };
        let gives = (self.edge_amps(alternator)).is_some_and(|amps| amps > GIVES_ABOVE);
        let idles = || (self.across_v(alternator)).is_some_and(|it| it > set_v + GIVES_ABOVE);
        self.running.contains(&alternator) && (gives || idles())
    }

    /// Coils that have pulled in, as `DEVICE/ELEMENT`.
    pub fn energised_coils(&self) -> Sorted<String> {
        let edges = self.energised.iter().map(|edge| self.netlist().of(*edge));
        let keys = edges.filter_map(|of| match of {
            EdgeOf::Element(device, element, _) => Some(format!("{device}/{element}")),
            _ => None,
        });
        keys.collect()
    }

    /// Volts from an edge's first end to its second.
    pub fn across_v(&self, edge: EdgeIndex) -> Option<f64> {
        let (a, b) = self.netlist().ends(edge);
        Some(self.node_volts(a)? - self.node_volts(b)?)
    }

    /// The conductors that bring and take the largest currents at a node's point.
    pub(crate) fn largest_at(&self, at: NodeIndex) -> [Option<Step>; 2] {
        let largest = self.largest.get_or_init(|| self.find_largest());
        largest[self.circuit.point(at)]
    }

    fn find_largest(&self) -> Vec<[Option<Step>; 2]> {
        let netlist = self.netlist();
        let mut all = vec![[None; 2]; self.circuit.reduced.points];
        // In edge order, as they are in memory.
        for edge in netlist.graph.edge_references() {
            let is_way = self.edge_ohm(edge.id()).is_some()
                || matches!(edge.weight().kind, EdgeKind::Diode { .. });
            let (Some(amps), true) = (self.edge_amps(edge.id()), is_way) else {
                continue;
            };
            if amps.abs() <= NO_AMPS {
                continue;
            }
            let leg = Leg {
                edge: edge.id(),
                amps: amps.abs(),
                drop_v: self.across_v(edge.id()).unwrap_or(0.0).abs(),
            };
            let (from, to) = match amps > 0.0 {
                true => (edge.source(), edge.target()),
                false => (edge.target(), edge.source()),
            };
            for (at, way, beyond) in [(to, 0, from), (from, 1, to)] {
                let best = &mut all[self.circuit.point(at)][way];
                if best.is_none_or(|best: Step| leg.amps >= best.leg.amps) {
                    *best = Some(Step { leg, beyond });
                }
            }
        }
        all
    }

    /// Resistance a conductor was solved with, ohm.
    pub fn edge_ohm(&self, edge: EdgeIndex) -> Option<f64> {
        self.circuit.ohm[edge.index()]
    }
}

/// Connected groups of nodes, and whether a source or the reference holds them.
///
/// The solver's islands also count the leak of blocked diodes and idle alternators; a node held
/// only by such a leak is dead.
struct Held {
    group: Vec<usize>,
    by_source: Vec<bool>,
}

impl Held {
    fn new(network: &Network, solution: &Solution) -> Self {
        let mut sets = UnionFind::<usize>::new(network.node_count);
        let on = |(at, element): &(usize, &Element)| {
            !element.off && element.law.conducts() && solution.states[*at] != Some(PartState::Off)
        };
        for (_, element) in network.elements.iter().enumerate().filter(on) {
            sets.union(element.a, element.b);
        }
        let group = sets.into_labeling();
        let mut by_source = vec![false; network.node_count];
        by_source[group[network.reference]] = true;
        for (_, element) in network.elements.iter().enumerate().filter(on) {
            if matches!(element.law, Law::Battery { .. } | Law::Alternator { .. }) {
                by_source[group[element.a]] = true;
            }
        }
        Self { group, by_source }
    }
}

/// No potential, and not floating.
const NOT_HELD: (f64, bool) = (f64::NAN, false);

fn known(value: f64) -> Option<f64> {
    (!value.is_nan()).then_some(value)
}

/// The state id of a document without states.
pub const AT_REST: &str = "at_rest";
