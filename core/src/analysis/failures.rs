//! What stops if a part fails open: each source, protector, contactor, switch, wire, splice,
//! connector and ground point, one at a time, in one state.

mod brought_back;

use crate::order::InOrder;
use std::cmp::Reverse;

use petgraph::{graph::EdgeIndex, unionfind::UnionFind};

use crate::{
    document::{BarUse, Document, ElementKind, End, Role, State, Terminal},
    ids::{ConnectorId, DeviceId, ElementId, PlaceId, SpliceId, StateId, TerminalId, WireId},
    netlist::{EdgeKind, EdgeOf, Netlist, Point},
    order::Map,
    solve::{Joined, OperatingPoint, Overrides, Simulator},
};

pub use brought_back::BroughtBack;

/// A load without a cut-off counts as stopped below this share of the voltage of its figures (our
/// own choice: 11 V on a 14 V unit is above it, a bus held up through another load's resistance is
/// below it).
const RUNS_ABOVE: f64 = 0.65;
/// Current below which a load does nothing, A (reasoned: above any leak, below any lamp).
const RUNS_A: f64 = 1e-3;
/// Current below which a conductor counts as carrying nothing, so that opening it changes nothing,
/// A.
const IDLE_A: f64 = 1e-9;
/// Change of an input's voltage that a unit can show its pilot, V (our own choice).
const SIGN_V: f64 = 0.5;

/// What fails.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Failure {
    /// A battery, alternator, protector, contactor, switch, diode or shunt opens.
    Element(DeviceId, ElementId),
    /// A wire breaks.
    Wire(WireId),
    /// A splice comes apart.
    Splice(SpliceId),
    /// A connector is pulled or its halves separate.
    Connector(DeviceId, ConnectorId),
    /// A ground block comes off its stud: everything on it is disconnected.
    Ground(DeviceId),
    /// The bond of a place's metal breaks.
    Bond(PlaceId),
}

/// Effect of one failure.
#[derive(Clone, Debug, PartialEq)]
pub struct Consequence {
    /// What fails.
    pub failure: Failure,
    /// Loads that ran and stop.
    pub stops: Vec<EdgeIndex>,
    /// Loads that were on without running and now run: a warning light, or the load on a relay's
    /// normally closed contact.
    pub starts: Vec<EdgeIndex>,
    /// Inputs of units that still run, with a voltage change large enough to show: terminal,
    /// before, after.
    pub signs: Vec<Sign>,
    /// If the supply cannot carry the rest, or relays do not settle: why.
    pub problem: Option<String>,
    /// What cannot be computed about what keeps running, in a sentence: alternators that are left without a battery.
    pub unsure: Option<String>,
}

/// An input that shows a failure.
#[derive(Clone, Debug, PartialEq)]
pub struct Sign {
    /// The unit.
    pub device: DeviceId,
    /// Its input.
    pub terminal: TerminalId,
    /// Volts before; `None` if it was floating.
    pub before_v: Option<f64>,
    /// Volts after.
    pub after_v: Option<f64>,
}

/// A review of every failure in one state, one failure at a time, so that a person can stop it.
pub struct Review {
    document: Document,
    state: (StateId, State),
    simulator: Simulator,
    before: OperatingPoint,
    relays: crate::solve::simulator::Relays,
    failures: Vec<(Failure, Vec<EdgeIndex>)>,
    next: usize,
}

impl Review {
    /// Solves the state without a failure, and lists the possible failures.
    pub fn new(document: &Document, state: (&StateId, &State)) -> Self {
        let mut simulator = Simulator::new(document);
        let (before, relays) = simulator.running(state.0, state.1);
        let failures = failures(document, before.netlist());
        Self {
            document: document.clone(),
            state: (state.0.clone(), state.1.clone()),
            simulator,
            before,
            relays,
            failures,
            next: 0,
        }
    }

    /// Removes failures that need no solving.
    pub fn keep(&mut self, want: impl Fn(&Failure) -> bool) {
        self.failures.retain(|(failure, _)| want(failure));
    }

    /// Number of failures, and number done.
    pub fn progress(&self) -> (usize, usize) {
        (self.failures.len(), self.next)
    }

    /// The document it is of.
    pub fn document(&self) -> &Document {
        &self.document
    }

    /// The state it is in.
    pub fn state(&self) -> (&StateId, &State) {
        (&self.state.0, &self.state.1)
    }

    /// The point before any failure.
    pub fn before(&self) -> &OperatingPoint {
        &self.before
    }

    /// Loads that run before any failure.
    pub fn running(&self) -> Vec<EdgeIndex> {
        let loads = self.before.netlist().loads();
        let loads = loads.map(|(load, _)| load);
        loads.filter(|load| runs(&self.before, *load)).collect()
    }

    /// Effect of a break in each wire. Wires in one chain without branches have the same effect: a
    /// chain is solved once, or not at all if a part of it is among those already `found` by this
    /// review. The indications to the pilot depend on the position in the chain and are left out.
    pub fn wires(&mut self, found: &[Consequence]) -> Vec<(Vec<WireId>, Consequence)> {
        let netlist = self.before.netlist().clone();
        let mut chains = UnionFind::<usize>::new(netlist.graph.edge_count());
        for node in netlist.graph.node_indices() {
            let mut edges = netlist.edges_at(node);
            if let (Some(one), Some(other), None) = (edges.next(), edges.next(), edges.next()) {
                chains.union(one.index(), other.index());
            }
        }
        let mut known = vec![None; netlist.graph.edge_count()];
        for ((_, failed), consequence) in self.failures.iter().zip(found) {
            if let [edge] = failed[..] {
                known[chains.find(edge.index())] = Some(consequence);
            }
        }
        // Index of a chain in the answer.
        let mut places: Map<usize, usize> = Map::new();
        let mut answer: Vec<(Vec<WireId>, Consequence)> = Vec::new();
        for (id, at) in netlist.wires() {
            let chain = chains.find(at.edge.index());
            if let Some(place) = places.get(&chain) {
                answer[*place].0.push(id.clone());
                continue;
            }
            let failure = Failure::Wire(id.clone());
            let tried = match known[chain] {
                Some(known) => known.clone(),
                None => self.consequence(failure.clone(), &[at.edge]),
            };
            let consequence = Consequence {
                failure,
                signs: Vec::new(),
                ..tried
            };
            places.insert(chain, answer.len());
            answer.push((vec![id.clone()], consequence));
        }
        answer
    }

    fn consequence(&mut self, failure: Failure, failed: &[EdgeIndex]) -> Consequence {
        // A conductor without current can open without a change: the previous point still solves
        // the equations, and it is unique. A source without current still holds a potential, and so
        // does what is connected to it; but then nothing that runs is connected there.
        let is_idle = |edge: &EdgeIndex| {
            let amps = self.before.edge_amps(*edge);
            amps.is_some_and(|amps| amps.abs() < IDLE_A)
        };
        let mut consequence = Consequence {
            failure,
            stops: Vec::new(),
            starts: Vec::new(),
            signs: Vec::new(),
            problem: None,
            unsure: None,
        };
        if failed.iter().all(is_idle) {
            consequence.unsure = self.unsure(&self.before, failed);
            return consequence;
        }
        let overrides = Overrides {
            failed: failed.to_vec(),
            ..Overrides::default()
        };
        let after =
            self.simulator
                .after_failure((&self.state.0, &self.state.1), &self.relays, &overrides);
        for (load, _) in self.before.netlist().loads() {
            match (runs(&self.before, load), runs(&after, load)) {
                (true, false) => consequence.stops.push(load),
                (false, true) => consequence.starts.push(load),
                _ => {}
            }
        }
        consequence.signs = signs(&self.document, &self.before, &after);
        consequence.unsure = self.unsure(&after, failed);
        consequence.problem = after.problem.filter(|_| self.before.problem.is_none());
        consequence
    }

    /// What is uncertain after a failure: the solver takes an alternator to hold its voltage with or without a battery,
    /// and a real one may not.
    fn unsure(&self, after: &OperatingPoint, failed: &[EdgeIndex]) -> Option<String> {
        let netlist = self.before.netlist();
        let alone = |point: &OperatingPoint, failed: &[EdgeIndex]| -> Vec<EdgeIndex> {
            let feeds = |source: &EdgeIndex| {
                let amps = point.edge_amps(*source);
                point.running.contains(source) && amps.is_some_and(|amps| amps > RUNS_A)
            };
            let mut gives: Vec<_> = netlist.sources().filter(feeds).collect();
            if gives.is_empty() {
                return gives;
            }
            let joined = Joined::new(netlist, &point.closed, failed);
            let has_battery = |alternator: &EdgeIndex| {
                let (plus, minus) = netlist.ends(*alternator);
                netlist.batteries().any(|battery| {
                    let (its_plus, its_minus) = netlist.ends(battery);
                    !failed.contains(&battery)
                        && joined.has(plus, its_plus)
                        && joined.has(minus, its_minus)
                })
            };
            gives.retain(|alternator| !has_battery(alternator));
            gives
        };
        let before = alone(&self.before, &[]);
        let mut lost = alone(after, failed);
        lost.retain(|alternator| {
            !before.contains(alternator) && netlist.loads().any(|(load, _)| runs(after, load))
        });
        let names = lost.iter().filter_map(|edge| match netlist.of(*edge) {
            EdgeOf::Element(device, element, _) => {
                let key = format!("{device}/{element}");
                Some(self.document.record_label("element", &key))
            }
            _ => None,
        });
        let names: Vec<_> = names.collect();
        (!names.is_empty()).then(|| {
            format!(
                "computed with {} holding its voltage; without a battery an alternator may not hold it, or may \
                 shut down: do not rely on what keeps running",
                names.join(", ")
            )
        })
    }
}

impl Iterator for Review {
    type Item = Consequence;

    fn next(&mut self) -> Option<Consequence> {
        let (failure, failed) = self.failures.get(self.next)?.clone();
        self.next += 1;
        Some(self.consequence(failure, &failed))
    }
}

impl std::fmt::Debug for Review {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Review {} of {}", self.next, self.failures.len())
    }
}

/// The state a review is made in if none is named: with the alternators on, the one in which the
/// most loads run; the first of equals.
pub fn usual_state(document: &Document) -> Option<(&StateId, &State)> {
    let mut simulator = Simulator::new(document);
    let states = document.states.iter().map(|(id, state)| {
        let (point, _) = simulator.running(id, state);
        let loads = point.netlist().loads();
        let running = loads.filter(|(load, _)| runs(&point, *load));
        (
            (state.alternators_on, running.count(), Reverse(state.order)),
            (id, state),
        )
    });
    states.max_by_key(|(rank, _)| *rank).map(|(_, found)| found)
}

/// True if a load has enough voltage and current to run.
pub fn runs(point: &OperatingPoint, load: EdgeIndex) -> bool {
    let Some(figures) = point.netlist().load(load) else {
        return false;
    };
    let least_v = figures.cutoff_v.unwrap_or(RUNS_ABOVE * figures.at_v);
    point
        .edge_amps(load)
        .is_some_and(|amps| amps.abs() >= RUNS_A)
        && point
            .across_v(load)
            .is_some_and(|volts| volts.abs() >= least_v)
}

/// Every possible open failure, and the edges that open with it.
pub fn failures(document: &Document, netlist: &Netlist) -> Vec<(Failure, Vec<EdgeIndex>)> {
    let mut failures = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            let fails = matches!(
                element.is,
                ElementKind::Battery(_)
                    | ElementKind::Alternator(_)
                    | ElementKind::Protector(_)
                    | ElementKind::Switch(_)
                    | ElementKind::Coil(_)
                    | ElementKind::Contact(_)
                    | ElementKind::Diode(_)
                    | ElementKind::Shunt(_)
            );
            if fails {
                let edges = netlist.element_edges(id.as_str(), element.id.as_str());
                failures.push((
                    Failure::Element(id.clone(), element.id.clone()),
                    edges.collect(),
                ));
            }
        }
        for connector in &device.connectors {
            let on_it = |terminal: &&Terminal| terminal.connector.as_ref() == Some(&connector.id);
            let terminals = device.terminals.iter().filter(on_it).map(|it| &it.id);
            let edges = conductors_at(netlist, id, terminals);
            failures.push((Failure::Connector(id.clone(), connector.id.clone()), edges));
        }
        let grounds = device
            .elements
            .iter()
            .filter_map(|element| match &element.is {
                ElementKind::Bar(bar) if bar.used_as == BarUse::Ground => Some(&bar.terminals),
                _ => None,
            });
        let edges = conductors_at(netlist, id, grounds.flatten());
        if !edges.is_empty() {
            failures.push((Failure::Ground(id.clone()), edges));
        }
    }
    for (id, at) in netlist.wires() {
        failures.push((Failure::Wire(id.clone()), vec![at.edge]));
    }
    for id in document.splices.keys() {
        if let Some(node) = netlist.node(&Point::Splice(id.clone())) {
            failures.push((
                Failure::Splice(id.clone()),
                netlist.edges_at(node).collect(),
            ));
        }
    }
    for edge in netlist.graph.edge_indices() {
        if let EdgeOf::Bond(place) = netlist.of(edge) {
            failures.push((Failure::Bond(place.clone()), vec![edge]));
        }
    }
    failures
}

/// Everything that ends at some terminals of a device, except bars, loads and sources: its wires,
/// mated pins, shields and ground links.
fn conductors_at<'t>(
    netlist: &Netlist,
    device: &DeviceId,
    terminals: impl Iterator<Item = &'t TerminalId>,
) -> Vec<EdgeIndex> {
    let mut edges: Vec<EdgeIndex> = terminals
        .filter_map(|terminal| netlist.terminal(device, terminal))
        .flat_map(|node| netlist.edges_at(node))
        .filter(|edge| {
            matches!(
                netlist.graph[*edge].kind,
                EdgeKind::Wire { .. }
                    | EdgeKind::Mate { .. }
                    | EdgeKind::ShieldEnd { .. }
                    | EdgeKind::Tie { .. }
            )
        })
        .collect();
    edges.order();
    edges.dedup();
    edges
}

/// Inputs of units that still run and show the difference.
fn signs(document: &Document, before: &OperatingPoint, after: &OperatingPoint) -> Vec<Sign> {
    let mut signs = Vec::new();
    for (id, device) in &document.devices {
        let runs_on = device.elements.iter().any(|element| {
            let load = before.netlist().element_edge(id, &element.id);
            load.is_some_and(|load| runs(after, load))
        });
        let inputs = device.terminals.iter().filter(|terminal| {
            runs_on
                && matches!(
                    terminal.role,
                    Role::SensorPlus | Role::Discrete | Role::InputGround | Role::InputPower
                )
        });
        for terminal in inputs {
            let end = End::Terminal(id.clone(), terminal.id.clone());
            let Some(node) = before.netlist().end_node(&end) else {
                continue;
            };
            let (before_v, after_v) = (before.node_volts(node), after.node_volts(node));
            let differs = match (before_v, after_v) {
                (Some(before_v), Some(after_v)) => (before_v - after_v).abs() > SIGN_V,
                (None, None) => false,
                _ => true,
            };
            if differs {
                signs.push(Sign {
                    device: id.clone(),
                    terminal: terminal.id.clone(),
                    before_v,
                    after_v,
                });
            }
        }
    }
    signs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    const TWO_FEEDS: &str = "
        battery BT1
        ground GB1 1 2 3 4
        breaker CB1 5
        breaker CB2 5
        diode D1
        diode D2
        switch S1 1-2
        load FD1 1
        load LT1 1
        wire HOT BT1.+ CB1.1 8 1m
        wire HOT2 BT1.+ CB2.1 8 1m
        wire A CB1.2 D1.A 18 1m
        wire B D1.K FD1.+ 18 1m
        wire C CB2.2 D2.A 18 1m
        wire D D2.K FD1.+ 18 1m
        wire E CB1.2 S1.1 18 1m
        wire F S1.2 LT1.+ 18 1m
        wire N1 FD1.- GB1.1 18 1m
        wire N2 LT1.- GB1.2 18 1m
        wire G GB1.3 BT1.- 8 1m
        state T on=S1
    ";

    fn stops(text: &str) -> Vec<(String, Vec<String>)> {
        let document = document(text);
        let state = usual_state(&document).expect("a state");
        let review = Review::new(&document, state);
        let netlist = review.before().netlist().clone();
        let name = |edge: EdgeIndex| match netlist.of(edge) {
            EdgeOf::Element(device, ..) => device.to_string(),
            other => format!("{other:?}"),
        };
        review
            .map(|it| {
                let what = match &it.failure {
                    Failure::Element(device, _) | Failure::Ground(device) => device.to_string(),
                    Failure::Wire(wire) => wire.to_string(),
                    other => format!("{other:?}"),
                };
                (what, it.stops.into_iter().map(name).collect())
            })
            .collect()
    }

    fn of(all: &[(String, Vec<String>)], what: &str) -> Vec<String> {
        let found = all.iter().find(|(name, _)| name == what);
        found.map(|(_, stops)| stops.clone()).unwrap_or_default()
    }

    #[test]
    fn one_feed_of_two_may_fail_and_what_both_share_may_not() {
        let all = stops(TWO_FEEDS);
        for one in ["CB2", "D1", "D2", "HOT2", "A", "B", "C", "D"] {
            assert_eq!(of(&all, one), [] as [&str; 0], "{one}");
        }
        for shared in ["BT1", "G", "GB1"] {
            assert_eq!(of(&all, shared), ["FD1", "LT1"], "{shared}");
        }
        for of_the_lamp in ["CB1", "HOT", "S1", "E", "F", "N2"] {
            assert_eq!(of(&all, of_the_lamp), ["LT1"], "{of_the_lamp}");
        }
        assert_eq!(of(&all, "N1"), ["FD1"]);
    }

    #[test]
    fn a_chain_of_wires_is_tried_once_and_tells_what_each_of_them_does() {
        let document = document(TWO_FEEDS);
        let state = usual_state(&document).expect("a state");
        let mut every = Review::new(&document, state);
        let each: Vec<_> = every.by_ref().collect();
        let mut parts = Review::new(&document, state);
        parts.keep(|it| matches!(it, Failure::Element(..)));
        let found: Vec<_> = parts.by_ref().collect();
        let chains = parts.wires(&found);
        let lamp = chains.iter().find(|(wires, _)| wires.contains(&"E".into()));
        let lamp = lamp.expect("its chain").0.clone();
        assert_eq!(lamp, ["E", "F", "N2"].map(WireId::from));
        let mut told = 0;
        for (wires, alike) in chains {
            for wire in wires {
                let failure = Failure::Wire(wire);
                let alone = each.iter().find(|it| it.failure == failure);
                let alone = alone.expect("every wire was tried");
                assert_eq!((&alone.stops, &alone.starts), (&alike.stops, &alike.starts));
                told += 1;
            }
        }
        assert_eq!(told, document.wires.len());
    }

    /// An alternator with its battery, and one behind a contactor that is held closed by a switch.
    #[test]
    fn an_alternator_left_without_its_battery_is_not_taken_for_sure() {
        let text = "
            battery BT1
            alternator ALT1 40
            switch S1 1-2
            load FD1 5
            wire P BT1.+ S1.1 8 1m
            wire Q S1.2 FD1.+ 12 1m
            wire R ALT1.B FD1.+ 8 1m
            wire N FD1.- BT1.- 12 1m
            wire M ALT1.CASE BT1.- 8 1m
            state T on=S1 running";
        let document = document(text);
        let review = Review::new(&document, usual_state(&document).expect("a state"));
        for it in review {
            let name = match &it.failure {
                Failure::Element(device, _) => device.to_string(),
                Failure::Wire(wire) => wire.to_string(),
                _ => continue,
            };
            let leaves_it = ["BT1", "S1", "P", "Q"].contains(&name.as_str());
            assert_eq!(it.unsure.is_some(), leaves_it, "{name}: {it:?}");
            if leaves_it {
                assert_eq!(it.stops, [], "{name}");
                assert!(it.unsure.is_some_and(|it| it.contains("ALT1")));
            }
        }
        let shut = text.replace("running", "");
        let document = crate::testing::document(&shut);
        let mut review = Review::new(&document, usual_state(&document).expect("a state"));
        assert!(review.all(|it| it.unsure.is_none()), "it gives nothing");
    }

    #[test]
    fn a_contactor_that_holds_itself_lets_go_with_its_feed() {
        let all = stops(
            "battery BT1
             contactor K1 BAT LOAD COIL+ COIL-
             switch S1 1-2
             load M1 20
             wire P BT1.+ K1.BAT 4 1m
             wire M K1.LOAD M1.+ 4 1m
             wire N M1.- BT1.- 4 1m
             wire C BT1.+ K1.COIL+ 20 1m
             wire D K1.COIL- S1.1 20 1m
             wire E S1.2 BT1.- 20 1m
             state T on=S1",
        );
        for part in ["BT1", "K1", "S1", "P", "M", "N", "C", "D", "E"] {
            assert_eq!(of(&all, part), ["M1"], "{part}");
        }
    }
}
