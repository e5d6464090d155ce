//! The operating point of a document in a state: volts at every point, amps in every conductor.

use std::sync::Arc;

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    DropReason, IslandStatus, Solution,
    circuit::{Circuit, Part},
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
    /// True if relays settled and the supply carries every load.
    pub converged: bool,
    /// If not, or if a figure is unsound: why, in a sentence.
    pub problem: Option<String>,
    /// Part of the power asked for that the supply can carry, if it cannot carry all.
    pub margin: Option<f64>,
    /// Loads that have supply and cannot run.
    pub dropped: Vec<DroppedLoad>,
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
        state: &StateId,
        figures: Figures,
        settled: Settled,
    ) -> Self {
        let points = circuit.reduced.points;
        let mut point = Self {
            state: state.clone(),
            figures,
            converged: false,
            problem: None,
            margin: None,
            dropped: Vec::new(),
            unpowered: Vec::new(),
            closed: settled.closed,
            running: settled.running,
            energised: settled.energised,
            circuit: Arc::clone(circuit),
            volts: vec![f64::NAN; points],
            amps: vec![0.0; circuit.netlist.graph.edge_count()],
            floating: vec![false; points],
        };
        let mut problems = circuit.unsound.clone();
        problems.extend(settled.problem);
        if let Some(solution) = settled.solution {
            problems.extend(solution.sentence());
            point.margin = solution.margin;
            point.converged = solution.converged && problems.is_empty();
            point.expand(&solution, &settled.load_elements);
            point.sort_out(&solution, &settled.load_elements);
        }
        // Without any source there is nothing to solve, and nothing wrong with that.
        point.converged |= circuit.reference.is_none() && problems.is_empty();
        point.problem = (!problems.is_empty()).then(|| problems.join("; "));
        point
    }

    /// Gives every point its volts and every edge its amps back.
    fn expand(&mut self, solution: &Solution, load_elements: &[usize]) {
        let circuit = Arc::clone(&self.circuit);
        for (point, node) in circuit.node_of.iter().enumerate() {
            let Some(node) = *node else { continue };
            match solution.islands[solution.node_island[node]].status {
                IslandStatus::FloatingUnsourced => continue,
                IslandStatus::FloatingSourced => self.floating[point] = true,
                IslandStatus::Referenced => {}
            }
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
        for dropped in &solution.dropped {
            let load = load_elements
                .iter()
                .position(|&element| element == dropped.element);
            let Some(&(Part { edge, .. }, _)) = load.map(|load| &self.circuit.loads[load]) else {
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
        self.unpowered.sort_unstable();
    }

    /// The graph it is an operating point of.
    pub fn netlist(&self) -> &Netlist {
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
    let mut operator = Operator::new(document);
    let mut states: Vec<_> = document.states.iter().collect();
    states.sort_by_key(|(_, state)| state.order);
    if states.is_empty() {
        let state = State {
            alternators_on: true,
            ..State::default()
        };
        return operator.both(&AT_REST.into(), &state).into();
    }
    states
        .into_iter()
        .flat_map(|(id, state)| operator.both(id, state))
        .collect()
}

/// The id of the state of a document that has none.
pub const AT_REST: &str = "at_rest";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        document::Closed, document::ElementKind, standards::wire_table::copper_ohm_per_m,
        testing::document, units::Gauge,
    };

    /// Battery, breaker, switch and a load that is a resistance of 13.8 ohm.
    const PLAIN: &str = "
        battery BT1 emf=12.8 ohm=0.01
        breaker CB1 5
        switch S1 1-2
        load LT1 1 law=resistance
        ground GB1 T1 T2
        wire HOT BT1.+ CB1.1 6 1m
        wire A CB1.2 S1.1 20 0.5m
        wire B S1.2 LT1.+ 20 2m
        wire N LT1.- GB1.T1 20 0.7m
        wire G GB1.T2 BT1.- 6 0.3m
    ";

    fn solved(text: &str) -> OperatingPoint {
        solve(&document(text))
    }

    /// The first state, continuous figures.
    fn solve(document: &Document) -> OperatingPoint {
        operate_all(document).swap_remove(0)
    }

    fn volts(point: &OperatingPoint, name: &str) -> Option<f64> {
        let (device, terminal) = name.split_once('.').expect("DEVICE.TERMINAL");
        point.volts(&Point::Terminal(device.into(), terminal.into()))
    }

    fn amps(point: &OperatingPoint, wire: &str) -> f64 {
        point.wire_amps(&wire.into()).expect("a wire")
    }

    #[track_caller]
    fn near(found: f64, wanted: f64) {
        assert!(
            (found - wanted).abs() < 1e-7,
            "found {found}, wanted {wanted}"
        );
    }

    #[test]
    fn a_plain_circuit_by_hand() {
        let point = solved(&format!("{PLAIN} state ON on=S1"));
        let wire = |awg, length_m: f64| copper_ohm_per_m(Gauge(awg), 50.0) * length_m;
        // Series: source, wires, breaker and switch of 2 mohm each, load.
        let ohm = 0.01 + wire(6, 1.3) + wire(20, 3.2) + 0.004 + 13.8;
        let by_hand = 12.8 / ohm;
        for name in ["HOT", "A", "B", "N", "G"] {
            near(amps(&point, name), by_hand);
        }
        near(volts(&point, "BT1.+").expect("live"), 12.8 - by_hand * 0.01);
        let at_load = 12.8 - by_hand * (ohm - 13.8 - wire(20, 0.7) - wire(6, 0.3));
        near(volts(&point, "LT1.+").expect("live"), at_load);
        near(
            volts(&point, "LT1.-").expect("held"),
            by_hand * (wire(20, 0.7) + wire(6, 0.3)),
        );
        near(volts(&point, "BT1.-").expect("reference"), 0.0);
        near(
            point
                .element_amps(&"LT1".into(), &"load".into())
                .expect("a load"),
            by_hand,
        );
        near(
            point
                .element_amps(&"BT1".into(), &"battery".into())
                .expect("a battery"),
            by_hand,
        );
        assert!(point.converged && point.problem.is_none());
    }

    #[test]
    fn an_open_switch_parts_live_from_dead() {
        let point = solved(&format!("{PLAIN} state OFF"));
        near(volts(&point, "S1.1").expect("live"), 12.8);
        assert_eq!(
            volts(&point, "S1.2").map(f64::round),
            Some(0.0),
            "held by the load"
        );
        near(amps(&point, "A"), 0.0);
        let point = solved(&format!("{PLAIN} wire B S1.2 open 20 2m\n state OFF"));
        assert_eq!(volts(&point, "S1.2"), None, "nothing holds it");
        let live = |name: &str| {
            let (device, terminal) = name.split_once('.').expect("DEVICE.TERMINAL");
            point.is_live(&Point::Terminal(device.into(), terminal.into()))
        };
        assert!(live("S1.1") && !live("S1.2") && !live("GB1.T1"));
    }

    #[test]
    fn a_pulled_breaker_opens() {
        let point = solved(&format!("{PLAIN} state T on=S1 pulled=CB1"));
        near(volts(&point, "CB1.1").expect("live"), 12.8);
        near(amps(&point, "B"), 0.0);
    }

    const CONTACTOR: &str = "
        battery BT1
        contactor K1 BAT LOAD COIL+ COIL-
        load LT1 2 law=resistance
        ground GB1 T1 T2 T3
        switch S1 1-2
        wire P1 BT1.+ K1.BAT 2 0.3m
        wire P2 K1.LOAD LT1.+ 12 0.3m
        wire P3 BT1.+ K1.COIL+ 20 0.3m
        wire P4 K1.COIL- S1.1 20 1m
        wire P5 S1.2 GB1.T1 20 1m
        wire N LT1.- GB1.T2 12 1m
        wire G GB1.T3 BT1.- 2 0.3m
    ";

    #[test]
    fn a_contactor_follows_its_coil() {
        let on = solved(&format!("{CONTACTOR} state ON on=S1"));
        assert_eq!(on.energised.len(), 1);
        assert!(amps(&on, "P2") > 1.5 && amps(&on, "P4") > 0.7);
        let off = solved(&format!("{CONTACTOR} state OFF"));
        assert_eq!(off.energised.len(), 0);
        near(amps(&off, "P2"), 0.0);
        near(volts(&off, "K1.COIL-").expect("through the coil"), 12.8);
    }

    #[test]
    fn a_coil_fed_through_its_own_break_contact_is_a_problem() {
        let mut document = document(
            "battery BT1
             contactor K1 BAT LOAD COIL+ COIL-
             wire P1 BT1.+ K1.BAT 20 0.3m
             wire P2 K1.LOAD K1.COIL+ 20 0.3m
             wire P3 K1.COIL- BT1.- 20 0.3m",
        );
        let contact = &mut document.devices.get_mut("K1").expect("K1").elements[0];
        let ElementKind::Contact(contact) = &mut contact.is else {
            panic!("a contact")
        };
        contact.closed = Closed::Released;
        let point = solve(&document);
        let problem = point.problem.expect("a problem");
        assert!(
            problem.contains("K1") && problem.contains("again and again"),
            "{problem}"
        );
        assert!(!point.converged);
    }

    const ALTERNATOR: &str = "
        battery BT1
        alternator G1 40 field
        load LT1 10 law=current
        ground GB1 T1 T2 T3
        switch S1 1-2
        wire OUT G1.B BT1.+ 8 1m
        wire FIELD BT1.+ S1.1 20 1m
        wire F2 S1.2 G1.FLD 20 1m
        wire CASE G1.CASE GB1.T1 8 1m
        wire L BT1.+ LT1.+ 12 1m
        wire N LT1.- GB1.T2 12 1m
        wire G GB1.T3 BT1.- 6 1m
    ";

    #[test]
    fn an_alternator_gives_while_turned_and_excited() {
        let out = |state: &str| amps(&solved(&format!("{ALTERNATOR} state T {state}")), "OUT");
        assert!(
            out("running on=S1") > 10.0,
            "it carries the load and charges"
        );
        near(out("on=S1"), 0.0);
        near(out("running"), 0.0);
        let point = solved(&format!("{ALTERNATOR} state T running on=S1"));
        let battery = point
            .element_amps(&"BT1".into(), &"battery".into())
            .expect("a battery");
        assert!(
            battery < 0.0,
            "the battery charges, and its current is counted outwards"
        );
    }

    #[test]
    fn a_reversing_motor_runs_both_ways() {
        let run = |position| {
            let point = solved(&format!(
                "battery BT1
                 throw S7 UP:2-1,5-4 OFF: DN:2-4,5-1 rest=1
                 load M3 5 either
                 wire P BT1.+ S7.2 16 1m
                 wire N S7.5 BT1.- 16 1m
                 wire A S7.1 M3.+ 16 1m
                 wire B S7.4 M3.- 16 1m
                 state T on=S7:{position}"
            ));
            (amps(&point, "P"), amps(&point, "A"), point.unpowered.len())
        };
        let (up, off, down) = (run(0), run(1), run(2));
        assert!(up.0 > 5.0 && up.1 > 5.0 && up.2 == 0);
        assert!(down.0 > 5.0 && down.1 < -5.0 && down.2 == 0);
        assert_eq!(off, (0.0, 0.0, 1));
    }

    #[test]
    fn loads_take_what_the_state_says() {
        let take = |state: &str| {
            let document = document(&format!(
                "battery BT1
                 load LT1 1 peak=3 intermittent=2 law=current
                 load LT2 - intermittent=7 law=current
                 wire A BT1.+ LT1.+ 12 1m
                 wire B LT1.- BT1.- 12 1m
                 wire C BT1.+ LT2.+ 12 1m
                 wire D LT2.- BT1.- 12 1m
                 state T {state}"
            ));
            let points = operate_all(&document);
            let both = |wire: &str| [0, 1].map(|at| (amps(&points[at], wire) * 1e6).round() / 1e6);
            [both("A"), both("C")]
        };
        assert_eq!(take(""), [[1.0, 3.0], [0.0, 0.0]]);
        assert_eq!(take("off=LT1"), [[0.0, 0.0], [0.0, 0.0]]);
        assert_eq!(take("intermittent=LT1,LT2"), [[2.0, 3.0], [7.0, 7.0]]);
        assert_eq!(take("peak=LT1"), [[3.0, 3.0], [0.0, 0.0]]);
    }

    #[test]
    fn a_supply_that_cannot_carry_the_load_says_so() {
        let point = solved(
            "battery BT1 ohm=0.25
             load LT1 30
             wire A BT1.+ LT1.+ 12 1m
             wire B LT1.- BT1.- 12 1m",
        );
        assert!(!point.converged);
        assert!(point.margin.is_some_and(|margin| margin < 1.0));
        assert!(point.problem.is_some_and(|problem| problem.contains('%')));
        assert_eq!(point.dropped.len(), 1);
    }

    #[test]
    fn a_figure_no_part_has_is_named_and_left_out() {
        let mut document = document(&format!("{PLAIN} load LT2 1\n wire X BT1.+ LT2.+"));
        let load = &mut document.devices.get_mut("LT2").expect("LT2").elements[0];
        let ElementKind::Load(load) = &mut load.is else {
            panic!("a load")
        };
        load.at_v = -1.0;
        let problem = solve(&document).problem.expect("a problem");
        assert!(
            problem.contains("LT2") && problem.contains("at_v"),
            "{problem}"
        );
    }

    #[test]
    fn metal_is_the_reference_where_the_battery_is_joined_to_it() {
        let point = solved(
            "place FRAME metal
             battery BT1
             load LT1 1 law=current
             wire A BT1.+ LT1.+ 12 1m
             wire B LT1.- @FRAME 12 1m
             wire C BT1.- @FRAME 12 1m",
        );
        near(
            point
                .volts(&Point::Structure("FRAME".into()))
                .expect("reference"),
            0.0,
        );
        let below = volts(&point, "BT1.-").expect("held");
        near(below, -copper_ohm_per_m(Gauge(12), 50.0));
    }

    #[test]
    fn without_a_source_nothing_is_held_and_nothing_is_wrong() {
        let point = solved("load LT1 1\n unit X 1\n wire A LT1.+ X.1 20 1m");
        assert_eq!(volts(&point, "X.1"), None);
        near(amps(&point, "A"), 0.0);
        assert!(point.converged && point.problem.is_none());
    }
}
