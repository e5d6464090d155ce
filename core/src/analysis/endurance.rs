//! Endurance after the alternator stops: the solved network over time, down to the cut-off of each
//! device and of the battery, in three cases.

mod case;
mod cell;
mod moment;
mod run;
mod step;

use crate::order::InOrder;
use serde::Serialize;

use self::{case::Stage, moment::Run};
pub use self::{
    case::{Case, DeviceEnd, Ended, Extent, Sample, Stop},
    cell::{Cell, Factor},
};
use super::loads::{Bus, buses};
use crate::{
    document::{AfterAlternator, Document, State},
    ids::StateId,
    netlist::Netlist,
    solve::{AT_REST, Simulator},
};

/// What stops when after the alternator stops.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Endurance {
    /// What each battery can give.
    pub batteries: Vec<Cell>,
    /// Power buses, in the order of [`Sample::buses_v`].
    pub buses: Vec<Bus>,
    /// The computed cases, from least to most switched off.
    pub cases: Vec<Case>,
    /// Target, minutes.
    pub target_min: Option<f64>,
    /// What could not be computed, and why.
    pub missing: Vec<String>,
}

impl Endurance {
    /// The case, if it could be computed.
    pub fn case(&self, case: AfterAlternator) -> Option<&Case> {
        self.cases.iter().find(|it| it.case == case)
    }
}

/// Minutes as every finding, paper and comparison shows them: whole ones, rounded to the nearest.
pub fn whole_min(minutes: f64) -> f64 {
    minutes.round()
}

/// The endurance of a document, with its curves.
pub fn endurance(document: &Document) -> Endurance {
    Endurance::new(document, &mut Simulator::new(document), Extent::Drawn)
}

impl Endurance {
    /// The endurance of a document, with an simulator built from it.
    pub fn new(document: &Document, simulator: &mut Simulator, extent: Extent) -> Self {
        let circuit = std::sync::Arc::clone(simulator.circuit());
        let (batteries, missing) = batteries(document, &circuit.netlist);
        let mut all = Self {
            batteries,
            buses: buses(document, &circuit.netlist),
            cases: Vec::new(),
            target_min: document.project.target_min,
            missing,
        };
        if !all.missing.is_empty() {
            return all;
        }
        let cases = Cases::new(document, simulator, &all.batteries);
        for case in [
            AfterAlternator::NothingDone,
            AfterAlternator::MainBusShed,
            AfterAlternator::EssentialOnly,
        ] {
            match cases.stages(document, case) {
                Some((stages, is_marked)) => {
                    let run = Run::new(document, simulator, &all.batteries, &all.buses, extent);
                    match run.case(case, &stages, is_marked) {
                        Ok(case) => all.cases.push(case),
                        Err(problem) => all.missing.push(problem),
                    }
                }
                None if case == AfterAlternator::EssentialOnly => all
                    .missing
                    .push("no phase is marked as the alternator-out case".into()),
                None => {}
            }
        }
        all
    }
}

/// How long the batteries last in a state that someone chose, for cards.
pub(super) struct Lasting {
    cells: Vec<Cell>,
    /// Power buses, in the order of [`Sample::buses_v`].
    pub buses: Vec<Bus>,
    /// What keeps minutes from being computed.
    pub missing: Vec<String>,
    cases: Cases,
}

impl Lasting {
    pub fn new(document: &Document, simulator: &mut Simulator) -> Self {
        let circuit = std::sync::Arc::clone(simulator.circuit());
        let (cells, missing) = batteries(document, &circuit.netlist);
        Self {
            buses: buses(document, &circuit.netlist),
            cases: Cases::new(document, simulator, &cells),
            cells,
            missing,
        }
    }

    /// The state in which the alternator stops, alternators off: marked, else the one that draws the most.
    pub fn nothing_done(&self) -> Option<(StateId, State)> {
        let (id, state, _) = self.cases.nothing.clone()?;
        Some((id, state))
    }

    /// The state that is marked as that with essential loads only, alternators off.
    pub fn essential_only(&self) -> Option<(StateId, State)> {
        let (id, state, _) = self.cases.essential.clone()?;
        Some((id, state))
    }

    /// The batteries' time in this state; until the pilot acts, in that in which the alternator stops.
    ///
    /// # Errors
    /// A sentence if the batteries' capacity is not known, or the network cannot be solved.
    pub fn of(
        &self,
        document: &Document,
        simulator: &mut Simulator,
        state: &State,
    ) -> Result<Case, String> {
        if let Some(missing) = self.missing.first() {
            return Err(missing.clone());
        }
        let mut stages = self.cases.until_acting(document);
        stages.push(Stage::last(AT_REST.into(), stopped(state)));
        let run = Run::new(document, simulator, &self.cells, &self.buses, Extent::Drawn);
        run.case(AfterAlternator::EssentialOnly, &stages, false)
    }
}

/// Chooses the states of the cases.
struct Cases {
    nothing: Option<(StateId, State, bool)>,
    shed: Option<(StateId, State, bool)>,
    essential: Option<(StateId, State, bool)>,
}

impl Cases {
    fn new(document: &Document, simulator: &mut Simulator, cells: &[Cell]) -> Self {
        let mut states: Vec<_> = document.states.iter().collect();
        states.order_by_key(|(_, state)| state.order);
        let marked = |case| {
            let mut states = states.iter();
            let (id, state) = states.find(|(_, it)| it.after_alternator == Some(case))?;
            Some(((*id).clone(), stopped(state), true))
        };
        let essential = marked(AfterAlternator::EssentialOnly);
        let nothing = marked(AfterAlternator::NothingDone).or_else(|| {
            let rest = State::default();
            let at_rest: StateId = AT_REST.into();
            let mut candidates: Vec<_> = states
                .iter()
                .filter(|(_, state)| state.alternators_on)
                .map(|(id, state)| (*id, *state))
                .collect();
            if document.states.is_empty() {
                candidates.push((&at_rest, &rest));
            }
            // The state that draws the most; the first of equals.
            let mut most: Option<(f64, StateId, State)> = None;
            for (id, state) in candidates {
                let state = stopped(state);
                let amps = run::battery_amps(simulator, cells, &state);
                if most.as_ref().is_none_or(|(most, ..)| amps > *most) {
                    most = Some((amps, id.clone(), state));
                }
            }
            most.map(|(_, id, state)| (id, state, false))
        });
        let shed = marked(AfterAlternator::MainBusShed).or_else(|| {
            let ((id, essential, _), (_, nothing, _)) = (essential.as_ref()?, nothing.as_ref()?);
            let state = State {
                loads: nothing.loads.clone(),
                ..essential.clone()
            };
            Some((id.clone(), state, false))
        });
        Self {
            nothing,
            shed,
            essential,
        }
    }

    /// The time until the pilot acts, if the project gives one: nothing is done.
    fn until_acting(&self, document: &Document) -> Vec<Stage> {
        let until_s = document.project.shed_after_min.unwrap_or(0.0) * 60.0;
        let nothing = self.nothing.clone().filter(|_| until_s > 0.0);
        let stage = nothing.map(|(id, state, _)| Stage { id, state, until_s });
        stage.into_iter().collect()
    }

    /// The states of a case, and whether the builder marked it.
    fn stages(&self, document: &Document, case: AfterAlternator) -> Option<(Vec<Stage>, bool)> {
        let (id, state, is_marked) = match case {
            AfterAlternator::NothingDone => &self.nothing,
            AfterAlternator::MainBusShed => &self.shed,
            AfterAlternator::EssentialOnly => &self.essential,
        }
        .clone()?;
        let mut stages = match case {
            AfterAlternator::NothingDone => Vec::new(),
            _ => self.until_acting(document),
        };
        stages.push(Stage::last(id, state));
        Some((stages, is_marked))
    }
}

/// The batteries, and what keeps them from being known.
fn batteries(document: &Document, netlist: &Netlist) -> (Vec<Cell>, Vec<String>) {
    match cell::cells(document, netlist) {
        Ok(cells) if cells.is_empty() => (cells, vec!["no battery".into()]),
        Ok(cells) => (cells, Vec::new()),
        Err(label) => (Vec::new(), vec![format!("capacity of {label} not set")]),
    }
}

fn stopped(state: &State) -> State {
    State {
        alternators_on: false,
        ..state.clone()
    }
}

#[cfg(test)]
mod tests;
