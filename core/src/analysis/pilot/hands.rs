//! What a pilot does with his hands: switches, units, breakers; and the circuit after each.

use std::sync::Arc;

use crate::{
    analysis::{
        endurance::{Case, Lasting, Stop},
        failures::runs,
        loads::Bus,
    },
    document::{Document, ElementKind, LoadUse, ProtectorStyle, Role, State},
    ids::StateId,
    netlist::EdgeOf,
    order::InOrder,
    solve::{Circuit, Figures, LIVE_ABOVE_V, OperatingPoint, Simulator, operate_all},
};

/// Currents that differ by less are the same, A.
const SAME_A: f64 = 0.005;

/// One movement. Keys name an element as `DEVICE/ELEMENT`.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Act {
    /// A switch goes to a position, by index.
    Switch(String, usize),
    /// A load is switched off at the unit.
    Off(String),
    /// A breaker is pulled.
    Pull(String),
}

impl Act {
    /// Does it.
    pub fn apply(&self, state: &mut State) {
        match self {
            Self::Switch(key, at) => {
                state.switches.insert(key.clone(), *at);
            }
            Self::Off(key) => {
                state.loads.insert(key.clone(), LoadUse::Off);
            }
            Self::Pull(key) => {
                if !state.pulled.contains(key) {
                    state.pulled.push(key.clone());
                }
            }
        }
    }
}

/// One step and the circuit after it, if the pilot does no more.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What is done; `None` in the first line: nothing.
    pub act: Option<Act>,
    /// Minutes until the batteries are empty or at their cut-off; `None` if loads run on or it cannot be computed.
    pub minutes: Option<f64>,
    /// True if the batteries last longer than is computed: 100 h.
    pub lasts_on: bool,
    /// What the batteries give just after it, A; `None` while an alternator turns.
    pub battery_a: Option<f64>,
    /// Loads that this step stops.
    pub lost: Vec<String>,
    /// Loads that this step starts.
    pub gained: Vec<String>,
    /// Loads that stop by themselves before the batteries' end, and after how many minutes.
    pub early: Vec<(String, f64)>,
    /// Loads that run after it.
    pub runs: Vec<String>,
    /// Labels of the power buses that are live after it.
    pub live: Vec<String>,
}

/// The hands, and the aircraft.
pub(super) struct Hands<'d> {
    pub document: &'d Document,
    simulator: Simulator,
    circuit: Arc<Circuit>,
    lasting: Lasting,
}

/// What runs in a state.
#[derive(Clone, Debug)]
pub(super) struct Solved {
    pub point: OperatingPoint,
    /// Loads that run, by key, with their current, A.
    pub runs: Vec<(String, f64)>,
}

impl Solved {
    pub fn keys(&self) -> Vec<String> {
        self.runs.iter().map(|it| it.0.clone()).collect()
    }

    pub fn has(&self, key: &str) -> bool {
        self.runs.iter().any(|it| it.0 == key)
    }

    fn amps(&self) -> f64 {
        self.runs.iter().map(|it| it.1).sum()
    }

    /// True if the same loads run at the same currents.
    pub fn is_same(&self, other: &Self) -> bool {
        let close =
            |(a, b): (&(String, f64), &(String, f64))| a.0 == b.0 && (a.1 - b.1).abs() < SAME_A;
        self.runs.len() == other.runs.len() && self.runs.iter().zip(&other.runs).all(close)
    }

    /// Fewer loads run than in another, or the same number at less current.
    pub fn is_less(&self, other: &Self) -> bool {
        match self.runs.len().cmp(&other.runs.len()) {
            std::cmp::Ordering::Equal => self.amps() < other.amps() - SAME_A,
            order => order.is_lt(),
        }
    }
}

impl<'d> Hands<'d> {
    pub fn new(document: &'d Document) -> Self {
        let mut simulator = Simulator::new(document);
        let lasting = Lasting::new(document, &mut simulator);
        Self {
            document,
            circuit: Arc::clone(simulator.circuit()),
            simulator,
            lasting,
        }
    }

    /// The aircraft's circuit.
    pub fn circuit(&self) -> Arc<Circuit> {
        Arc::clone(&self.circuit)
    }

    /// What keeps minutes from being computed.
    pub fn missing(&self) -> &[String] {
        &self.lasting.missing
    }

    /// The state in which the alternator stops: marked by the builder, else the one that draws the most.
    pub fn before(&self) -> Option<(StateId, State)> {
        self.lasting.nothing_done()
    }

    /// The state that the builder marked as that with essential loads only.
    pub fn essential(&self) -> Option<(StateId, State)> {
        self.lasting.essential_only()
    }

    /// Labels of the power buses, in the order of [`Sample::buses_v`](crate::analysis::endurance::Sample).
    pub fn buses(&self) -> Vec<String> {
        let buses = self.lasting.buses.iter();
        buses.map(|it| it.label.clone()).collect()
    }

    pub fn solve(&mut self, state: &State) -> Solved {
        let (point, _) = self.simulator.running(&"pilot".into(), state);
        let mut all = Vec::new();
        for (edge, _) in self.circuit.netlist.loads() {
            let EdgeOf::Element(device, element, _) = self.circuit.netlist.of(edge) else {
                continue;
            };
            if runs(&point, edge) {
                let amps = point.edge_amps(edge).unwrap_or(0.0).abs();
                all.push((format!("{device}/{element}"), amps));
            }
        }
        all.order_by(|a, b| a.0.cmp(&b.0));
        Solved { point, runs: all }
    }

    /// The step from one state to the next: `act` leads from `before` to `state`.
    pub fn step(&mut self, act: Option<Act>, before: &Solved, state: &State) -> Step {
        let after = self.solve(state);
        let case = self.lasts(state);
        let ends = |it: &Case| it.minutes.unwrap_or(f64::INFINITY);
        let early = case.as_ref().map_or(Vec::new(), |case| {
            let early = case.devices.iter().filter(|it| {
                !matches!(it.stop, Stop::Shed | Stop::RunsOn | Stop::Battery)
                    && it.minutes < ends(case)
            });
            early
                .map(|it| (format!("{}/{}", it.device, it.element), it.minutes))
                .collect()
        });
        let only = |a: &Solved, b: &Solved| a.keys().into_iter().filter(|it| !b.has(it)).collect();
        let netlist = &self.circuit.netlist;
        let amps = netlist
            .batteries()
            .filter_map(|it| after.point.edge_amps(it));
        Step {
            act,
            battery_a: (!state.alternators_on).then(|| amps.sum()),
            lasts_on: case.as_ref().is_some_and(|it| it.minutes.is_none()),
            minutes: case.and_then(|it| it.minutes),
            lost: only(before, &after),
            gained: only(&after, before),
            early,
            live: self.live_buses(&after.point),
            runs: after.keys(),
        }
    }

    /// How long the batteries last in a state; `None` if that cannot be computed.
    pub fn lasts(&mut self, state: &State) -> Option<Case> {
        self.lasting
            .of(self.document, &mut self.simulator, state)
            .ok()
    }

    fn live_buses(&self, point: &OperatingPoint) -> Vec<String> {
        let live = self.lasting.buses.iter().filter(|bus| {
            let volts = point.node_volts(bus.node);
            volts.is_some_and(|it| it.abs() > LIVE_ABOVE_V)
        });
        live.map(|it| it.label.clone()).collect()
    }

    /// The lowest volts of each power bus in any phase with alternators, at continuous figures.
    pub fn with_alternators(&self) -> Vec<Option<f64>> {
        let points = operate_all(self.document);
        let running = points.iter().filter(|point| {
            let state = self.document.states.get(&point.state);
            point.figures == Figures::Continuous && state.is_some_and(|it| it.alternators_on)
        });
        let lowest = |bus: &Bus| {
            let volts = running.clone().filter_map(|it| it.node_volts(bus.node));
            volts.reduce(f64::min)
        };
        self.lasting.buses.iter().map(lowest).collect()
    }

    /// Switches that a pilot may move: not those that ground a magneto, which would stop the engine.
    pub fn switches(&self) -> Vec<(String, usize, usize)> {
        let mut all = Vec::new();
        for (id, device) in &self.document.devices {
            if device.terminals.iter().any(|it| it.role == Role::PLead) {
                continue;
            }
            for element in &device.elements {
                if let ElementKind::Switch(it) = &element.is {
                    all.push((format!("{id}/{}", element.id), it.positions.len(), it.rest));
                }
            }
        }
        all
    }

    /// A switch where a state has it, as the movement that leads there.
    pub fn stands(&self, key: &str, state: &State) -> Option<Act> {
        let mut switches = self.switches().into_iter();
        let (key, _, rest) = switches.find(|it| it.0 == key)?;
        let at = state.position(&key, rest);
        Some(Act::Switch(key, at))
    }

    /// Every movement of one switch from where a state has it.
    pub fn moves(&self, state: &State) -> Vec<Act> {
        let mut all = Vec::new();
        for (key, positions, rest) in self.switches() {
            let now = state.position(&key, rest);
            for at in (0..positions).filter(|at| *at != now) {
                all.push(Act::Switch(key.clone(), at));
            }
        }
        all
    }

    /// Breakers, or every breaker and fuse that is no limiter, by key.
    pub fn protectors(&self, fuses_too: bool) -> Vec<String> {
        let mut all = Vec::new();
        for (id, device) in &self.document.devices {
            for element in &device.elements {
                let ElementKind::Protector(it) = &element.is else {
                    continue;
                };
                let is_wanted = match it.style {
                    ProtectorStyle::Breaker => true,
                    ProtectorStyle::Fuse => fuses_too,
                    ProtectorStyle::Limiter => false,
                };
                if is_wanted {
                    all.push(format!("{id}/{}", element.id));
                }
            }
        }
        all
    }

    /// True if a load can be switched off at the unit: some phase of the project has it off.
    pub fn has_own_switch(&self, load: &str) -> bool {
        let mut states = self.document.states.values();
        states.any(|state| state.loads.get(load) == Some(&LoadUse::Off))
    }

    /// True if this load, or its unit, must keep working.
    pub fn is_critical(&self, load: &str) -> bool {
        let found = self.document.element_at(load);
        found.is_some_and(|(_, device, _)| device.critical)
    }

    /// True if the load is the field of an alternator.
    pub fn is_field(&self, load: &str) -> bool {
        let found = self.document.element_at(load);
        found.is_some_and(|(_, device, _)| {
            let mut elements = device.elements.iter();
            elements.any(|it| matches!(it.is, ElementKind::Alternator(_)))
        })
    }
}
