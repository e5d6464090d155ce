//! Load analysis: the load of each bus in each phase, as the stated total and as computed from the
//! network. The method is a load analysis in the manner of ASTM F2490 (only its scope was read, not
//! its formulas): continuous, intermittent and peak, by bus and by phase.

use crate::order::InOrder;
use std::sync::Arc;

use petgraph::graph::{EdgeIndex, NodeIndex};
use serde::Serialize;

use crate::{
    document::{
        BarUse, Document, Element, ElementKind, LoadLaw, LoadSort, LoadUse, Origin, natural_cmp,
    },
    ids::{DeviceId, ElementId, StateId},
    netlist::{AtNode, EdgeKind, EdgeOf, Netlist, trace::SUPPLY},
    order::Map,
    solve::{Figures, OperatingPoint, Overrides, Simulator, Ways, load_amps, states::load_uses},
};

/// Voltage for a coil's stated current, per volt of the system's nominal voltage: 13.8 V of 14 V,
/// as for most equipment figures (common practice, no source).
pub(super) const PLAIN_PER_NOMINAL: f64 = 13.8 / 14.0;

/// A load that takes less than this counts as off, A.
const ON_ABOVE_A: f64 = 1e-6;

/// A stated and a computed current.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Amps {
    /// Stated total, A.
    pub plain_a: f64,
    /// Computed at the loads' actual terminal voltages, A; nothing for a load that cannot run.
    pub solved_a: f64,
    /// The same with the stated figure of each load that cannot run: what a supply is judged by, A.
    pub asked_a: f64,
}

impl std::ops::AddAssign for Amps {
    fn add_assign(&mut self, other: Self) {
        self.plain_a += other.plain_a;
        self.solved_a += other.solved_a;
        self.asked_a += other.asked_a;
    }
}

impl Amps {
    /// True if some load that cannot run is in it with its stated figure.
    pub fn is_asked(&self) -> bool {
        self.asked_a > self.solved_a + ON_ABOVE_A
    }
}

/// Continuous, intermittent and peak currents.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Sums {
    /// Continuous current of the phase.
    pub continuous: Amps,
    /// The same, with every load that is on at its intermittent current.
    pub intermittent: Amps,
    /// The same, with every load that is on at its peak.
    pub peak: Amps,
    /// Part of the stated continuous total from estimated figures, A.
    pub estimated_a: f64,
}

impl Sums {
    /// Share of the stated continuous total from estimated figures, %; `None` if the total is zero.
    pub fn estimated_percent(&self) -> Option<f64> {
        let sum = self.continuous.plain_a;
        (sum > 0.0).then(|| 100.0 * self.estimated_a / sum)
    }

    fn add(&mut self, line: &LoadLine) {
        self.continuous += line.sums.continuous;
        self.intermittent += line.sums.intermittent;
        self.peak += line.sums.peak;
        self.estimated_a += line.sums.estimated_a;
    }
}

/// A load or coil that is on in a phase.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadLine {
    /// Its device.
    pub device: DeviceId,
    /// The element.
    pub element: ElementId,
    /// What a person calls it.
    pub label: Arc<str>,
    /// Title of its device.
    pub title: Arc<str>,
    /// Its bus, an index in [`LoadAnalysis::buses`]; `None` if it is on no bus.
    pub bus: Option<usize>,
    /// How its current depends on voltage; `None` for a coil, which is a resistance.
    pub law: Option<LoadLaw>,
    /// Its load type; `None` for a coil.
    pub sort: Option<LoadSort>,
    /// Source of the figure; `None` for a coil, whose resistance is set.
    pub origin: Option<Origin>,
    /// Voltage of the figure, V.
    pub at_v: f64,
    /// Voltage at its terminals with continuous figures, V.
    pub terminal_v: Option<f64>,
    /// Share of time at its intermittent current, if it has one: 0 to 1; `None` if nobody gave it.
    pub duty: Option<f64>,
    /// Its currents.
    pub sums: Sums,
    /// Why it cannot run, if so.
    pub dropped: Option<&'static str>,
}

/// A power bus.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Bus {
    /// Its device.
    pub device: DeviceId,
    /// What a person calls it.
    pub label: String,
    /// Title of its device.
    pub title: String,
    #[serde(skip)]
    pub(super) node: NodeIndex,
}

/// What one bus carries in one phase.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BusLoads {
    /// The bus, an index in [`LoadAnalysis::buses`]; `None` for loads on no bus.
    pub bus: Option<usize>,
    /// Its voltage with continuous figures, V.
    pub volts: Option<f64>,
    /// Its currents.
    pub sums: Sums,
}

/// One phase.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PhaseLoads {
    /// The state.
    pub state: StateId,
    /// Its name.
    pub title: String,
    /// Total capacity of the alternators that give current, A; `None` if none does.
    pub limit_a: Option<f64>,
    /// Alternators that the engine turns in this phase and that give nothing.
    pub give_nothing: Vec<DeviceId>,
    /// Alternator load, battery charging included, A.
    pub alternator_a: f64,
    /// Battery current, A; negative while charging.
    pub battery_a: f64,
    /// By bus, in the order of [`LoadAnalysis::buses`], then loads on no bus, if any.
    pub buses: Vec<BusLoads>,
    /// Total.
    pub total: Sums,
    /// Every load that is on, by label.
    pub loads: Vec<LoadLine>,
    /// Why the figures are not reliable, if so.
    pub problem: Option<String>,
}

impl PhaseLoads {
    /// Continuous current of all loads over alternator capacity, %; `None` without an alternator.
    pub fn percent(&self, amps: f64) -> Option<f64> {
        Some(100.0 * amps / self.limit_a?)
    }

    /// Spare current for charging, beyond the computed continuous loads, A.
    pub fn headroom_a(&self) -> Option<f64> {
        Some(self.limit_a? - self.total.continuous.asked_a)
    }
}

/// The load analysis of a document.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadAnalysis {
    /// Power buses, by label.
    pub buses: Vec<Bus>,
    /// Phases, in their order.
    pub phases: Vec<PhaseLoads>,
    /// Current to recharge all batteries in the set hours, A.
    pub recharge_a: Option<f64>,
}

/// Operating point for the figures of intermittent loads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// A point solved with all of them on.
    Solved,
    /// The state's own point, and totals only: for callers that need continuous currents. Loads
    /// then have no label, title or bus.
    AsItRuns,
}

/// The load analysis of a document.
pub fn load_analysis(document: &Document) -> LoadAnalysis {
    let mut simulator = Simulator::new(document);
    let points = simulator.all(document);
    LoadAnalysis::new(document, &mut simulator, &points, Work::Solved)
}

/// A load or coil of the circuit.
struct Part<'d> {
    edge: EdgeIndex,
    bus: Option<usize>,
    device: &'d DeviceId,
    element: &'d Element,
    label: Arc<str>,
    title: Arc<str>,
}

impl LoadAnalysis {
    /// From the operating points of every state, continuous and peak, from [`Simulator::all`].
    pub fn new(
        document: &Document,
        simulator: &mut Simulator,
        points: &[OperatingPoint],
        work: Work,
    ) -> Self {
        let circuit = Arc::clone(simulator.circuit());
        let ways = circuit.ways();
        let netlist = &circuit.netlist;
        let buses = match work {
            Work::Solved => buses(document, netlist),
            Work::AsItRuns => Vec::new(),
        };
        let parts = match work {
            Work::Solved => parts(document, netlist, ways, &buses),
            Work::AsItRuns => bare_parts(document, netlist),
        };
        let mut phases = Vec::new();
        for pair in points.chunks_exact(2) {
            let Some(state) = document.states.get(&pair[0].state) else {
                continue;
            };
            let working = Overrides {
                loads: working(netlist, state, &parts),
                ..Overrides::default()
            };
            let at_work = (work == Work::Solved && !working.loads.is_empty())
                .then(|| simulator.operate(&pair[0].state, state, Figures::Continuous, &working));
            let phase = Phase {
                plain_v: document.project.nominal_v * PLAIN_PER_NOMINAL,
                state,
                point: &pair[0],
                at_work: at_work.as_ref().unwrap_or(&pair[0]),
                at_peak: &pair[1],
                uses: load_uses(netlist, state, &Overrides::default()),
            };
            phases.push(phase.loads(&parts, &buses));
        }
        let capacity_ah: f64 = (document.devices.values())
            .flat_map(|device| &device.elements)
            .filter_map(|element| match &element.is {
                ElementKind::Battery(battery) => battery.capacity_ah,
                _ => None,
            })
            .sum();
        let hours = document.project.recharge_h;
        Self {
            buses,
            phases,
            recharge_a: hours
                .filter(|_| capacity_ah > 0.0)
                .map(|hours| capacity_ah / hours),
        }
    }
}

/// Power buses, in natural order of their labels.
pub(super) fn buses(document: &Document, netlist: &Netlist) -> Vec<Bus> {
    let mut buses = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            let ElementKind::Bar(bar) = &element.is else {
                continue;
            };
            let node = bar
                .terminals
                .first()
                .and_then(|it| netlist.terminal(id, it));
            if let (BarUse::Bus, Some(node)) = (bar.used_as, node) {
                buses.push(Bus {
                    device: id.clone(),
                    label: device.element_label(element),
                    title: device.title.clone(),
                    node,
                });
            }
        }
    }
    buses.order_by(|a, b| natural_cmp(&a.label, &b.label).then_with(|| a.device.cmp(&b.device)));
    buses
}

/// The label of the power bus of a load or coil.
pub fn bus_of(
    document: &Document,
    netlist: &Netlist,
    ways: &Ways,
    edge: EdgeIndex,
) -> Option<String> {
    let mut buses = buses(document, netlist);
    let bus = BusFinder::new(document, netlist, ways, &buses).of(edge)?;
    Some(buses.swap_remove(bus).label)
}

/// Loads and coils, in natural order of their labels, each with its bus.
fn parts<'d>(
    document: &'d Document,
    netlist: &Netlist,
    ways: &Ways,
    buses: &[Bus],
) -> Vec<Part<'d>> {
    let on_bus = BusFinder::new(document, netlist, ways, buses);
    let mut parts = bare_parts(document, netlist);
    for part in &mut parts {
        part.bus = on_bus.of(part.edge);
        if let Some(device) = document.devices.get(part.device) {
            part.label = device.element_label(part.element).into();
            part.title = device.title.as_str().into();
        }
    }
    parts.order_by(|a, b| natural_cmp(&a.label, &b.label).then_with(|| a.edge.cmp(&b.edge)));
    parts
}

/// Loads and coils in edge order, without names and buses.
fn bare_parts<'d>(document: &'d Document, netlist: &Netlist) -> Vec<Part<'d>> {
    let nothing: Arc<str> = "".into();
    let mut parts = Vec::new();
    for (id, device) in &document.devices {
        for element in &device.elements {
            if !matches!(element.is, ElementKind::Load(_) | ElementKind::Coil(_)) {
                continue;
            }
            let Some(edge) = netlist.element_edge(id, &element.id) else {
                continue;
            };
            parts.push(Part {
                edge,
                bus: None,
                device: id,
                element,
                label: Arc::clone(&nothing),
                title: Arc::clone(&nothing),
            });
        }
    }
    parts
}

/// Finds the bus of a load.
struct BusFinder<'a> {
    netlist: &'a Netlist,
    ways: &'a Ways,
    at: Map<NodeIndex, usize>,
}

impl<'a> BusFinder<'a> {
    fn new(document: &Document, netlist: &'a Netlist, ways: &'a Ways, buses: &[Bus]) -> Self {
        let mut at = Map::new();
        for (index, bus) in buses.iter().enumerate() {
            let elements = document.devices.get(&bus.device).map(|it| &it.elements);
            for element in elements.into_iter().flatten() {
                let ElementKind::Bar(bar) = &element.is else {
                    continue;
                };
                let nodes: Vec<_> = (bar.terminals.iter())
                    .filter_map(|it| netlist.terminal(&bus.device, it))
                    .collect();
                if nodes.contains(&bus.node) {
                    at.extend(nodes.into_iter().map(|node| (node, index)));
                }
            }
        }
        Self { netlist, ways, at }
    }

    /// The last bus on the path from the nearest source. A contactor's coil not fed by a bus counts
    /// with the bus that its contact feeds: it is on whenever that bus is.
    fn of(&self, edge: EdgeIndex) -> Option<usize> {
        let mut way = self.ways.feeds.back_to_nearest(self.netlist, edge);
        let bus = way.find_map(|edge| {
            let (a, b) = self.netlist.ends(edge);
            self.at.get(&a).or_else(|| self.at.get(&b)).copied()
        });
        bus.or_else(|| self.beyond_contact(edge))
    }

    fn beyond_contact(&self, coil: EdgeIndex) -> Option<usize> {
        let netlist = self.netlist;
        let mine = |edge: EdgeIndex| {
            matches!(netlist.graph[edge].kind,
                EdgeKind::Contact { coil: Some(it), made_energised: true, .. } if it == coil)
        };
        let (a, b) = netlist.ends(coil);
        netlist
            .graph
            .edge_indices()
            .filter(|it| mine(*it))
            .find_map(|contact| {
                let (line, fed) = netlist.ends(contact);
                let fed = if [a, b].contains(&fed) { line } else { fed };
                let passes = |edge: EdgeIndex, forward| {
                    !mine(edge) && SUPPLY.passes(&netlist.graph[edge], forward)
                };
                let reach = netlist.reach_by([fed], passes, |node| {
                    AtNode::stop_if(self.at.contains_key(&node) || self.ways.returns.has(node))
                });
                reach
                    .nodes
                    .iter()
                    .find_map(|node| self.at.get(node))
                    .copied()
            })
    }
}

/// Every intermittent load that is on in a state, at its intermittent current.
fn working(
    netlist: &Netlist,
    state: &crate::document::State,
    parts: &[Part<'_>],
) -> Vec<(EdgeIndex, LoadUse)> {
    let uses = load_uses(netlist, state, &Overrides::default());
    let works = |part: &&Part<'_>| {
        netlist.load(part.edge).is_some_and(|load| {
            uses[part.edge.index()] == LoadUse::Continuous
                && load.continuous_a.is_some_and(|amps| amps > 0.0)
                && load.intermittent_a > load.continuous_a
        })
    };
    let works = parts.iter().filter(works);
    works
        .map(|part| (part.edge, LoadUse::Intermittent))
        .collect()
}

struct Phase<'a> {
    plain_v: f64,
    state: &'a crate::document::State,
    point: &'a OperatingPoint,
    at_work: &'a OperatingPoint,
    at_peak: &'a OperatingPoint,
    uses: Vec<LoadUse>,
}

impl Phase<'_> {
    fn loads(&self, parts: &[Part<'_>], buses: &[Bus]) -> PhaseLoads {
        let loads: Vec<LoadLine> = parts.iter().filter_map(|part| self.line(part)).collect();
        let mut total = Sums::default();
        let mut by_bus: Vec<BusLoads> = (0..buses.len())
            .map(|bus| BusLoads {
                bus: Some(bus),
                volts: self.point.node_volts(buses[bus].node),
                sums: Sums::default(),
            })
            .collect();
        let mut on_none = BusLoads {
            bus: None,
            volts: None,
            sums: Sums::default(),
        };
        for line in &loads {
            total.add(line);
            match line.bus {
                Some(bus) => by_bus[bus].sums.add(line),
                None => on_none.sums.add(line),
            }
        }
        if loads.iter().any(|line| line.bus.is_none()) {
            by_bus.push(on_none);
        }
        let netlist = self.point.netlist();
        let alternators = netlist.sources().filter_map(|edge| {
            let EdgeKind::Alternator { limit_a, .. } = netlist.graph[edge].kind else {
                return None;
            };
            Some((edge, limit_a))
        });
        let (giving, idle): (Vec<_>, Vec<_>) =
            alternators.partition(|(edge, _)| self.point.gives(*edge));
        let idle = idle.iter().filter(|_| self.state.alternators_on);
        let devices = idle.filter_map(|(edge, _)| match netlist.of(*edge) {
            EdgeOf::Element(device, ..) => Some(device.clone()),
            _ => None,
        });
        let given = |is_battery: bool| -> f64 {
            let sources = netlist.sources().filter(|edge| {
                matches!(netlist.graph[*edge].kind, EdgeKind::Battery { .. }) == is_battery
            });
            sources.filter_map(|edge| self.point.edge_amps(edge)).sum()
        };
        PhaseLoads {
            state: self.point.state.clone(),
            title: self.state.title.clone(),
            limit_a: giving.into_iter().map(|it| it.1).reduce(|a, b| a + b),
            give_nothing: devices.collect(),
            alternator_a: given(false),
            battery_a: given(true),
            buses: by_bus,
            total,
            loads,
            problem: self.point.problem.clone(),
        }
    }

    /// A load or coil, if it is on.
    fn line(&self, part: &Part<'_>) -> Option<LoadLine> {
        let solved = |point: &OperatingPoint| point.edge_amps(part.edge).unwrap_or(0.0).abs();
        let mut line = LoadLine {
            device: part.device.clone(),
            element: part.element.id.clone(),
            label: Arc::clone(&part.label),
            title: Arc::clone(&part.title),
            bus: part.bus,
            law: None,
            sort: None,
            origin: None,
            at_v: self.plain_v,
            terminal_v: self.point.across_v(part.edge).map(f64::abs),
            duty: None,
            sums: Sums::default(),
            dropped: None,
        };
        let both = |plain_a, point: &OperatingPoint| Amps {
            plain_a,
            solved_a: solved(point),
            asked_a: match point.cannot_run(part.edge) {
                true => plain_a,
                false => solved(point),
            },
        };
        let netlist = self.point.netlist();
        match (&part.element.is, netlist.graph[part.edge].kind) {
            (ElementKind::Load(drawn), EdgeKind::Load) => {
                let load = netlist.load(part.edge)?;
                let used = self.uses[part.edge.index()];
                let now_a = load_amps(load, used, Figures::Continuous);
                let dropped = self.point.dropped.iter().find(|it| it.edge == part.edge);
                if now_a <= 0.0 || (solved(self.point) <= ON_ABOVE_A && dropped.is_none()) {
                    return None;
                }
                let work_a = now_a.max(load.intermittent_a.unwrap_or(0.0));
                let peak_a = load_amps(load, used, Figures::Peak);
                (line.law, line.sort) = (Some(load.law), Some(drawn.sort));
                line.at_v = load.at_v;
                line.duty = drawn.duty;
                line.dropped = dropped.map(|it| it.reason.words());
                line.sums.intermittent = both(work_a, self.at_work);
                line.sums.peak = both(peak_a, self.at_peak);
                let figure = match used {
                    LoadUse::Continuous => &drawn.continuous_a,
                    _ => drawn
                        .intermittent_a
                        .as_ref()
                        .map_or(&drawn.peak_a, |_| &drawn.intermittent_a),
                };
                line.origin = figure.as_ref().map(|figure| figure.origin);
                if used == LoadUse::Continuous {
                    line.sums.continuous = both(now_a, self.point);
                    if line.origin == Some(Origin::Estimate) {
                        line.sums.estimated_a = now_a;
                    }
                }
            }
            (_, EdgeKind::Coil { ohm, .. }) if solved(self.point) > ON_ABOVE_A => {
                let plain_a = self.plain_v / ohm;
                line.sums.continuous = both(plain_a, self.point);
                line.sums.intermittent = both(plain_a, self.at_work);
                line.sums.peak = both(plain_a, self.at_peak);
            }
            _ => return None,
        }
        Some(line)
    }
}

#[cfg(test)]
mod tests;
