//! Simulates one case over time.
//!
//! The used charge of each battery grows with its current, and the current follows from solving the
//! network with the batteries at that moment. `step` integrates this; this file handles the ends of
//! its steps: loads stop, the pilot sheds loads, the battery is empty.

use crate::order::InOrder;

use petgraph::graph::EdgeIndex;

use super::{
    case::{Case, DeviceEnd, Ended, Extent, Sample, Stage, Stop},
    cell::Cell,
    moment::{Event, ON_ABOVE_A, Run, SHORTEST_S, Solved},
    step::hermite,
};
use crate::{
    document::{AfterAlternator, ElementKind, LoadUse, State, natural_cmp},
    ids::StateId,
    netlist::EdgeOf,
    solve::{
        Simulator,
        simulator::Loads,
        states::{Figures, Overrides, load_amps, load_uses},
    },
};

/// Longest time between two points of a curve, s.
const SAMPLE_S: f64 = 600.0;
/// Longest simulated time, s: 100 h.
const LIMIT_S: f64 = 360_000.0;
/// Most steps and stops of one case; a real one needs a few dozen.
const MOST_STEPS: usize = 2_000;

/// The battery current of a state with batteries as drawn, A.
pub(super) fn battery_amps(simulator: &mut Simulator, cells: &[Cell], state: &State) -> f64 {
    let point = simulator.operate(
        &StateId::from(""),
        state,
        Figures::Continuous,
        &Overrides::default(),
    );
    let amps = cells.iter().filter_map(|cell| point.edge_amps(cell.edge));
    amps.sum()
}

impl Run<'_> {
    /// Simulates the stages; the error is a sentence if the network cannot be solved.
    pub(super) fn case(
        mut self,
        case: AfterAlternator,
        stages: &[Stage],
        is_marked: bool,
    ) -> Result<Case, String> {
        let usable_ah: f64 = self.cells.iter().map(|cell| cell.usable_ah).sum();
        let (mut plain_a, mut left_as, mut plain_s) = (0.0, usable_ah * 3600.0, 0.0);
        let mut ended = Ended::RunsOn;
        for (nth, stage) in stages.iter().enumerate() {
            let given = self.given(&stage.state);
            let at = self.begin(stage, &given)?;
            if nth == 0 {
                self.start_a = at.amps.iter().sum();
            }
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
        let devices = self.devices();
        let stop = devices
            .iter()
            .filter(|it| !matches!(it.stop, Stop::Shed | Stop::RunsOn));
        let first_stop_min = stop.map(|it| it.minutes).reduce(f64::min);
        Ok(Case {
            case,
            states: stages
                .iter()
                .map(|stage| stage.state.title.clone())
                .collect(),
            is_marked,
            plain_a,
            plain_min: plain_s.is_finite().then_some(plain_s / 60.0),
            start_a: self.start_a,
            minutes: (ended != Ended::RunsOn).then_some(self.time_s / 60.0),
            first_stop_min,
            ended,
            devices,
            curve: self.curve,
        })
    }

    /// The average current of loads with a duty cycle in a state, and the other overrides.
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
        let EdgeOf::Element(device, element, _) = self.circuit.netlist.of(edge) else {
            return None;
        };
        match &self.document.devices.get(device)?.element(element)?.is {
            ElementKind::Load(load) => load.duty,
            _ => None,
        }
    }

    /// Sets the switches of a stage: which loads run, and which the pilot has shed.
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

    /// Sum of the stated currents of running loads, A.
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

    /// Simulates a stage to its end; returns how the case would end here.
    fn follow(&mut self, stage: &Stage, given: &Overrides, begun: Solved) -> Result<Ended, String> {
        let mut at = begun;
        // A quarter of the time left at this current, or directly to the end of interest: the error
        // control shortens it.
        let fastest = at.rates.iter().fold(0.0, |a: f64, b| a.max(*b));
        let enough_s = self.enough_s();
        let mut step_s = match enough_s.is_finite() {
            true => LIMIT_S,
            false => (0.25 / fastest).clamp(SHORTEST_S, LIMIT_S),
        };
        for _ in 0..MOST_STEPS {
            let over = self.empty.iter().all(Option::is_some);
            if self.extent == Extent::Drawn && !over {
                self.sample(stage, &mut at);
            }
            if self.stop_here(&at) {
                at = self.solve(stage, given, &self.used.clone(), Loads::On)?;
                self.relays = at.relays.clone();
                continue;
            }
            if over || !self.running.contains(&true) {
                let ended = self.empty.iter().flatten().next_back().copied();
                return Ok(ended.filter(|_| over).unwrap_or_else(|| self.none_left()));
            }
            let draws = at.amps.iter().any(|amps| *amps > ON_ABOVE_A);
            if !draws || self.time_s >= LIMIT_S {
                return Ok(Ended::RunsOn);
            }
            if self.has_enough() {
                return Ok(Ended::RunsOn);
            }
            let left_s = stage.until_s.min(LIMIT_S).min(enough_s) - self.time_s;
            if left_s <= 0.0 {
                return Ok(Ended::RunsOn);
            }
            let before = self.used.clone();
            let (took_s, next) = self.step(stage, given, &at, step_s.min(left_s))?;
            self.between(stage, given, (&before, &at.rates), &next, took_s)?;
            self.time_s += took_s;
            if left_s - took_s < 1e-9 {
                self.time_s = self.time_s.max(stage.until_s.min(LIMIT_S));
            }
            step_s = (2.0 * took_s).clamp(SHORTEST_S, LIMIT_S);
            self.relays = next.relays.clone();
            at = next;
        }
        let title = &stage.state.title;
        Err(format!(
            "endurance in \"{title}\" not computed: relays or loads switch too often"
        ))
    }

    /// The end of interest, s.
    fn enough_s(&self) -> f64 {
        let target_min = self.document.project.target_min;
        let target_min = target_min.filter(|_| self.extent == Extent::Target);
        target_min.map_or(f64::INFINITY, |minutes| minutes * 60.0)
    }

    /// True if the wanted result is known.
    fn has_enough(&self) -> bool {
        let has_stopped = |stop: &Option<(f64, Stop)>| {
            stop.is_some_and(|(_, why)| !matches!(why, Stop::Shed | Stop::RunsOn))
        };
        self.extent == Extent::Target
            && (self.time_s >= self.enough_s() || self.stops.iter().any(has_stopped))
    }

    /// How a case without running loads ends.
    fn none_left(&self) -> Ended {
        match self.stops.iter().any(Option::is_some) {
            true => Ended::LoadsStopped,
            false => Ended::RunsOn,
        }
    }

    /// Stops loads that cannot continue, the furthest below its cut-off first; false if all can.
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

    /// Points of the curve within a long step.
    fn between(
        &mut self,
        stage: &Stage,
        given: &Overrides,
        (before, rates): (&[f64], &[f64]),
        next: &Solved,
        took_s: f64,
    ) -> Result<(), String> {
        if self.extent != Extent::Drawn {
            return Ok(());
        }
        let (start_s, after) = (self.time_s, self.used.clone());
        let points = (took_s / SAMPLE_S).ceil().min(60.0);
        for n in 1..points as usize {
            let part = n as f64 / points;
            self.used = (0..before.len())
                .map(|cell| {
                    let ends = (before[cell], after[cell]);
                    hermite(part, took_s, ends, (rates[cell], next.rates[cell]))
                })
                .collect();
            self.time_s = start_s + part * took_s;
            let mut at = self.solve(stage, given, &self.used.clone(), Loads::On)?;
            self.sample(stage, &mut at);
        }
        (self.time_s, self.used) = (start_s, after);
        Ok(())
    }

    fn sample(&mut self, stage: &Stage, at: &mut Solved) {
        let Some(settled) = at.settled.take() else {
            return;
        };
        let point = (self.simulator).point(&stage.id, Figures::Continuous, settled);
        let buses = self.buses.iter().map(|bus| point.node_volts(bus.node));
        self.curve.push(Sample {
            minutes: self.time_s / 60.0,
            batteries_v: at.post_v.clone(),
            used: self.used.iter().map(|used| used.clamp(0.0, 1.0)).collect(),
            // A bus held only by a leak is dead.
            buses_v: buses
                .map(|volts| volts.filter(|volts| *volts > crate::solve::LIVE_ABOVE_V))
                .collect(),
            amps: at.amps.iter().sum(),
        });
    }

    /// The loads in stop order.
    fn devices(&self) -> Vec<DeviceEnd> {
        let mut ends = Vec::new();
        for (load, (part, _)) in self.circuit.loads.iter().enumerate() {
            let (Some(start_a), EdgeOf::Element(device, element, _)) =
                (self.first_a[load], self.circuit.netlist.of(part.edge))
            else {
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
        ends.order_by(|a, b| {
            let by_time = a.minutes.total_cmp(&b.minutes);
            by_time.then_with(|| natural_cmp(&a.label, &b.label))
        });
        ends
    }
}
