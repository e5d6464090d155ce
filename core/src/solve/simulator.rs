//! Solves a circuit in one state after another: sets its values and lets relays settle.

use crate::order::InOrder;
use std::sync::Arc;

use super::{
    Network, Solution, Solver,
    circuit::{Circuit, Coil},
    operating::{AT_REST, OperatingPoint, Settled},
    resistance::LEAST_OHM,
    states::{Figures, Overrides, load_amps, load_law, load_uses, standing},
};
use petgraph::graph::EdgeIndex;

use crate::{
    document::{Document, State},
    ids::{DeviceId, StateId, WireId},
    netlist::LoadFigures,
};

/// An alternator with less than this at its field terminal has no output, V (assumed: enough to
/// excite it; no published single value).
pub const FIELD_ABOVE_V: f64 = 5.0;

/// A load that works in either polarity reverses when its voltage is this far negative, V.
const TURN_UNDER_V: f64 = -0.5;

/// Most rounds for relays to settle. A chain of relays takes one round each.
const MOST_ROUNDS: usize = 40;

/// Whether loads of constant power or current draw.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Loads {
    Waiting,
    On,
}

/// Positions of all parts that switch with voltage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Relays {
    /// By coil.
    energised: Vec<bool>,
    /// By alternator.
    giving: Vec<bool>,
    /// By load: reversed.
    turned: Vec<bool>,
}

/// Solves the states of one document and reuses the structure of the equations.
pub struct Simulator {
    circuit: Arc<Circuit>,
    network: Network,
    solver: Option<Solver>,
    problem: Option<String>,
}

impl Simulator {
    /// Prepares a document.
    pub fn new(document: &Document) -> Self {
        Self::of(Circuit::new(document))
    }

    /// Prepares a circuit.
    pub(crate) fn of(circuit: impl Into<Arc<Circuit>>) -> Self {
        let circuit = circuit.into();
        let network = circuit.network.clone();
        let (solver, problem) = match circuit.reference.map(|_| Solver::new(&network)) {
            Some(Ok(solver)) => (Some(solver), None),
            Some(Err(error)) => (None, Some(error.to_string())),
            None => (None, None),
        };
        Self {
            circuit,
            network,
            solver,
            problem,
        }
    }

    /// Updates the figures of these wires and devices, if no connection changed. Returns whether
    /// any figure changed, or `None` if the simulator must be rebuilt.
    pub fn refit(
        &mut self,
        document: &Document,
        wires: &[WireId],
        devices: &[DeviceId],
    ) -> Option<bool> {
        let circuit = Arc::make_mut(&mut self.circuit);
        let changed = circuit.refit(document, wires, devices)?;
        if changed {
            self.network.clone_from(&circuit.network);
        }
        Some(changed)
    }

    /// The circuit.
    pub fn circuit(&self) -> &Arc<Circuit> {
        &self.circuit
    }

    /// The operating point in a state, with overrides.
    ///
    /// Coils start released and alternators stopped; with peak figures they start from their
    /// positions with the continuous ones, because the peak comes while the aircraft is running.
    pub fn operate(
        &mut self,
        id: &StateId,
        state: &State,
        figures: Figures,
        overrides: &Overrides,
    ) -> OperatingPoint {
        self.operate_to(id, state, figures, overrides).0
    }

    /// The same, and how its relays stand.
    pub(crate) fn operate_to(
        &mut self,
        id: &StateId,
        state: &State,
        figures: Figures,
        overrides: &Overrides,
    ) -> (OperatingPoint, Relays) {
        let mut relays = self.at_rest();
        let mut settled = self.settle(
            state,
            Figures::Continuous,
            overrides,
            &mut relays,
            Loads::Waiting,
        );
        if figures == Figures::Peak && self.set_loads(state, figures, overrides) {
            settled = self.settle(state, figures, overrides, &mut relays, Loads::On);
        }
        (self.point(id, figures, settled), relays)
    }

    /// The operating point in a state, and its relay positions.
    pub(crate) fn running(&mut self, id: &StateId, state: &State) -> (OperatingPoint, Relays) {
        let mut relays = self.at_rest();
        let settled = self.settle(
            state,
            Figures::Continuous,
            &Overrides::default(),
            &mut relays,
            Loads::Waiting,
        );
        (self.point(id, Figures::Continuous, settled), relays)
    }

    /// The operating point after something fails while the state runs: relays and alternators start
    /// from their present positions, so a self-holding relay that drops out stays out.
    pub(crate) fn after_failure(
        &mut self,
        (id, state): (&StateId, &State),
        relays: &Relays,
        overrides: &Overrides,
    ) -> OperatingPoint {
        let mut relays = relays.clone();
        let settled = self.settle(
            state,
            Figures::Continuous,
            overrides,
            &mut relays,
            Loads::On,
        );
        self.point(id, Figures::Continuous, settled)
    }

    /// The operating points in all states of its document: see [`operate_all`].
    pub fn all(&mut self, document: &Document) -> Vec<OperatingPoint> {
        let mut states: Vec<_> = document.states.iter().collect();
        states.order_by_key(|(_, state)| state.order);
        if states.is_empty() {
            let state = State {
                alternators_on: true,
                ..State::default()
            };
            return self.both(&AT_REST.into(), &state).into();
        }
        states
            .into_iter()
            .flat_map(|(id, state)| self.both(id, state))
            .collect()
    }

    /// The operating points in a state with continuous and with peak figures.
    pub fn both(&mut self, id: &StateId, state: &State) -> [OperatingPoint; 2] {
        let overrides = Overrides::default();
        let (mut continuous, mut relays) = self.running(id, state);
        continuous.asked = self.as_asked(&continuous, state, &overrides, &relays);
        let peak = if self.set_loads(state, Figures::Peak, &overrides) {
            let settled = self.settle(state, Figures::Peak, &overrides, &mut relays, Loads::On);
            let mut peak = self.point(id, Figures::Peak, settled);
            peak.asked = self.as_asked(&peak, state, &overrides, &relays);
            peak
        } else {
            let mut same = continuous.clone();
            same.figures = Figures::Peak;
            same.repeats = true;
            same
        };
        [continuous, peak]
    }

    /// A moment in which its loads that cannot run take what they ask for; relays and all other loads stay as
    /// they are. Every load takes a fixed current, so that none stops another.
    pub(crate) fn as_asked(
        &mut self,
        point: &OperatingPoint,
        state: &State,
        overrides: &Overrides,
        relays: &Relays,
    ) -> Option<Arc<OperatingPoint>> {
        if point.dropped.is_empty() {
            return None;
        }
        let circuit = Arc::clone(&self.circuit);
        let uses = load_uses(&circuit.netlist, state, overrides);
        for (part, load) in &circuit.loads {
            let amps = if point.cannot_run(part.edge) {
                let stated_a = load_amps(load, uses[part.edge.index()], point.figures);
                // A load wired in reverse would take it in reverse.
                stated_a.copysign(point.across_v(part.edge).unwrap_or(1.0))
            } else {
                point.edge_amps(part.edge).unwrap_or(0.0)
            };
            for (element, sign) in [(Some(part.element), 1.0), (part.reversed, -1.0)] {
                let Some(element) = element else { continue };
                let law = &mut self.network.elements[element].law;
                if *law != OFF && !law.conducts() {
                    *law = super::Law::CurrentSource { amp: sign * amps };
                }
            }
        }
        let mut closed = standing(&circuit.netlist, state, overrides);
        self.set_closed(&circuit, &mut closed, relays, Loads::On, &overrides.failed);
        let solution = self.solver.as_mut()?.solve_on(&self.network).ok();
        let settled = settled(&circuit, relays, closed, solution, None);
        let mut asked = self.point(&point.state, point.figures, settled);
        asked.dropped.clone_from(&point.dropped);
        asked.is_asked = true;
        self.set_loads(state, point.figures, overrides);
        Some(Arc::new(asked))
    }

    /// Relay positions before anything is switched on.
    pub(crate) fn at_rest(&self) -> Relays {
        Relays {
            energised: vec![false; self.circuit.coils.len()],
            giving: vec![false; self.circuit.alternators.len()],
            turned: vec![false; self.circuit.loads.len()],
        }
    }

    /// Sets the demand of every load; returns whether anything changed.
    fn set_loads(&mut self, state: &State, figures: Figures, overrides: &Overrides) -> bool {
        let uses = load_uses(&self.circuit.netlist, state, overrides);
        let mut changed = false;
        for (part, load) in &self.circuit.loads {
            let given = overrides.amps.iter().find(|(edge, _)| *edge == part.edge);
            let amps = given.map_or_else(
                || load_amps(load, uses[part.edge.index()], figures),
                |(_, amps)| *amps,
            );
            let load = &LoadFigures {
                cutoff_v: load.cutoff_v.filter(|_| !overrides.run_below_cutoff),
                ..*load
            };
            for element in [Some(part.element), part.reversed].into_iter().flatten() {
                let element = &mut self.network.elements[element];
                let law = if amps > 0.0 {
                    load_law(load, amps)
                } else {
                    OFF
                };
                changed |= element.law != law;
                element.law = law;
            }
        }
        changed
    }

    /// The operating point of a settled solution.
    pub(crate) fn point(&self, id: &StateId, figures: Figures, settled: Settled) -> OperatingPoint {
        OperatingPoint::new(&self.circuit, &self.network, id, figures, settled)
    }

    /// Solves until coils, alternators and reversible loads stay the same.
    ///
    /// Loads that wait let relays pull in first and then draw current, as when switches are
    /// operated. It also delays the costly part of solving until relays settle.
    pub(crate) fn settle(
        &mut self,
        state: &State,
        figures: Figures,
        overrides: &Overrides,
        relays: &mut Relays,
        mut loads: Loads,
    ) -> Settled {
        self.set_loads(state, figures, overrides);
        self.set_parts(overrides);
        let circuit = Arc::clone(&self.circuit);
        let mut closed = standing(&circuit.netlist, state, overrides);
        let mut seen: Vec<Relays> = Vec::new();
        let mut problem = self.problem.clone();
        let mut first = loads == Loads::Waiting;
        let solution = loop {
            self.set_closed(&circuit, &mut closed, relays, loads, &overrides.failed);
            let Some(solver) = &mut self.solver else {
                break None;
            };
            let solved = if std::mem::take(&mut first) {
                solver.solve(&self.network)
            } else {
                solver.solve_on(&self.network)
            };
            let solution = match solved {
                Ok(solution) => solution,
                Err(error) => {
                    problem = Some(error.to_string());
                    break None;
                }
            };
            let next = self.after(&circuit, &solution, relays, state.alternators_on, overrides);
            let moves_on = seen.contains(&next) || seen.len() == MOST_ROUNDS;
            if loads == Loads::Waiting && (moves_on || next == *relays) {
                loads = Loads::On;
                seen.clear();
                continue;
            }
            if next == *relays {
                break Some(solution);
            }
            if moves_on {
                problem = Some(unsettled(&circuit, relays, &next));
                break Some(solution);
            }
            seen.push(std::mem::replace(relays, next));
        };
        settled(&circuit, relays, closed, solution, problem)
    }

    /// The first moment after a change: relays and alternators are still in their old positions.
    pub(crate) fn held(
        &mut self,
        (id, state): (&StateId, &State),
        relays: &Relays,
        overrides: &Overrides,
    ) -> OperatingPoint {
        self.set_loads(state, Figures::Continuous, overrides);
        self.set_parts(overrides);
        let circuit = Arc::clone(&self.circuit);
        let mut closed = standing(&circuit.netlist, state, overrides);
        self.set_closed(&circuit, &mut closed, relays, Loads::On, &overrides.failed);
        let solved = self.solver.as_mut().map(|it| it.solve_on(&self.network));
        let (solution, problem) = match solved {
            Some(Ok(solution)) => (Some(solution), None),
            Some(Err(error)) => (None, Some(error.to_string())),
            None => (None, self.problem.clone()),
        };
        let settled = settled(&circuit, relays, closed, solution, problem);
        self.point(id, Figures::Continuous, settled)
    }

    /// Sets every battery from the document or its override, and turns failed parts off.
    fn set_parts(&mut self, overrides: &Overrides) {
        for &(edge, at) in &self.circuit.sources_and_others {
            let element = &mut self.network.elements[at];
            element.off = overrides.failed.contains(&edge);
            if !matches!(element.law, super::Law::Battery { .. }) {
                continue;
            }
            element.law = self.circuit.network.elements[at].law;
            let stands = overrides.batteries.iter().find(|it| it.edge == edge);
            let (Some(stands), super::Law::Battery { emf_v, ohm, .. }) = (stands, &mut element.law)
            else {
                continue;
            };
            (*emf_v, *ohm) = (stands.emf_v, stands.ohm.max(LEAST_OHM));
            element.off |= stands.empty;
        }
    }

    /// Sets contacts from the coils, and turns elements on or off.
    fn set_closed(
        &mut self,
        circuit: &Circuit,
        closed: &mut [bool],
        relays: &Relays,
        loads: Loads,
        failed: &[EdgeIndex],
    ) {
        for &(edge, coil, made_energised) in &circuit.contacts {
            let energised = coil.is_some_and(|coil| relays.energised[coil]);
            closed[edge.index()] = energised == made_energised;
        }
        for edge in failed {
            closed[edge.index()] = false;
        }
        for (chain, element) in circuit.reduced.chains.iter().zip(&circuit.chain_element) {
            if let Some(element) = *element {
                let open = chain.links.iter().any(|(edge, _)| !closed[edge.index()]);
                self.network.elements[element].off = open;
            }
        }
        for ((part, _), giving) in circuit.alternators.iter().zip(&relays.giving) {
            self.network.elements[part.element].off = !giving;
        }
        for ((part, _), turned) in circuit.loads.iter().zip(&relays.turned) {
            let law = &self.network.elements[part.element].law;
            let takes = *law != OFF && (loads == Loads::On || law.conducts());
            self.network.elements[part.element].off =
                !takes || (*turned && part.reversed.is_some());
            if let Some(reversed) = part.reversed {
                self.network.elements[reversed].off = !takes || !turned;
            }
        }
    }

    /// Relay positions after a solution.
    fn after(
        &self,
        circuit: &Circuit,
        solution: &Solution,
        relays: &Relays,
        alternators_on: bool,
        overrides: &Overrides,
    ) -> Relays {
        let across_v = |element: usize| {
            let element = &self.network.elements[element];
            solution.node_volts[element.a] - solution.node_volts[element.b]
        };
        let coil = |(coil, &energised): (&Coil, &bool)| {
            let volts = across_v(coil.part.element).abs();
            if energised {
                volts >= coil.drop_out_v
            } else {
                volts >= coil.pull_in_v
            }
        };
        let alternator = |(part, field): &(super::circuit::Part, Option<_>)| {
            let minus = self.network.elements[part.element].b;
            let has_field = field.is_none_or(|field| {
                circuit.node_of[circuit.point(field)].is_some_and(|field| {
                    solution.node_volts[field] - solution.node_volts[minus] > FIELD_ABOVE_V
                })
            });
            alternators_on && has_field && !overrides.failed.contains(&part.edge)
        };
        let load = |((part, _), &turned): (&(super::circuit::Part, _), &bool)| {
            part.reversed.is_some()
                && match (across_v(part.element), turned) {
                    (volts, false) => volts < TURN_UNDER_V,
                    (volts, true) => -volts >= TURN_UNDER_V,
                }
        };
        Relays {
            energised: circuit
                .coils
                .iter()
                .zip(&relays.energised)
                .map(coil)
                .collect(),
            giving: circuit.alternators.iter().map(alternator).collect(),
            turned: circuit.loads.iter().zip(&relays.turned).map(load).collect(),
        }
    }
}

/// The operating point of a document in one state.
pub fn operate(
    document: &Document,
    id: &StateId,
    state: &State,
    figures: Figures,
) -> OperatingPoint {
    Simulator::new(document).operate(id, state, figures, &Overrides::default())
}

/// The operating points of a document in all its states, in order, each with continuous and then
/// with peak figures. A document without states has one, [`AT_REST`], with everything at rest and
/// the alternators on.
pub fn operate_all(document: &Document) -> Vec<OperatingPoint> {
    Simulator::new(document).all(document)
}

/// The law of a load that is off.
const OFF: super::Law = super::Law::LoadPower {
    watt: 0.0,
    v_cut: 0.0,
};

/// The result once relays have settled, or with the problem if they have not.
fn settled(
    circuit: &Circuit,
    relays: &Relays,
    closed: Vec<bool>,
    solution: Option<Solution>,
    problem: Option<String>,
) -> Settled {
    let is_on = |on: &&bool| **on;
    let running = circuit
        .alternators
        .iter()
        .zip(&relays.giving)
        .filter(|(_, on)| is_on(on));
    let energised = circuit
        .coils
        .iter()
        .zip(&relays.energised)
        .filter(|(_, on)| is_on(on));
    let loads = circuit.loads.iter().zip(&relays.turned);
    Settled {
        running: running.map(|((part, _), _)| part.edge).collect(),
        energised: energised.map(|(coil, _)| coil.part.edge).collect(),
        load_elements: loads
            .map(|((part, _), turned)| part.reversed.filter(|_| *turned).unwrap_or(part.element))
            .collect(),
        solution,
        closed,
        problem,
    }
}

fn unsettled(circuit: &Circuit, now: &Relays, next: &Relays) -> String {
    let coils = circuit.coils.iter().map(|coil| coil.part.edge);
    let alternators = circuit.alternators.iter().map(|(part, _)| part.edge);
    let loads = circuit.loads.iter().map(|(part, _)| part.edge);
    let moved = |now: &[bool], next: &[bool]| -> Vec<bool> {
        now.iter()
            .zip(next)
            .map(|(now, next)| now != next)
            .collect()
    };
    let moves = coils
        .zip(moved(&now.energised, &next.energised))
        .chain(alternators.zip(moved(&now.giving, &next.giving)))
        .chain(loads.zip(moved(&now.turned, &next.turned)));
    let names: Vec<_> = moves
        .filter(|(_, moves)| *moves)
        .map(|(edge, _)| circuit.name(edge))
        .collect();
    format!(
        "{} not settling: switching on and off repeatedly",
        names.join(", ")
    )
}

impl std::fmt::Debug for Simulator {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Simulator")
    }
}
