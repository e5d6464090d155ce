//! A case at one moment: what each battery has given, what runs, and the network solved with them.

use std::sync::Arc;

use petgraph::graph::EdgeIndex;

use super::{
    case::{Ended, Extent, Sample, Stage, Stop},
    cell::Cell,
};
use crate::{
    analysis::loads::{Bus, PLAIN_PER_NOMINAL},
    document::Document,
    solve::{
        Circuit, DropReason, Simulator,
        operating::Settled,
        simulator::{Loads, Relays},
        states::{Figures, Overrides},
    },
};

/// Shortest step, s; at a jump (a relay drops out) no shorter one is tried.
pub(super) const SHORTEST_S: f64 = 0.05;

/// A load that takes less counts as off, A.
pub(super) const ON_ABOVE_A: f64 = 1e-6;

/// A case being simulated.
pub(super) struct Run<'a> {
    pub document: &'a Document,
    pub simulator: &'a mut Simulator,
    pub circuit: Arc<Circuit>,
    pub cells: &'a [Cell],
    pub buses: &'a [Bus],
    pub time_s: f64,
    pub used: Vec<f64>,
    pub empty: Vec<Option<Ended>>,
    pub relays: Relays,
    /// By load: stopped in this stage.
    pub off: Vec<bool>,
    /// By load: runs in this stage.
    pub running: Vec<bool>,
    /// By load: its current when it first ran, A, and when and why it stopped.
    pub first_a: Vec<Option<f64>>,
    pub stops: Vec<Option<(f64, Stop)>>,
    pub curve: Vec<Sample>,
    pub extent: Extent,
    pub start_a: f64,
}

/// The network solved with its batteries at one moment.
pub(super) struct Solved {
    pub settled: Option<Settled>,
    pub relays: Relays,
    /// By battery: current, A, terminal voltage, V, and share used per second.
    pub amps: Vec<f64>,
    pub post_v: Vec<f64>,
    pub rates: Vec<f64>,
    /// By load: current, A, and voltage, V.
    pub load_a: Vec<f64>,
    pub load_v: Vec<f64>,
    /// Loads that the supply cannot carry.
    pub collapsed: Vec<usize>,
    /// Sum of the coils' stated currents, A.
    pub coils_a: f64,
}

/// What is about to stop.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Event {
    Load(usize),
    Cell(usize, Ended),
}

impl<'a> Run<'a> {
    pub(super) fn new(
        document: &'a Document,
        simulator: &'a mut Simulator,
        cells: &'a [Cell],
        buses: &'a [Bus],
        extent: Extent,
    ) -> Self {
        let circuit = Arc::clone(simulator.circuit());
        let loads = circuit.loads.len();
        Self {
            document,
            relays: simulator.at_rest(),
            simulator,
            circuit,
            cells,
            buses,
            time_s: 0.0,
            used: vec![0.0; cells.len()],
            empty: vec![None; cells.len()],
            off: vec![false; loads],
            running: vec![false; loads],
            first_a: vec![None; loads],
            stops: vec![None; loads],
            curve: Vec::new(),
            extent,
            start_a: 0.0,
        }
    }

    /// Solves the network with this share of each battery used. Relays start in their present
    /// position.
    pub(super) fn solve(
        &mut self,
        stage: &Stage,
        given: &Overrides,
        used: &[f64],
        loads: Loads,
    ) -> Result<Solved, String> {
        let circuit = Arc::clone(&self.circuit);
        let mut overrides = given.clone();
        let cells = self.cells.iter().zip(used).zip(&self.empty);
        let stands = cells.map(|((cell, used), empty)| cell.stands(*used, empty.is_some()));
        overrides.batteries = stands.collect();
        let stopped = circuit.loads.iter().zip(&self.off).filter(|(_, off)| **off);
        let stopped: Vec<_> = stopped.map(|((part, _), _)| (part.edge, 0.0)).collect();
        overrides
            .amps
            .retain(|(edge, _)| stopped.iter().all(|(off, _)| off != edge));
        overrides.amps.extend(stopped);
        let mut relays = self.relays.clone();
        let figures = Figures::Continuous;
        let state = &stage.state;
        let settled = (self.simulator).settle(state, figures, &overrides, &mut relays, loads);
        let unsolved = || format!("\"{}\" cannot be solved", state.title);
        let Some(solution) = &settled.solution else {
            return Err(settled.problem.unwrap_or_else(unsolved));
        };
        let across = |element: usize| {
            let element = &circuit.network.elements[element];
            solution.node_volts[element.a] - solution.node_volts[element.b]
        };
        let current = |element: usize| solution.currents[element].unwrap_or(0.0);
        let of_edge = |wanted: EdgeIndex| {
            let mut all = circuit.sources_and_others.iter();
            all.find(|(edge, _)| *edge == wanted)
                .map(|(_, element)| *element)
        };
        let elements = self.cells.iter().map(|cell| of_edge(cell.edge));
        let elements: Vec<Option<usize>> = elements.collect();
        let amps: Vec<f64> = elements.iter().map(|it| it.map_or(0.0, current)).collect();
        let rates = self.cells.iter().zip(&amps).zip(used);
        let rates = rates.map(|((cell, amps), used)| match cell.used_per_s(*amps) {
            // A full battery takes no charge.
            rate if *used <= 0.0 => rate.max(0.0),
            rate => rate,
        });
        let cannot = |it: &&crate::solve::Dropped| it.reason == DropReason::SupplyCannotCarry;
        let collapsed = solution.dropped.iter().filter(cannot);
        let at = |element| settled.load_elements.iter().position(|it| *it == element);
        let plain_v = self.document.project.nominal_v * PLAIN_PER_NOMINAL;
        let coils = circuit.coils.iter().filter_map(|coil| {
            let element = coil.part.element;
            let amps = current(element).abs();
            (amps > ON_ABOVE_A).then(|| plain_v * amps / across(element).abs())
        });
        Ok(Solved {
            rates: rates.collect(),
            post_v: elements.iter().map(|it| it.map_or(0.0, across)).collect(),
            load_a: settled
                .load_elements
                .iter()
                .map(|it| current(*it))
                .collect(),
            load_v: settled.load_elements.iter().map(|it| across(*it)).collect(),
            collapsed: collapsed.filter_map(|it| at(it.element)).collect(),
            coils_a: coils.sum(),
            amps,
            relays,
            settled: Some(settled),
        })
    }

    /// What is nearest to its end, or furthest beyond it: by what share, and which.
    pub(super) fn worst(&self, at: &Solved, used: &[f64]) -> Option<(f64, Event)> {
        let loads = self.circuit.loads.iter().enumerate();
        let loads = loads.filter(|(load, _)| self.running[*load]);
        let loads = loads.filter_map(|(load, (_, figures))| {
            let cutoff_v = figures.cutoff_v.filter(|cutoff_v| *cutoff_v > 0.0)?;
            Some((at.load_v[load] / cutoff_v - 1.0, Event::Load(load)))
        });
        let cells = self.cells.iter().enumerate();
        let cells = cells.filter(|(cell, _)| self.empty[*cell].is_none());
        let cells = cells.flat_map(|(cell, it)| {
            let low = at.post_v[cell] / it.cutoff_v - 1.0;
            [
                (low, Event::Cell(cell, Ended::BatteryCutOff)),
                (1.0 - used[cell], Event::Cell(cell, Ended::Empty)),
            ]
        });
        loads.chain(cells).min_by(|a, b| a.0.total_cmp(&b.0))
    }
}
