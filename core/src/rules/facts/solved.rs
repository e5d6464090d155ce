//! What the solver and the analysis say of a document, each computed at its first use.

use crate::order::InOrder;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use petgraph::graph::{EdgeIndex, NodeIndex};
use rustc_hash::FxHashMap;

use super::Facts;
use crate::{
    analysis::{
        LoadAnalysis,
        endurance::{Endurance, Extent},
        loads::{Work, bus_of},
    },
    document::{ElementKind, LoadSort, State},
    ids::StateId,
    netlist::{
        EdgeKind, Ends, Netlist,
        trace::{Feed, Feeds, Returns},
    },
    rules::and_list,
    solve::{AT_REST, Circuit, Figures, OperatingPoint, Overrides, Simulator},
};

/// Current while working from which a motor with no continuous current is a starter, A (our own
/// choice: larger than any motor that a breaker feeds, smaller than any starter).
const STARTER_A: f64 = 50.0;

/// Currents that differ by less are the same, A.
const NO_MORE_A: f64 = 1e-6;

impl Facts<'_> {
    /// The operating points of every state: with continuous, then with peak figures. Solved when
    /// first used; there is always at least one.
    pub fn points(&self) -> &[OperatingPoint] {
        self.points
            .get_or_init(|| self.simulator().all(self.document))
    }

    /// The operating point with every switch at rest, every breaker in and the alternators stopped.
    pub fn at_rest(&self) -> &OperatingPoint {
        self.at_rest.get_or_init(|| {
            let state = State::default();
            self.simulator().operate(
                &AT_REST.into(),
                &state,
                Figures::Continuous,
                &Overrides::default(),
            )
        })
    }

    /// The operating points to judge by: each, and with it the same moment if loads that cannot run took what
    /// they ask for. What cannot run must not hide what it would do to its breaker and its wires.
    pub fn judged(&self) -> impl Iterator<Item = &OperatingPoint> {
        self.points().iter().flat_map(OperatingPoint::judged)
    }

    /// Those that differ: without those whose peak figures are the continuous ones.
    pub fn points_that_differ(&self) -> impl Iterator<Item = &OperatingPoint> {
        self.judged().filter(|point| !point.repeats)
    }

    /// The largest continuous current in an edge, either way, in any state, A; 0 where none is known.
    pub fn most_steady_a(&self, edge: EdgeIndex) -> f64 {
        self.most_steady()[edge.index()].0
    }

    /// True if that current is what loads ask for and cannot take.
    pub fn is_asked(&self, edge: EdgeIndex) -> bool {
        self.most_steady()[edge.index()].1
    }

    fn most_steady(&self) -> &[(f64, bool)] {
        self.most_steady.get_or_init(|| {
            let mut most = vec![(0.0, false); self.netlist().graph.edge_count()];
            let steady = |point: &&OperatingPoint| point.figures == Figures::Continuous;
            for point in self.judged().filter(steady) {
                for (at, most) in most.iter_mut().enumerate() {
                    let amps = point.edge_amps(EdgeIndex::new(at)).unwrap_or(0.0).abs();
                    if amps > most.0 + if point.is_asked { NO_MORE_A } else { 0.0 } {
                        *most = (amps, point.is_asked);
                    }
                }
            }
            most
        })
    }

    /// Where the currents of a point come from, for the working of a finding.
    pub fn currents_from(&self, point: &OperatingPoint) -> String {
        let state = self.label(&point.state);
        if !point.is_asked {
            return format!("solved in \"{state}\"");
        }
        let names: Vec<String> = (point.dropped.iter())
            .map(|it| self.label(Self::subject_of(self.netlist().of(it.edge))))
            .collect();
        format!(
            "demanded in \"{state}\": {} cannot run there and counts with the stated current",
            and_list(&names)
        )
    }

    /// The operating point while a load that no state has on does its work, in the first state in
    /// which the alternator turns and the load can be switched on; failing that, in any.
    pub fn while_working(&self, load: EdgeIndex) -> Option<Arc<OperatingPoint>> {
        let known = |all: &Mutex<FxHashMap<_, _>>| {
            all.lock()
                .unwrap_or_else(PoisonError::into_inner)
                .get(&load)
                .cloned()
        };
        if let Some(known) = known(&self.working) {
            return known;
        }
        let point = self.work(load).map(Arc::new);
        let mut all = self.working.lock().unwrap_or_else(PoisonError::into_inner);
        all.insert(load, point.clone());
        point
    }

    fn work(&self, load: EdgeIndex) -> Option<OperatingPoint> {
        let mut states: Vec<_> = self.document.states.iter().collect();
        states.order_by_key(|(_, state)| (!state.alternators_on, state.order));
        let mut simulator = self.simulator();
        states
            .into_iter()
            .find_map(|(id, state)| simulator.with_load_working(id, state, load))
    }

    /// What all loads together take in each state as it runs; without buses and names.
    pub fn loads(&self) -> &LoadAnalysis {
        self.loads.get_or_init(|| self.loads_as(Work::AsItRuns))
    }

    /// What loads take in each state, computed again from the same points.
    pub fn loads_as(&self, work: Work) -> LoadAnalysis {
        let points = self.points();
        let mut simulator = self.simulator();
        LoadAnalysis::new(self.document, &mut simulator, points, work)
    }

    /// The label of the power bus that a load counts with.
    pub fn bus_of(&self, load: EdgeIndex) -> Option<String> {
        bus_of(self.document, self.netlist(), self.circuit().ways(), load)
    }

    /// The circuit with its solver, and the operating points of every state, for further questions
    /// about the same document.
    pub fn into_solved(self) -> (Simulator, Vec<OperatingPoint>) {
        self.points();
        let simulator = self.simulator.into_inner();
        let simulator = simulator.map(|it| it.into_inner().unwrap_or_else(PoisonError::into_inner));
        (
            simulator.unwrap_or_else(|| Simulator::new(self.document)),
            self.points.into_inner().unwrap_or_default(),
        )
    }

    /// What stops first after the alternator has, if it does before the target.
    pub fn endurance(&self) -> &Endurance {
        self.endurance
            .get_or_init(|| self.endurance_to(Extent::Target))
    }

    /// What stops when after the alternator has. Solved again each time, for the text of a finding.
    pub fn endurance_to(&self, extent: Extent) -> Endurance {
        let mut simulator = self.simulator();
        Endurance::new(self.document, &mut simulator, extent)
    }

    /// The circuit with its solver, made once for all that is asked of it; whoever holds it asks
    /// these facts nothing meanwhile.
    fn simulator(&self) -> MutexGuard<'_, Simulator> {
        let simulator = self
            .simulator
            .get_or_init(|| Mutex::new(Simulator::of(Arc::clone(self.circuit()))));
        // A question that panicked left no half answer: each sets all values that it reads.
        simulator.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn circuit(&self) -> &Arc<Circuit> {
        self.circuit
            .get_or_init(|| Arc::new(Circuit::of(self.document, Arc::clone(self.netlist()))))
    }

    /// The document's circuit.
    pub fn netlist(&self) -> &Arc<Netlist> {
        self.netlist
            .get_or_init(|| Arc::new(Netlist::with_ends(self.document, &|| self.ends())))
    }

    fn ends(&self) -> &Ends {
        self.ends.get_or_init(|| Ends::of(self.document))
    }

    /// What can be found while another thread makes the circuit.
    pub(in crate::rules) fn find_meanwhile(&self) {
        if self.netlist.get().is_none() {
            self.ends();
        }
    }

    /// The return side of the circuit.
    pub fn returns(&self) -> &Returns {
        &self.circuit().ways().returns
    }

    /// How every source can feed every place.
    pub fn feeds(&self) -> &Feeds {
        &self.circuit().ways().feeds
    }

    /// The nodes behind a breaker or fuse, up to the next one, in any switch position.
    pub fn behind(&self, protector: EdgeIndex) -> &[NodeIndex] {
        let behind = self.behind.get_or_init(|| {
            let netlist = self.netlist();
            let protectors = netlist
                .graph
                .edge_indices()
                .filter(|edge| matches!(netlist.graph[*edge].kind, EdgeKind::Protector { .. }));
            let nodes = |edge| {
                let load_side = netlist.ends(edge).1;
                (
                    edge,
                    netlist.downstream_nodes(self.returns(), edge, load_side),
                )
            };
            protectors.map(nodes).collect()
        });
        behind.get(&protector).map_or(&[], Vec::as_slice)
    }

    /// The largest voltage between two places that hang together in any phase, V, signed as the first above the second,
    /// and that phase. `None` if no phase could be solved.
    pub fn most_between(&self, node: NodeIndex, other: NodeIndex) -> Option<(f64, &StateId)> {
        let differs =
            |point: &OperatingPoint| Some(point.node_volts(node)? - point.node_volts(other)?);
        let all = self
            .points()
            .iter()
            .filter_map(|it| Some((differs(it)?, &it.state)));
        all.max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
    }

    /// Starter motors: motors that take a large current now and then and none continuously, fed by
    /// a battery through a contact and no protector. 14 CFR 23.1357(a) exempts their main circuits
    /// from protection.
    pub fn starters(&self) -> &[EdgeIndex] {
        self.starters.get_or_init(|| self.find_starters())
    }

    fn find_starters(&self) -> Vec<EdgeIndex> {
        let netlist = self.netlist();
        let mut starters = Vec::new();
        for (id, device) in &self.document.devices {
            for element in &device.elements {
                let ElementKind::Load(load) = &element.is else {
                    continue;
                };
                let working = [&load.intermittent_a, &load.peak_a];
                let starts = load.sort == LoadSort::Motor
                    && load.continuous_a.is_none()
                    && working
                        .into_iter()
                        .flatten()
                        .any(|figure| figure.amps >= STARTER_A);
                if starts
                    && let Some(edge) = netlist.element_edge(id, &element.id)
                    && !self.starter_feeds(edge).is_empty()
                {
                    starters.push(edge);
                }
            }
        }
        starters
    }

    /// The largest current of a starter that turns in this phase, A: its circuit carries it for seconds only.
    pub fn cranking_a(&self, point: &OperatingPoint) -> Option<f64> {
        let amps = (self.starters().iter()).filter_map(|load| Some(point.edge_amps(*load)?.abs()));
        amps.filter(|amps| *amps > 1.0).max_by(f64::total_cmp)
    }

    /// How batteries feed a starter motor: through a contact and no protector.
    pub fn starter_feeds(&self, starter: EdgeIndex) -> Vec<Feed> {
        let netlist = self.netlist();
        let is_contact =
            |edge: &EdgeIndex| matches!(netlist.graph[*edge].kind, EdgeKind::Contact { .. });
        let mut feeds = self.feeds().of_node(netlist, netlist.ends(starter).0);
        feeds.retain(|feed| {
            matches!(netlist.graph[feed.source].kind, EdgeKind::Battery { .. })
                && feed.protectors.is_empty()
                && feed.path.iter().any(is_contact)
        });
        feeds
    }
}
