//! Solves each line of the card, in order.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    card::{Live, Pin, Step, end},
    lines,
    pulled::Pulled,
};
use crate::{
    analysis::ring_out::unplugs,
    document::{BarUse, Document, End, LoadSort, LoadUse, State},
    ids::{DeviceId, StateId, WireId},
    netlist::{EdgeKind, EdgeOf, Netlist, Point, trace::Returns},
    order::{Map, Sorted},
    solve::{
        Figures, LIVE_ABOVE_V, OperatingPoint, Overrides, Simulator,
        states::{BatteryStands, load_amps},
    },
};

/// The supply's limit is the computed peak plus this share and [`SPARE_A`] (common practice, no source).
const SPARE_SHARE: f64 = 0.1;
/// See [`SPARE_SHARE`], A.
const SPARE_A: f64 = 0.1;

/// The assumed current of a voltmeter, A: more than a real one draws, and less than any unit. Enough to make a
/// diode in the path conduct.
const METER_A: f64 = 0.001;

/// The aircraft on the bench supply.
pub(super) struct Bench<'d> {
    document: &'d Document,
    simulator: Simulator,
    all: &'d [Pulled],
    lifted: &'d [(WireId, End, EdgeIndex)],
    /// Every load, and whether a connector disconnects it.
    loads: Vec<(EdgeIndex, bool)>,
    ground: Option<NodeIndex>,
}

impl<'d> Bench<'d> {
    pub(super) fn new(
        document: &'d Document,
        simulator: Simulator,
        all: &'d [Pulled],
        lifted: &'d [(WireId, End, EdgeIndex)],
    ) -> Self {
        let circuit = std::sync::Arc::clone(simulator.circuit());
        let netlist = &circuit.netlist;
        let loads = netlist.loads().map(|(load, _)| {
            let device = device_of(netlist, load).and_then(|id| document.devices.get(id));
            (load, device.is_some_and(unplugs))
        });
        let bars = netlist.bars();
        let minus = netlist.sources().map(|source| netlist.ends(source).1);
        let ground = (bars.filter(|it| it.1 == BarUse::Ground).map(|it| it.0)).chain(minus);
        Self {
            document,
            all,
            lifted,
            loads: loads.collect(),
            ground: ground.into_iter().next(),
            simulator,
        }
    }

    fn state(&self, close: &[usize], positions: &[(String, usize)]) -> State {
        let others = self.all.iter().enumerate();
        let others = others.filter(|(at, _)| !close.contains(at));
        State {
            switches: positions.iter().cloned().collect(),
            pulled: others
                .map(|(_, it)| format!("{}/{}", it.device, it.element))
                .collect(),
            ..State::default()
        }
    }

    /// The aircraft with every unit unplugged except those of some loads, which draw the given currents.
    fn solve(&mut self, state: &State, source: EdgeIndex, on: &On<'_>) -> OperatingPoint {
        let circuit = std::sync::Arc::clone(self.simulator.circuit());
        let netlist = &circuit.netlist;
        let working = |load| match netlist.load(load).and_then(|it| it.continuous_a) {
            Some(_) => LoadUse::Continuous,
            None => LoadUse::Intermittent,
        };
        let (mut uses, mut amps) = (Vec::new(), Vec::new());
        for &(load, unplugged) in &self.loads {
            let is_on = on.loads.contains(&load);
            let used = match on.used {
                Some(used) if is_on => used,
                None if is_on && unplugged => {
                    amps.push((load, METER_A));
                    LoadUse::Off
                }
                _ if unplugged => LoadUse::Off,
                _ => working(load),
            };
            uses.push((load, used));
        }
        let (_, batteries) = supply(netlist, source);
        let overrides = Overrides {
            loads: uses,
            amps,
            batteries,
            failed: self.lifted.iter().map(|it| it.2).collect(),
            ..Overrides::default()
        };
        let id = StateId::new("first power");
        self.simulator.operate(&id, state, on.figures, &overrides)
    }

    /// Every terminal that is live with nothing closed.
    pub(super) fn live(&mut self, master: &[(String, usize)], source: EdgeIndex) -> Vec<Live> {
        let rest = self.state(&[], &[]);
        let rest = self.solve(&rest, source, &On::UNPLUGGED);
        let always = self.live_at(&rest);
        let on = self.state(&[], master);
        let on = self.solve(&on, source, &On::UNPLUGGED);
        let live = self.live_at(&on).into_iter();
        live.map(|(at, volts)| Live {
            always: always.iter().any(|it| it.0 == at),
            at,
            volts,
        })
        .collect()
    }

    fn live_at(&self, point: &OperatingPoint) -> Vec<(End, f64)> {
        let netlist = point.netlist();
        let volts = self.meter(point);
        let mut live = Vec::new();
        for (id, device) in &self.document.devices {
            for terminal in &device.terminals {
                let volts = netlist.terminal(id, &terminal.id).and_then(&volts);
                if let Some(volts) = volts.filter(|it| it.abs() > LIVE_ABOVE_V) {
                    live.push((End::Terminal(id.clone(), terminal.id.clone()), volts));
                }
            }
        }
        live
    }

    /// One line, solved; none for an alternate feed of what is live without it.
    pub(super) fn step(
        &mut self,
        plan: &lines::Plan<'_>,
        live: &[Live],
        master: &[(String, usize)],
    ) -> Option<Step> {
        let circuit = std::sync::Arc::clone(self.simulator.circuit());
        let netlist = &circuit.netlist;
        let own = &self.all[plan.at];
        let mut close = vec![plan.at];
        for (at, it) in self.all.iter().enumerate() {
            if at != plan.at && plan.throws.protectors.contains(&it.edge) {
                close.push(at);
            }
        }
        let positions = lines::moved(self.document, &plan.throws);
        let state = self.state(&close, &positions);
        let loads: Vec<EdgeIndex> = (self.loads.iter().map(|it| it.0))
            .filter(|load| {
                let (a, b) = netlist.ends(*load);
                plan.down.has(a) || plan.down.has(b)
            })
            .collect();
        let on = On {
            loads: &loads,
            ..On::UNPLUGGED
        };
        if plan.is_alternate {
            let without = self.state(&close[1..], &positions);
            let without = self.solve(&without, plan.source, &on);
            if self.is_live(&without, plan.load_side) {
                return None;
            }
        }
        let bare = self.solve(&state, plan.source, &on);
        let moves = |it: &&(String, usize)| positions.iter().any(|moved| moved.0 == it.0);
        let at_rest: Vec<(String, usize)> = master.iter().filter(moves).cloned().collect();
        let rest = (at_rest != positions).then(|| {
            let state = self.state(&close, &at_rest);
            self.solve(&state, plan.source, &on)
        });
        let pins = self.pins(plan, &bare, rest.as_ref());
        let is_master_on = at_rest.len() == master.len() && !plan.is_alternate;
        let listed = live.iter().filter(|it| is_master_on || it.always);
        let listed: Vec<&End> = listed.map(|it| &it.at).collect();
        let live_too = self.live_too(plan, &bare, &listed);
        let cranks = self.cranks(&bare);
        let (amps, supply_limit_a, runs) = self.plugged(&state, plan, &loads);
        let closed = close.into_iter().map(|at| &self.all[at]);
        Some(Step {
            device: own.device.clone(),
            element: own.element.clone(),
            load_side: end(netlist, plan.load_side),
            close: closed
                .map(|it| (it.device.clone(), it.element.clone()))
                .collect(),
            positions,
            pins,
            amps,
            supply_at: end(netlist, netlist.ends(plan.source).0),
            supply_v: supply(netlist, plan.source).0,
            supply_limit_a,
            live_too,
            runs,
            cranks,
            upstream: plan.upstream,
            is_alternate: plan.is_alternate,
        })
    }

    fn is_live(&self, point: &OperatingPoint, node: NodeIndex) -> bool {
        let volts = self.meter(point);
        volts(node).is_some_and(|it| it.abs() > LIVE_ABOVE_V)
    }

    /// The pins of a line with the volts that a meter shows there, and with its switches at rest.
    fn pins(
        &self,
        plan: &lines::Plan<'_>,
        bare: &OperatingPoint,
        rest: Option<&OperatingPoint>,
    ) -> Vec<Pin> {
        let netlist = bare.netlist();
        let volts = self.meter(bare);
        let rest = rest.map(|it| self.meter(it));
        let between = |volts: &dyn Fn(NodeIndex) -> Option<f64>, plus, minus| {
            volts(plus).unwrap_or(0.0) - volts(minus).unwrap_or(0.0)
        };
        let pin = |(plus, minus): (NodeIndex, NodeIndex)| Pin {
            lead: end(netlist, plus),
            other: end(netlist, minus),
            volts: between(&volts, plus, minus),
            rest_v: rest.as_ref().map(|rest| between(rest, plus, minus)),
        };
        let leads = lines::leads(netlist, plan, self.ground);
        let mut pins: Vec<Pin> = leads.into_iter().map(pin).collect();
        // What is dead on this line is no pin of it, unless all are: then the line says so.
        if pins.iter().any(|pin| pin.volts.abs() > LIVE_ABOVE_V) {
            pins.retain(|pin| pin.volts.abs() > LIVE_ABOVE_V);
        }
        // An alternate feed must feed its own bus alone.
        let mut seen = Sorted::new();
        let buses = netlist.bars().filter(|it| it.1 == BarUse::Bus);
        for (node, _) in buses.filter(|_| plan.is_alternate) {
            let Point::Terminal(device, _) = netlist.point(node) else {
                continue;
            };
            let ground = self.ground.filter(|_| seen.insert(device));
            if let (Some(ground), false) = (ground, self.is_live(bare, node)) {
                pins.push(pin((node, ground)));
            }
        }
        pins
    }

    /// What else is live on a line: neither its own, nor listed.
    fn live_too(&self, plan: &lines::Plan<'_>, bare: &OperatingPoint, listed: &[&End]) -> Vec<End> {
        let netlist = bare.netlist();
        let live = self.live_at(bare).into_iter().map(|it| it.0);
        live.filter(|at| {
            let node = netlist.end_node(at);
            let is_own = !plan.is_alternate && node.is_some_and(|node| plan.down.has(node));
            !is_own && !listed.contains(&at)
        })
        .collect()
    }

    /// True if a lifted wire of a starter is live.
    fn cranks(&self, bare: &OperatingPoint) -> bool {
        let volts = self.meter(bare);
        self.lifted.iter().any(|(.., edge)| {
            let (a, b) = bare.netlist().ends(*edge);
            let mut volts = [a, b].into_iter().filter_map(&volts);
            volts.any(|it| it.abs() > LIVE_ABOVE_V)
        })
    }

    /// Volts of each node as a meter shows them.
    fn meter(&self, point: &OperatingPoint) -> impl Fn(NodeIndex) -> Option<f64> {
        let behind = behind_diodes(point, &self.simulator.circuit().ways().returns);
        move |node| behind.get(&node).copied().or(point.node_volts(node))
    }

    /// With the line's units plugged in: amperes through its breaker, the supply's limit, motors that run.
    fn plugged(
        &mut self,
        state: &State,
        plan: &lines::Plan<'_>,
        loads: &[EdgeIndex],
    ) -> ([Option<f64>; 2], Option<f64>, Vec<DeviceId>) {
        let circuit = std::sync::Arc::clone(self.simulator.circuit());
        let netlist = &circuit.netlist;
        let mut point = |figures| {
            let used = match figures {
                Figures::Continuous => LoadUse::Continuous,
                Figures::Peak => LoadUse::Peak,
            };
            self.solve(
                state,
                plan.source,
                &On {
                    loads,
                    used: Some(used),
                    figures,
                },
            )
        };
        let continuous = point(Figures::Continuous);
        // Most loads draw the same current all the time: one solution gives both figures.
        let figures = || loads.iter().filter_map(|it| netlist.load(*it));
        let is_steady = figures().all(|load| {
            let amps = |used, figures| load_amps(load, used, figures);
            amps(LoadUse::Peak, Figures::Peak) == amps(LoadUse::Continuous, Figures::Continuous)
        });
        let peak = match is_steady {
            true => continuous.clone(),
            false => point(Figures::Peak),
        };
        let known = figures().all(|load| {
            let given = load.continuous_a.or(load.intermittent_a).or(load.peak_a);
            given.is_some()
        });
        let own = &self.all[plan.at];
        let through = |point: &OperatingPoint| {
            let amps = point.element_amps(&own.device, &own.element).map(f64::abs);
            amps.filter(|_| known)
        };
        let supply_a = peak.edge_amps(plan.source).map(f64::abs);
        let limit_a = supply_a.filter(|it| known && it.is_finite()).map(|amps| {
            let most_a = amps * (1.0 + SPARE_SHARE) + SPARE_A;
            (most_a * 10.0).ceil() / 10.0
        });
        let motors = netlist.loads().filter(|(load, _)| {
            let is_motor = is_motor(self.document, netlist, *load);
            is_motor && peak.edge_amps(*load).is_some_and(|it| it.abs() > METER_A)
        });
        let runs = motors.filter_map(|(load, _)| device_of(netlist, load).cloned());
        (
            [through(&continuous), through(&peak)],
            limit_a,
            runs.collect(),
        )
    }
}

/// Volts that a meter shows where only a diode connects: no load there makes it conduct, but the meter does.
fn behind_diodes(point: &OperatingPoint, returns: &Returns) -> Map<NodeIndex, f64> {
    let netlist = point.netlist();
    let mut found: Map<NodeIndex, f64> = Map::new();
    let live = |found: &Map<NodeIndex, f64>, node: NodeIndex| {
        let volts = found.get(&node).copied().or(point.node_volts(node));
        volts.filter(|it| *it > LIVE_ABOVE_V)
    };
    let diodes: Vec<_> = (netlist.graph.edge_indices())
        .filter_map(|edge| match netlist.graph[edge].kind {
            EdgeKind::Diode { vf_v, .. } => Some((netlist.ends(edge), vf_v)),
            _ => None,
        })
        .collect();
    // Each round goes through one more diode in a row.
    for _ in 0..diodes.len() {
        for ((anode, cathode), vf_v) in &diodes {
            let Some(volts) = live(&found, *anode).map(|it| it - vf_v) else {
                continue;
            };
            let mut front = vec![*cathode];
            while let Some(node) = front.pop() {
                let held = point
                    .node_volts(node)
                    .is_some_and(|it| it.abs() > LIVE_ABOVE_V);
                if held || found.contains_key(&node) || returns.has(node) {
                    continue;
                }
                found.insert(node, volts);
                for edge in netlist.edges_at(node) {
                    let kind = &netlist.graph[edge].kind;
                    let joins = kind.is_metal()
                        || matches!(
                            kind,
                            EdgeKind::Protector { .. }
                                | EdgeKind::Switch { .. }
                                | EdgeKind::Contact { .. }
                        );
                    if joins && point.closed[edge.index()] {
                        front.push(netlist.other(edge, node));
                    }
                }
            }
        }
    }
    found
}

fn is_motor(document: &Document, netlist: &Netlist, load: EdgeIndex) -> bool {
    let crate::netlist::EdgeOf::Element(device, element, _) = netlist.of(load) else {
        return false;
    };
    let found = document
        .devices
        .get(device)
        .and_then(|it| it.element(element));
    found.is_some_and(|it| {
        matches!(&it.is, crate::document::ElementKind::Load(load) if load.sort == LoadSort::Motor)
    })
}

/// The currents of some loads.
struct On<'a> {
    loads: &'a [EdgeIndex],
    /// None if their units are unplugged and a meter is there.
    used: Option<LoadUse>,
    figures: Figures,
}

impl On<'_> {
    const UNPLUGGED: On<'static> = On {
        loads: &[],
        used: None,
        figures: Figures::Continuous,
    };
}

/// The device of an element's edge.
fn device_of(netlist: &Netlist, edge: EdgeIndex) -> Option<&DeviceId> {
    match netlist.of(edge) {
        EdgeOf::Element(device, ..) => Some(device),
        _ => None,
    }
}

/// The supply in place of one battery, every other battery disconnected.
fn supply(netlist: &Netlist, at: EdgeIndex) -> (f64, Vec<BatteryStands>) {
    let mut supply_v = 0.0;
    let stands = netlist.sources().filter_map(|edge| {
        let EdgeKind::Battery { emf_v, .. } = netlist.graph[edge].kind else {
            return None;
        };
        let emf_v = (emf_v * 10.0).round() / 10.0;
        if edge == at {
            supply_v = emf_v;
        }
        Some(BatteryStands {
            edge,
            emf_v,
            ohm: 0.0,
            empty: edge != at,
        })
    });
    let stands = stands.collect();
    (supply_v, stands)
}
