//! One case, run down in time.
//!
//! What is used of each battery grows as its current says, and the current follows from solving the
//! network with the batteries as they then stand: an ordinary differential equation, integrated with
//! the embedded fifth-order pair of Dormand and Prince (1980; coefficients from memory, checked in the
//! tests against closed forms). A load's cut-off, a battery's cut-off or end, and a relay that lets go
//! are events: the step is cut where the first of them falls.

use std::sync::Arc;

use petgraph::graph::EdgeIndex;
use serde::Serialize;

use super::{Case, Cell, DeviceEnd, Stage};
use crate::{
    document::{AfterAlternator, Document, ElementKind, LoadUse, State, natural_cmp},
    ids::StateId,
    netlist::EdgeOf,
    solve::{
        DropReason, Operator,
        circuit::Circuit,
        loads::{Bus, PLAIN_PER_NOMINAL},
        operating::Settled,
        operator::{Loads, Relays},
        states::{Figures, Overrides, load_amps, load_uses},
    },
};

/// Error allowed in a step, part of what a battery can give.
const TOLERANCE: f64 = 1e-7;
/// Shortest step, s; at a jump (a relay lets go) no shorter one is tried.
const SHORTEST_S: f64 = 0.05;
/// Longest step, s, so that the voltage over time has points enough to be drawn.
const LONGEST_S: f64 = 1200.0;
/// An event is found to this, s.
const EVENT_S: f64 = 0.02;
/// Nothing is followed for longer, s: 100 h.
const LIMIT_S: f64 = 360_000.0;
/// A load that takes less is off, A.
const ON_ABOVE_A: f64 = 1e-6;
/// Most steps and stops of one case; a real one takes some dozens.
const MOST_STEPS: usize = 2_000;

/// How a case ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ended {
    /// The battery has given what it can.
    Empty,
    /// The battery's voltage is at its cut-off.
    BatteryCutOff,
    /// Every load has stopped before the battery did.
    LoadsStopped,
    /// It runs on for more than 100 hours, or nothing draws.
    RunsOn,
}

/// Why a load stops.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stop {
    /// Its voltage is at its cut-off.
    CutOff,
    /// The battery cannot carry it any more.
    SupplyCannotCarry,
    /// A relay on its way lets go.
    NoSupply,
    /// The battery is at its end.
    Battery,
    /// The pilot switches it off.
    Shed,
    /// It does not stop.
    RunsOn,
}

/// How things stand at one moment.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sample {
    /// Minutes after the alternator.
    pub minutes: f64,
    /// Voltage at the posts of each battery, V.
    pub batteries_v: Vec<f64>,
    /// Part of what each battery can give that is used.
    pub used: Vec<f64>,
    /// Voltage of each bus, V; none while it is dead.
    pub buses_v: Vec<Option<f64>>,
    /// What the batteries give together, A.
    pub amps: f64,
}

/// The network with its batteries as they stand.
struct Solved {
    settled: Option<Settled>,
    relays: Relays,
    /// By battery: current, A, voltage at its posts, V, and part used a second.
    amps: Vec<f64>,
    post_v: Vec<f64>,
    rates: Vec<f64>,
    /// By load: current, A, and voltage, V.
    load_a: Vec<f64>,
    load_v: Vec<f64>,
    /// Loads that the supply cannot carry.
    collapsed: Vec<usize>,
    /// Sum of what coils take by their stated figures, A.
    coils_a: f64,
}

/// What is about to stop.
#[derive(Clone, Copy, PartialEq)]
enum Event {
    Load(usize),
    Cell(usize, Ended),
}

/// The battery current of a state with batteries as drawn, A.
pub(super) fn battery_amps(operator: &mut Operator, cells: &[Cell], state: &State) -> f64 {
    let point = operator.operate(
        &StateId::from(""),
        state,
        Figures::Continuous,
        &Overrides::default(),
    );
    let amps = cells.iter().filter_map(|cell| point.edge_amps(cell.edge));
    amps.sum()
}

/// A case under way.
pub(super) struct Run<'a> {
    document: &'a Document,
    operator: &'a mut Operator,
    circuit: Arc<Circuit>,
    cells: &'a [Cell],
    buses: &'a [Bus],
    time_s: f64,
    used: Vec<f64>,
    empty: Vec<Option<Ended>>,
    relays: Relays,
    /// By load: stopped in this stage.
    off: Vec<bool>,
    /// By load: runs in this stage.
    running: Vec<bool>,
    /// By load: what it took when it first ran, A, and when and why it stopped.
    first_a: Vec<Option<f64>>,
    stops: Vec<Option<(f64, Stop)>>,
    curve: Vec<Sample>,
}

impl<'a> Run<'a> {
    pub(super) fn new(
        document: &'a Document,
        operator: &'a mut Operator,
        cells: &'a [Cell],
        buses: &'a [Bus],
    ) -> Self {
        let circuit = Arc::clone(operator.circuit());
        let loads = circuit.loads.len();
        Self {
            document,
            relays: operator.at_rest(),
            operator,
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
        }
    }

    /// Runs through the stages; a sentence if the network cannot be solved.
    pub(super) fn case(
        mut self,
        case: AfterAlternator,
        stages: &[Stage],
        is_marked: bool,
    ) -> Result<Case, String> {
        let usable_ah: f64 = self.cells.iter().map(|cell| cell.usable_ah).sum();
        let (mut plain_a, mut left_as, mut plain_s) = (0.0, usable_ah * 3600.0, 0.0);
        let mut ended = Ended::RunsOn;
        for stage in stages {
            let given = self.given(&stage.state);
            let at = self.begin(stage, &given)?;
            plain_a = at.coils_a + self.plain_loads_a(&given);
            let last_s = stage.until_s - self.time_s;
            let runs_s = if plain_a > 0.0 {
                left_as / plain_a
            } else {
                f64::INFINITY
            };
            plain_s += runs_s.min(last_s);
            left_as -= plain_a * runs_s.min(last_s);
            ended = self.follow(stage, &given, at)?;
            if self.empty.iter().all(Option::is_some) {
                break;
            }
        }
        let start_a = self.curve.first().map_or(0.0, |sample| sample.amps);
        let devices = self.devices();
        let real = devices.iter().filter(|it| it.stop != Stop::Shed);
        let first_stop_min = real.map(|it| it.minutes).fold(f64::INFINITY, f64::min);
        let minutes = self.time_s / 60.0;
        Ok(Case {
            case,
            states: stages
                .iter()
                .map(|stage| stage.state.title.clone())
                .collect(),
            is_marked,
            plain_a,
            plain_min: plain_s.is_finite().then_some(plain_s / 60.0),
            start_a,
            minutes,
            first_stop_min: first_stop_min.min(minutes),
            ended,
            devices,
            curve: self.curve,
        })
    }

    /// What loads with a duty take on average in a state, and all other standing orders.
    fn given(&self, state: &State) -> Overrides {
        let uses = load_uses(&self.circuit.netlist, state, &Overrides::default());
        let mut given = Overrides {
            run_below_cutoff: true,
            ..Overrides::default()
        };
        for (part, load) in &self.circuit.loads {
            let (Some(duty), LoadUse::Continuous) = (self.duty(part.edge), uses[part.edge.index()])
            else {
                continue;
            };
            if let (Some(rest), Some(work)) = (load.continuous_a, load.intermittent_a) {
                given.amps.push((part.edge, rest + duty * (work - rest)));
            }
        }
        given
    }

    fn duty(&self, edge: EdgeIndex) -> Option<f64> {
        let EdgeOf::Element(device, element, _) = &self.circuit.netlist.graph[edge].of else {
            return None;
        };
        match &self.document.devices.get(device)?.element(element)?.is {
            ElementKind::Load(load) => load.duty,
            _ => None,
        }
    }

    /// Throws the switches of a stage: what runs in it, and what the pilot has shed.
    fn begin(&mut self, stage: &Stage, given: &Overrides) -> Result<Solved, String> {
        self.off.fill(false);
        let at = self.solve(stage, given, &self.used.clone(), Loads::Waiting)?;
        self.relays = at.relays.clone();
        for load in 0..self.off.len() {
            let runs = at.load_a[load] > ON_ABOVE_A || at.collapsed.contains(&load);
            if runs {
                self.first_a[load].get_or_insert(at.load_a[load]);
                self.stops[load] = None;
            } else if self.running[load] && self.stops[load].is_none() {
                self.stops[load] = Some((self.time_s, Stop::Shed));
            }
            self.running[load] = runs;
        }
        Ok(at)
    }

    /// Sum of the stated figures of what runs, A.
    fn plain_loads_a(&self, given: &Overrides) -> f64 {
        let loads = self.circuit.loads.iter().zip(&self.running);
        let running = loads.filter(|(_, runs)| **runs);
        running
            .map(|((part, load), _)| {
                let amps = given.amps.iter().find(|(edge, _)| *edge == part.edge);
                amps.map_or_else(
                    || load_amps(load, LoadUse::Continuous, Figures::Continuous),
                    |(_, amps)| *amps,
                )
            })
            .sum()
    }

    /// Solves the network with so much used of each battery. Relays start as they stand.
    fn solve(
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
        let settled = (self.operator).settle(state, figures, &overrides, &mut relays, loads);
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
            // A full battery takes nothing in.
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

    /// Follows a stage to its end; how the case would end here.
    fn follow(&mut self, stage: &Stage, given: &Overrides, begun: Solved) -> Result<Ended, String> {
        let mut at = begun;
        let mut step_s: f64 = 60.0;
        for _ in 0..MOST_STEPS {
            if self.stop_here(&at) {
                at = self.solve(stage, given, &self.used.clone(), Loads::On)?;
                self.relays = at.relays.clone();
                continue;
            }
            self.sample(stage, &mut at);
            let over = self.empty.iter().all(Option::is_some);
            if over || !self.running.contains(&true) {
                let ended = self.empty.iter().flatten().next_back().copied();
                return Ok(ended.filter(|_| over).unwrap_or_else(|| self.none_left()));
            }
            let draws = at.amps.iter().any(|amps| *amps > ON_ABOVE_A);
            if !draws || self.time_s >= LIMIT_S {
                return Ok(Ended::RunsOn);
            }
            let left_s = stage.until_s.min(LIMIT_S) - self.time_s;
            if left_s <= 0.0 {
                return Ok(Ended::RunsOn);
            }
            let (took_s, next) = self.step(stage, given, &at, step_s.min(left_s))?;
            self.time_s += took_s;
            if left_s - took_s < 1e-9 {
                self.time_s = self.time_s.max(stage.until_s.min(LIMIT_S));
            }
            step_s = (2.0 * took_s).clamp(SHORTEST_S, LONGEST_S);
            self.relays = next.relays.clone();
            at = next;
        }
        let title = &stage.state.title;
        Err(format!(
            "\"{title}\" changes too often to be followed to its end"
        ))
    }

    /// How a case ends in which no load runs.
    fn none_left(&self) -> Ended {
        match self.stops.iter().any(Option::is_some) {
            true => Ended::LoadsStopped,
            false => Ended::RunsOn,
        }
    }

    /// Stops what cannot go on, the furthest under its cut-off first; false if all can.
    fn stop_here(&mut self, at: &Solved) -> bool {
        let now = self.time_s;
        for &load in &at.collapsed {
            self.off[load] = true;
            self.running[load] = false;
            self.stops[load] = Some((now, Stop::SupplyCannotCarry));
        }
        if !at.collapsed.is_empty() {
            return true;
        }
        for load in 0..self.running.len() {
            if self.running[load] && at.load_a[load] <= ON_ABOVE_A {
                self.running[load] = false;
                self.stops[load] = Some((now, Stop::NoSupply));
            }
        }
        match self.worst(at, &self.used) {
            Some((margin, Event::Load(load))) if margin < 0.0 => {
                self.off[load] = true;
                self.running[load] = false;
                self.stops[load] = Some((now, Stop::CutOff));
                true
            }
            Some((margin, Event::Cell(cell, how))) if margin < 0.0 => {
                self.empty[cell] = Some(how);
                if self.empty.iter().all(Option::is_some) {
                    for load in 0..self.running.len() {
                        if std::mem::take(&mut self.running[load]) {
                            self.stops[load] = Some((now, Stop::Battery));
                        }
                    }
                }
                true
            }
            _ => false,
        }
    }

    /// What is nearest to its end, or furthest beyond it: by how much, as a part, and what.
    fn worst(&self, at: &Solved, used: &[f64]) -> Option<(f64, Event)> {
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

    /// One step of at most `most_s`, cut at the first event in it. Gives its length and what came of it.
    fn step(
        &mut self,
        stage: &Stage,
        given: &Overrides,
        at: &Solved,
        most_s: f64,
    ) -> Result<(f64, Solved), String> {
        let mut step_s = most_s;
        loop {
            let Some((next, used, error)) = self.try_step(stage, given, at, step_s)? else {
                if step_s > SHORTEST_S {
                    step_s = (step_s / 4.0).max(SHORTEST_S);
                    continue;
                }
                // A jump: go just beyond it.
                let used: Vec<f64> = sum(&self.used, &[(step_s, &at.rates)]);
                self.used = used;
                let next = self.solve(stage, given, &self.used.clone(), Loads::On)?;
                return Ok((step_s, next));
            };
            if error > TOLERANCE && step_s > SHORTEST_S {
                let shrink = 0.9 * (TOLERANCE / error).powf(0.2);
                step_s = (step_s * shrink.clamp(0.2, 0.9)).max(SHORTEST_S);
                continue;
            }
            if self
                .worst(&next, &used)
                .is_some_and(|(margin, _)| margin < 0.0)
                && step_s > EVENT_S
            {
                let part = self.event(stage, given, (at, &next), &used, step_s)?;
                if let Some((next, used, _)) = self.try_step(stage, given, at, part * step_s)? {
                    self.used = used;
                    return Ok((part * step_s, next));
                }
            }
            self.used = used;
            return Ok((step_s, next));
        }
    }

    /// Where in a step the first event falls, as a part of it: just beyond.
    fn event(
        &mut self,
        stage: &Stage,
        given: &Overrides,
        (at, next): (&Solved, &Solved),
        used: &[f64],
        step_s: f64,
    ) -> Result<f64, String> {
        let margin = |run: &Self, at: &Solved, used: &[f64]| {
            run.worst(at, used)
                .map_or(f64::INFINITY, |(margin, _)| margin)
        };
        let before = self.used.clone();
        let (mut low, mut high) = (0.0, 1.0);
        let mut low_m = margin(self, at, &before);
        let mut high_m = margin(self, next, used);
        let mut side = 0;
        for _ in 0..60 {
            if (high - low) * step_s <= EVENT_S {
                break;
            }
            // Regula falsi with the Illinois weights, kept off the ends, where it would creep.
            let guess = high - high_m * (high - low) / (high_m - low_m);
            let room = 0.25 * EVENT_S / step_s;
            let part = guess.clamp(low + room, high - room);
            let between: Vec<f64> = (0..before.len())
                .map(|cell| {
                    let rates = (at.rates[cell], next.rates[cell]);
                    hermite(part, step_s, (before[cell], used[cell]), rates)
                })
                .collect();
            let solved = self.solve(stage, given, &between, Loads::On)?;
            let found = match solved.collapsed.is_empty() && solved.relays == self.relays {
                true => margin(self, &solved, &between),
                false => -1.0,
            };
            if found < 0.0 {
                (high, high_m) = (part, found);
                if side == -1 {
                    low_m /= 2.0;
                }
                side = -1;
            } else {
                (low, low_m) = (part, found);
                if side == 1 {
                    high_m /= 2.0;
                }
                side = 1;
            }
        }
        Ok(high)
    }

    /// A step of this length: what is then used, the network there, and the error. None if a relay
    /// lets go or the supply gives way on the way.
    fn try_step(
        &mut self,
        stage: &Stage,
        given: &Overrides,
        at: &Solved,
        step_s: f64,
    ) -> Result<Option<(Solved, Vec<f64>, f64)>, String> {
        let mut rates: Vec<Vec<f64>> = vec![at.rates.clone()];
        let mut last = None;
        for row in &DORMAND_PRINCE {
            let parts: Vec<(f64, &Vec<f64>)> = (row.iter().zip(&rates))
                .map(|(weight, rates)| (weight * step_s, rates))
                .collect();
            let used = sum(&self.used, &parts);
            let solved = self.solve(stage, given, &used, Loads::On)?;
            if !solved.collapsed.is_empty() || solved.relays != self.relays {
                return Ok(None);
            }
            rates.push(solved.rates.clone());
            last = Some((solved, used));
        }
        let error = (0..self.used.len()).map(|cell| {
            let parts = ERROR.iter().zip(&rates);
            let sum: f64 = parts.map(|(weight, rates)| weight * rates[cell]).sum();
            (sum * step_s).abs()
        });
        let error = error.fold(0.0, f64::max);
        Ok(last.map(|(solved, used)| (solved, used, error)))
    }

    fn sample(&mut self, stage: &Stage, at: &mut Solved) {
        let Some(settled) = at.settled.take() else {
            return;
        };
        let point = (self.operator).point(&stage.id, Figures::Continuous, settled);
        let buses = self.buses.iter().map(|bus| point.node_volts(bus.node));
        self.curve.push(Sample {
            minutes: self.time_s / 60.0,
            batteries_v: at.post_v.clone(),
            used: self.used.iter().map(|used| used.clamp(0.0, 1.0)).collect(),
            // What only a dead part's leak holds is dead.
            buses_v: buses
                .map(|volts| volts.filter(|volts| *volts > crate::solve::LIVE_ABOVE_V))
                .collect(),
            amps: at.amps.iter().sum(),
        });
    }

    /// What stopped when: first to stop first.
    fn devices(&self) -> Vec<DeviceEnd> {
        let mut ends = Vec::new();
        for (load, (part, _)) in self.circuit.loads.iter().enumerate() {
            let (Some(start_a), EdgeOf::Element(device, element, _)) = (
                self.first_a[load],
                &self.circuit.netlist.graph[part.edge].of,
            ) else {
                continue;
            };
            let record = self.document.devices.get(device);
            let drawn = record.and_then(|it| Some((it, it.element(element)?)));
            let Some((record, drawn)) = drawn else {
                continue;
            };
            let (time_s, stop) = self.stops[load].unwrap_or((self.time_s, Stop::RunsOn));
            ends.push(DeviceEnd {
                device: device.clone(),
                element: element.clone(),
                label: record.element_label(drawn),
                title: record.title.clone(),
                minutes: time_s / 60.0,
                stop,
                start_a,
            });
        }
        ends.sort_by(|a, b| {
            let by_time = a.minutes.total_cmp(&b.minutes);
            by_time.then_with(|| natural_cmp(&a.label, &b.label))
        });
        ends
    }
}

/// What is used, with these rates over these times added.
fn sum(used: &[f64], parts: &[(f64, &Vec<f64>)]) -> Vec<f64> {
    let more = |cell: usize| parts.iter().map(|(s, rates)| s * rates[cell]).sum::<f64>();
    (0..used.len())
        .map(|cell| used[cell] + more(cell))
        .collect()
}

/// The cubic through both ends of a step with their slopes.
fn hermite(part: f64, step_s: f64, ends: (f64, f64), rates: (f64, f64)) -> f64 {
    let (s, rest) = (part, 1.0 - part);
    let ends = ends.0 * (1.0 + 2.0 * s) * rest * rest + ends.1 * (3.0 - 2.0 * s) * s * s;
    ends + step_s * s * rest * (rates.0 * rest - rates.1 * s)
}

/// Weights of the rates before it for each stage; the last is the fifth-order result.
const DORMAND_PRINCE: [&[f64]; 6] = [
    &[1.0 / 5.0],
    &[3.0 / 40.0, 9.0 / 40.0],
    &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
    &[
        19372.0 / 6561.0,
        -25360.0 / 2187.0,
        64448.0 / 6561.0,
        -212.0 / 729.0,
    ],
    &[
        9017.0 / 3168.0,
        -355.0 / 33.0,
        46732.0 / 5247.0,
        49.0 / 176.0,
        -5103.0 / 18656.0,
    ],
    &[
        35.0 / 384.0,
        0.0,
        500.0 / 1113.0,
        125.0 / 192.0,
        -2187.0 / 6784.0,
        11.0 / 84.0,
    ],
];

/// Weights of the difference to the embedded fourth-order result.
const ERROR: [f64; 7] = [
    71.0 / 57600.0,
    0.0,
    -71.0 / 16695.0,
    71.0 / 1920.0,
    -17253.0 / 339_200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];
