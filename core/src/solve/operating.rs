//! The operating point of a document in a state: volts at every point, amps in every conductor.

use crate::order;
use std::sync::{Arc, OnceLock};

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    unionfind::UnionFind,
};

use super::{
    DropReason, Element, Law, Network, PartState, Solution,
    circuit::Circuit,
    load_drop::Step,
    operator::Operator,
    states::{Figures, Overrides},
};
use crate::{
    document::{Document, State},
    ids::{DeviceId, ElementId, StateId, WireId},
    netlist::{Netlist, Point},
};

/// A point this far from 0 V counts as live, V (reasoned: over any drop in a return, under any supply).
pub const LIVE_ABOVE_V: f64 = 1.0;

/// A load that wants current, has supply, and cannot run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DroppedLoad {
    /// Its edge.
    pub edge: EdgeIndex,
    /// Why.
    pub reason: DropReason,
}

/// Volts and amps in one state.
#[derive(Clone, Debug)]
pub struct OperatingPoint {
    /// The state.
    pub state: StateId,
    /// Which figures of the loads count.
    pub figures: Figures,
    /// True if these are the figures of the point before, which no load's peak changes.
    pub repeats: bool,
    /// True if relays settled and the supply carries every load.
    pub converged: bool,
    /// If not, or if a figure is unsound: why, in a sentence.
    pub problem: Option<String>,
    /// Part of the power asked for that the supply can carry, if it cannot carry all.
    pub margin: Option<f64>,
    /// Loads that have supply and cannot run.
    pub dropped: Vec<DroppedLoad>,
    /// The same moment if [`Self::dropped`] loads took what they ask for: with it their protectors, wires and
    /// returns are judged. None where every load runs, and where nobody asked.
    pub asked: Option<Arc<Self>>,
    /// True if this is such a moment: its currents are what loads demand, not what they take.
    pub is_asked: bool,
    /// Loads that are on and have no supply or no way back in this state.
    pub unpowered: Vec<EdgeIndex>,
    /// By edge: closed, contacts as solved.
    pub closed: Vec<bool>,
    /// Alternators that give current or could.
    pub running: Vec<EdgeIndex>,
    /// Coils that have pulled in.
    pub energised: Vec<EdgeIndex>,
    pub(super) circuit: Arc<Circuit>,
    /// By point; not a number where no source holds a potential.
    volts: Vec<f64>,
    /// By edge; not a number where not determined (bars).
    amps: Vec<f64>,
    /// By point: held by a source, but not tied to the reference.
    floating: Vec<bool>,
    /// By point, when first asked for: what brings and takes the largest currents.
    pub(super) largest: OnceLock<Vec<[Option<Step>; 2]>>,
}

/// What came of letting relays settle.
pub(super) struct Settled {
    pub(super) solution: Option<Solution>,
    pub(super) closed: Vec<bool>,
    /// By load: the element that stands for it.
    pub(super) load_elements: Vec<usize>,
    pub(super) running: Vec<EdgeIndex>,
    pub(super) energised: Vec<EdgeIndex>,
    pub(super) problem: Option<String>,
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
        // Without any source there is nothing to solve, and nothing wrong with that.
        point.converged |= circuit.reference.is_none() && problems.is_empty();
        point.problem = (!problems.is_empty()).then(|| problems.join("; "));
        point
    }

    /// Gives every point its volts and every edge its amps back.
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
            // Beyond the first opening the far end holds the rest, up to the next opening.
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
            if matches!(circuit.edge(edge).kind, crate::netlist::EdgeKind::Bar(_)) {
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

    /// Which loads cannot run, and which are only without supply.
    fn sort_out(&mut self, solution: &Solution, load_elements: &[usize]) {
        let mut edge_of = vec![None; solution.currents.len()];
        for ((part, _), &element) in self.circuit.loads.iter().zip(load_elements) {
            edge_of[element] = Some(part.edge);
        }
        for dropped in &solution.dropped {
            let Some(edge) = edge_of[dropped.element] else {
                continue;
            };
            let across_v = self.across_v(edge).unwrap_or(0.0).abs();
            if dropped.reason == DropReason::NoPath || across_v < LIVE_ABOVE_V {
                self.unpowered.push(edge);
            } else {
                self.dropped.push(DroppedLoad {
                    edge,
                    reason: dropped.reason,
                });
            }
        }
        order::sort(&mut self.unpowered);
    }

    /// This moment, and the one in which loads that cannot run take what they ask for.
    pub fn judged(&self) -> impl Iterator<Item = &Self> {
        std::iter::once(self).chain(self.asked.as_deref())
    }

    /// True if a load is on, has supply, and cannot run.
    pub fn cannot_run(&self, load: EdgeIndex) -> bool {
        self.dropped.iter().any(|it| it.edge == load)
    }

    /// The graph it is an operating point of.
    pub fn netlist(&self) -> &Arc<Netlist> {
        &self.circuit.netlist
    }

    /// The node at 0 V; none if there is no source.
    pub fn reference(&self) -> Option<NodeIndex> {
        self.circuit.reference
    }

    /// Volts of a node; none where no source holds a potential.
    pub fn node_volts(&self, node: NodeIndex) -> Option<f64> {
        known(self.volts[self.circuit.point(node)])
    }

    /// Volts of a point against the reference; none where no source holds a potential.
    pub fn volts(&self, point: &Point) -> Option<f64> {
        self.node_volts(self.netlist().node(point)?)
    }

    /// True if a node's volts are only relative, since nothing ties it to the reference.
    pub fn is_floating(&self, node: NodeIndex) -> bool {
        self.floating[self.circuit.point(node)]
    }

    /// True if a point is more than [`LIVE_ABOVE_V`] from 0 V.
    pub fn is_live(&self, point: &Point) -> bool {
        self.volts(point)
            .is_some_and(|volts| volts.abs() > LIVE_ABOVE_V)
    }

    /// Amps in an edge from its first end to its second, but out of the positive of a battery or
    /// alternator. None for a bar, whose share is not determined.
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

    /// Volts from an edge's first end to its second.
    pub fn across_v(&self, edge: EdgeIndex) -> Option<f64> {
        let (a, b) = self.netlist().ends(edge);
        Some(self.node_volts(a)? - self.node_volts(b)?)
    }

    /// Resistance a conductor was solved with, ohm.
    pub fn edge_ohm(&self, edge: EdgeIndex) -> Option<f64> {
        self.circuit.ohm[edge.index()]
    }
}

/// Which nodes of the network hang together, and whether a source or the reference holds them.
///
/// The solver's islands also count the leak of blocked diodes and idle alternators; what only such a
/// leak holds is dead.
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

/// The operating point of a document in one state.
pub fn operate(
    document: &Document,
    id: &StateId,
    state: &State,
    figures: Figures,
) -> OperatingPoint {
    Operator::new(document).operate(id, state, figures, &Overrides::default())
}

/// The operating points of a document in all its states, in their order, each with continuous and
/// then with peak figures. A document without states has one, [`AT_REST`], with everything at rest
/// and the alternators on.
pub fn operate_all(document: &Document) -> Vec<OperatingPoint> {
    Operator::new(document).all(document)
}

/// The id of the state of a document that has none.
pub const AT_REST: &str = "at_rest";
