//! What rules may know: the document, its circuit, its operating points, and look-ups between them.
//! Made once a run.

use crate::order::{self, Grouped};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use petgraph::{
    graph::{EdgeIndex, NodeIndex},
    visit::EdgeRef,
};
use rustc_hash::FxHashMap;

use super::{
    Location, Subject,
    signal::joined::{self, Conductor},
};
use crate::{
    document::{Device, Document, ElementKind, End, LoadSort, Terminal, Wire, WireEnd},
    ids::{CableId, DeviceId, PlaceId, TerminalId, WireId},
    markup::seen,
    netlist::{
        EdgeKind, EdgeOf, Ends, Netlist, Point, WireAt,
        trace::{Feed, Feeds, Returns},
    },
    solve::{
        Circuit, Figures, LoadAnalysis, OperatingPoint, Operator,
        endurance::{Endurance, Extent},
        loads::{Work, bus_of},
    },
};

/// A conductor that ends somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Touch<'a> {
    /// This end of a wire.
    Wire(&'a WireId, WireEnd),
    /// This end of a cable's shield, grounded or carried.
    Shield(&'a CableId, WireEnd),
}

/// The wires among conductors that end at one place.
pub fn wires_of<'s, 'd>(
    touches: &'s [Touch<'d>],
) -> impl Iterator<Item = (&'d WireId, WireEnd)> + use<'s, 'd> {
    touches.iter().filter_map(|touch| match touch {
        Touch::Wire(id, end) => Some((*id, *end)),
        Touch::Shield(..) => None,
    })
}

/// Current while working from which a motor with no continuous current is a starter, A (our own
/// choice: larger than any motor that a breaker feeds, smaller than any starter).
const STARTER_A: f64 = 50.0;

/// Currents that differ by less are the same, A.
const NO_MORE_A: f64 = 1e-6;

/// What rules may know.
#[derive(Debug)]
pub struct Facts<'d> {
    /// The document.
    pub document: &'d Document,
    // Looked up at every step: by hash, not in the order of the records.
    devices: OnceLock<FxHashMap<&'d DeviceId, &'d Device>>,
    wires: OnceLock<FxHashMap<&'d WireId, (&'d Wire, WireAt)>>,
    mates: OnceLock<Vec<Option<NodeIndex>>>,
    elements: OnceLock<Vec<Option<&'d ElementKind>>>,
    cable_of: OnceLock<FxHashMap<&'d WireId, &'d CableId>>,
    touches: OnceLock<Grouped<Touch<'d>>>,
    terminals: OnceLock<Vec<Option<TerminalAt<'d>>>>,
    points: OnceLock<Vec<OperatingPoint>>,
    most_steady: OnceLock<Vec<(f64, bool)>>,
    ends: OnceLock<Ends>,
    // The graph is made before the circuit, so that callers who need only the graph need not wait.
    netlist: OnceLock<Arc<Netlist>>,
    circuit: OnceLock<Arc<Circuit>>,
    operator: OnceLock<Mutex<Operator>>,
    conductors: OnceLock<Conductors<'d>>,
    loads: OnceLock<LoadAnalysis>,
    starters: OnceLock<Vec<EdgeIndex>>,
    endurance: OnceLock<Endurance>,
    working: Mutex<FxHashMap<EdgeIndex, Option<Arc<OperatingPoint>>>>,
}

/// Conductors, and by node of the circuit which one it belongs to.
type Conductors<'d> = (Vec<Conductor<'d>>, Vec<Option<u32>>);

/// A terminal with its device.
#[derive(Clone, Copy, Debug)]
pub struct TerminalAt<'d> {
    /// The device's id.
    pub id: &'d DeviceId,
    /// The device.
    pub device: &'d Device,
    /// The terminal.
    pub terminal: &'d Terminal,
    /// Its node in the circuit.
    pub node: NodeIndex,
}

impl<'d> Facts<'d> {
    /// Gathers the facts of a document.
    pub fn new(document: &'d Document) -> Self {
        Self {
            document,
            devices: OnceLock::new(),
            wires: OnceLock::new(),
            mates: OnceLock::new(),
            elements: OnceLock::new(),
            cable_of: OnceLock::new(),
            touches: OnceLock::new(),
            terminals: OnceLock::new(),
            points: OnceLock::new(),
            most_steady: OnceLock::new(),
            ends: OnceLock::new(),
            netlist: OnceLock::new(),
            circuit: OnceLock::new(),
            operator: OnceLock::new(),
            conductors: OnceLock::new(),
            loads: OnceLock::new(),
            starters: OnceLock::new(),
            endurance: OnceLock::new(),
            working: Mutex::default(),
        }
    }

    /// The facts of a document whose circuit is there already, and its operating points if they are.
    pub(super) fn with_circuit(
        document: &'d Document,
        operator: Operator,
        points: Option<Vec<OperatingPoint>>,
    ) -> Self {
        let facts = Self::new(document);
        // Fresh cells take what they are given.
        let _ = facts.netlist.set(Arc::clone(&operator.circuit().netlist));
        let _ = facts.circuit.set(Arc::clone(operator.circuit()));
        let _ = facts.operator.set(Mutex::new(operator));
        if let Some(points) = points {
            let _ = facts.points.set(points);
        }
        facts
    }

    fn find_touches(&self) -> Grouped<Touch<'d>> {
        let netlist = self.netlist();
        let mut touches = Vec::with_capacity(2 * self.document.wires.len());
        for ((id, _), (_, at)) in self.document.wires.iter().zip(netlist.wires()) {
            for (node, end) in at.ends.into_iter().zip([WireEnd::From, WireEnd::To]) {
                touches.push((node.index(), Touch::Wire(id, end)));
            }
        }
        for (id, cable) in &self.document.cables {
            let Some(shield) = &cable.shield else {
                continue;
            };
            for (end, which) in [(&shield.from, WireEnd::From), (&shield.to, WireEnd::To)] {
                if let Some(node) = end.at().and_then(|at| netlist.end_node(at)) {
                    touches.push((node.index(), Touch::Shield(id, which)));
                }
            }
        }
        Grouped::new(netlist.graph.node_count(), touches.iter().copied())
    }

    /// The terminal at a node, if it is one that a record lists.
    pub fn terminal_at(&self, node: NodeIndex) -> Option<TerminalAt<'d>> {
        self.by_node()[node.index()]
    }

    /// Every terminal of every device, in the order of the records.
    pub fn terminals(&self) -> impl Iterator<Item = TerminalAt<'d>> {
        self.by_node().iter().copied().flatten()
    }

    fn by_node(&self) -> &[Option<TerminalAt<'d>>] {
        self.terminals.get_or_init(|| {
            let netlist = self.netlist();
            let mut all = vec![None; netlist.graph.node_count()];
            for (id, device) in &self.document.devices {
                for (terminal, node) in device.terminals.iter().zip(netlist.terminals(id)) {
                    all[node.index()] = Some(TerminalAt {
                        id,
                        device,
                        terminal,
                        node,
                    });
                }
            }
            all
        })
    }

    /// The wires with their places in the circuit, by id.
    pub fn wires(&self) -> impl Iterator<Item = (&'d WireId, &'d Wire, WireAt)> {
        let both = self.document.wires.iter().zip(self.netlist().wires());
        both.map(|((id, wire), (_, at))| (id, wire, at))
    }

    /// A device by its id.
    pub fn device(&self, id: &DeviceId) -> Option<&'d Device> {
        let devices = self
            .devices
            .get_or_init(|| self.document.devices.iter().collect());
        devices.get(id).copied()
    }

    /// A wire by its id.
    pub fn wire(&self, id: &WireId) -> Option<&'d Wire> {
        Some(self.wire_and_place(id)?.0)
    }

    /// Where a wire is in the circuit.
    pub fn wire_at(&self, id: &WireId) -> Option<WireAt> {
        Some(self.wire_and_place(id)?.1)
    }

    fn wire_and_place(&self, id: &WireId) -> Option<(&'d Wire, WireAt)> {
        let wires = self.wires.get_or_init(|| {
            let all = self.wires();
            all.map(|(id, wire, at)| (id, (wire, at))).collect()
        });
        wires.get(id).copied()
    }

    /// The operating points of every phase: with continuous, then with peak figures. Solved when first needed;
    /// there is always at least one.
    pub fn points(&self) -> &[OperatingPoint] {
        self.points
            .get_or_init(|| self.operator().all(self.document))
    }

    /// The operating points to judge by: each, and next to it the same one in which loads that cannot run draw
    /// their demand. Such a load must not hide its effect on its breaker and its wires.
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
    pub fn told_by(&self, point: &OperatingPoint) -> String {
        let state = self.label(&point.state);
        if !point.is_asked {
            return format!("solved in \"{state}\"");
        }
        let names: Vec<String> = (point.dropped.iter())
            .map(|it| self.label(Self::subject_of(self.netlist().of(it.edge))))
            .collect();
        format!(
            "demanded in \"{state}\": {} cannot run there and counts with the stated current",
            super::and_list(&names)
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
        order::sort_by_key(&mut states, |(_, state)| {
            (!state.alternators_on, state.order)
        });
        let mut operator = self.operator();
        states
            .into_iter()
            .find_map(|(id, state)| operator.with_load_working(id, state, load))
    }

    /// What all loads together take in each state as it runs; without buses and names.
    pub fn loads(&self) -> &LoadAnalysis {
        self.loads.get_or_init(|| self.loads_as(Work::AsItRuns))
    }

    /// The current of each load in each phase, computed again from the same points.
    pub fn loads_as(&self, work: Work) -> LoadAnalysis {
        let points = self.points();
        let mut operator = self.operator();
        LoadAnalysis::new(self.document, &mut operator, points, work)
    }

    /// The label of the power bus that a load counts with.
    pub fn bus_of(&self, load: EdgeIndex) -> Option<String> {
        bus_of(self.document, self.netlist(), self.circuit().ways(), load)
    }

    /// The circuit with its solver, and the operating points of every state, for further questions
    /// about the same document.
    pub fn into_solved(self) -> (Operator, Vec<OperatingPoint>) {
        self.points();
        let operator = self.operator.into_inner();
        let operator = operator.map(|it| it.into_inner().unwrap_or_else(PoisonError::into_inner));
        (
            operator.unwrap_or_else(|| Operator::new(self.document)),
            self.points.into_inner().unwrap_or_default(),
        )
    }

    /// What stops first after the alternator has, if it does before the target.
    pub fn endurance(&self) -> &Endurance {
        self.endurance
            .get_or_init(|| self.endurance_to(Extent::Target))
    }

    /// When each load stops after the alternator has. Solved again each time: for the text of a finding.
    pub fn endurance_to(&self, extent: Extent) -> Endurance {
        let mut operator = self.operator();
        Endurance::new(self.document, &mut operator, extent)
    }

    /// The circuit with its solver, made once for all uses. Whoever holds the lock must not query these facts
    /// meanwhile.
    fn operator(&self) -> MutexGuard<'_, Operator> {
        let operator = self
            .operator
            .get_or_init(|| Mutex::new(Operator::of(Arc::clone(self.circuit()))));
        // A question that panicked left no half answer: each sets all values that it reads.
        operator.lock().unwrap_or_else(PoisonError::into_inner)
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
    pub(super) fn find_meanwhile(&self) {
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

    /// The label of a node of the circuit.
    pub fn node_label(&self, node: NodeIndex) -> String {
        match self.netlist().point(node) {
            Point::Terminal(device, terminal) => self.label((device, terminal)),
            Point::Splice(splice) => self.label(splice),
            Point::Structure(place) => format!("the metal of {}", self.label(place)),
            Point::Shield(cable, _) => format!("the shield of {}", self.label(cable)),
            Point::WireOpen(wire, _) | Point::InFuse(wire) => self.label(wire),
        }
    }

    /// What wires, mated pins and splices join end to end, in order of the first wire.
    pub fn conductors(&self) -> &[Conductor<'d>] {
        &self.conductors_by_node().0
    }

    /// The conductor that a wire belongs to.
    pub fn conductor_of(&self, wire: &WireId) -> Option<&Conductor<'d>> {
        self.conductor_at(self.wire_at(wire)?.ends[0])
    }

    /// The conductor that a node of the circuit belongs to.
    pub fn conductor_at(&self, node: NodeIndex) -> Option<&Conductor<'d>> {
        let (all, of) = self.conductors_by_node();
        Some(&all[of[node.index()]? as usize])
    }

    fn conductors_by_node(&self) -> &Conductors<'d> {
        self.conductors
            .get_or_init(|| joined::conductors(self, self.netlist()))
    }

    /// The record of an edge of the circuit.
    pub fn subject_of(edge: &EdgeOf) -> Subject<'_> {
        match edge {
            EdgeOf::Wire(wire) | EdgeOf::InlineFuse(wire) => Subject::Wire(wire),
            EdgeOf::Shield(cable) | EdgeOf::ShieldEnd(cable, _) => Subject::Cable(cable),
            EdgeOf::Element(device, element, _) => Subject::Element(device, element),
            EdgeOf::Bond(place) => Subject::Place(place),
        }
    }

    /// What an edge of the circuit is inside a device, if it is that.
    pub fn element_of(&self, edge: EdgeIndex) -> Option<&'d ElementKind> {
        let elements = self.elements.get_or_init(|| {
            let netlist = self.netlist();
            let mut elements = vec![None; netlist.graph.edge_count()];
            for (id, device) in &self.document.devices {
                for (element, edges) in device.elements.iter().zip(netlist.edges_in(id)) {
                    elements[edges].fill(Some(&element.is));
                }
            }
            elements
        });
        elements[edge.index()]
    }

    /// Conductors that end here: wires in order of their ids, then shields.
    pub fn touches(&self, end: &End) -> &[Touch<'d>] {
        let node = self.netlist().end_node(end);
        node.map_or(&[], |node| self.touches_at(node))
    }

    /// Conductors that end at this node of the circuit: wires in order of their ids, then shields.
    pub fn touches_at(&self, node: NodeIndex) -> &[Touch<'d>] {
        let touches = self.touches.get_or_init(|| self.find_touches());
        touches.of(node.index())
    }

    /// Wires that end here.
    pub fn wires_at<'s>(
        &'s self,
        end: &End,
    ) -> impl Iterator<Item = (&'d WireId, WireEnd)> + use<'s, 'd> {
        wires_of(self.touches(end))
    }

    /// The cable this wire is a core of.
    pub fn cable_of(&self, wire: &WireId) -> Option<&'d CableId> {
        let of = self.cable_of.get_or_init(|| {
            let mut of = FxHashMap::default();
            for (id, cable) in &self.document.cables {
                for wire in &cable.wires {
                    of.entry(wire).or_insert(id);
                }
            }
            of
        });
        of.get(wire).copied()
    }

    /// The terminal, if both it and its device are there.
    pub fn terminal(
        &self,
        device: &DeviceId,
        terminal: &TerminalId,
    ) -> Option<(&'d Device, &'d Terminal)> {
        let device = self.device(device)?;
        Some((device, device.terminal(terminal)?))
    }

    /// True if what this end names is there; an open end names nothing.
    pub fn exists(&self, end: &End) -> bool {
        match end {
            End::Terminal(device, terminal) => self.terminal(device, terminal).is_some(),
            End::Splice(splice) => self.document.splices.contains_key(splice),
            End::Structure(place) => self.document.places.contains_key(place),
            End::Open => false,
        }
    }

    /// The node of the pin that mates with the one at this node, in an in-line connector.
    pub fn mate_of(&self, node: NodeIndex) -> Option<NodeIndex> {
        let mates = self.mates.get_or_init(|| {
            let graph = &self.netlist().graph;
            let mut mates = vec![None; graph.node_count()];
            // In order of the edges, because that is their order in memory.
            for edge in graph.edge_references() {
                if matches!(edge.weight().kind, EdgeKind::Mate { .. }) {
                    mates[edge.source().index()] = Some(edge.target());
                    mates[edge.target().index()] = Some(edge.source());
                }
            }
            mates
        });
        mates[node.index()]
    }

    /// True if this place is there and is metal.
    pub fn is_metal(&self, place: Option<&PlaceId>) -> bool {
        place
            .and_then(|place| self.document.places.get(place))
            .is_some_and(|place| place.conductive)
    }

    /// The place with its label, as findings carry it.
    pub fn at<'a>(&self, subject: impl Into<Subject<'a>>) -> Location {
        let (kind, id) = match subject.into() {
            Subject::Device(id) => ("device", id.to_string()),
            Subject::Terminal(device, terminal) => ("terminal", format!("{device}/{terminal}")),
            Subject::Element(device, element) => ("element", format!("{device}/{element}")),
            Subject::Wire(id) => ("wire", id.to_string()),
            Subject::Cable(id) => ("cable", id.to_string()),
            Subject::Splice(id) => ("splice", id.to_string()),
            Subject::Place(id) => ("place", id.to_string()),
            Subject::State(id) => ("state", id.to_string()),
            Subject::Accepted(id) => ("accepted", id.to_string()),
        };
        let label = seen(&self.document.record_label(kind, &id)).into_owned();
        Location { kind, id, label }
    }

    /// Its label.
    pub fn label<'a>(&self, subject: impl Into<Subject<'a>>) -> String {
        self.at(subject).label
    }

    /// The label of this end.
    pub fn end_label(&self, end: &End) -> String {
        self.document.end_label(end)
    }

    /// A wire by its ends: "the wire from COM1 J105-1 to MBUS CB22".
    pub fn run(&self, wire: &WireId) -> String {
        match self.wire(wire) {
            Some(wire) => format!(
                "the wire from {} to {}",
                self.end_label(&wire.from),
                self.end_label(&wire.to)
            ),
            None => format!("the wire {wire}"),
        }
    }
}
