//! Effect of a wire shorted to structure: which protector opens first, which loads are lost, and
//! whether the wire survives until then.
//!
//! The current is solved with everything in its position before the short. Then the first protector
//! opens, the rest settles, and this repeats while the short is fed. Every wire is tried with the
//! short at either end, through its full length and close to its start, and the worst result
//! counts: a protector with a flat curve passes more current into a nearby short for the same time.
//! Protectors are judged by their latest opening time, wires by their time to the rating of their
//! insulation from [`start_c`].

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::failures::runs;
use crate::{
    document::{Document, ElementKind, End, Place, ProtectorStyle, State, Wire, WireEnd},
    ids::{StateId, WireId},
    netlist::{EdgeKind, EdgeOf, Netlist, Point, trace::Returns},
    order::Map,
    solve::{Circuit, LIVE_ABOVE_V, OperatingPoint, Overrides, Simulator, circuit::reference},
    standards::{
        conductor_heat::{bears_s, mm2_of_cmil, short_a2s},
        opening_time::{blade, thermal_s},
        wire_table,
    },
};

/// Resistance of a short, ohm (our own choice: a wire pressed on bare metal).
pub const SHORT_OHM: f64 = 0.005;
/// Temperature of a wire before the short, °C: the ambient temperature of published wire ratings
/// (AC 43.13-1B Table 11-9, note 1), or the project's if that is hotter.
pub fn start_c(document: &Document) -> f64 {
    document
        .project
        .ambient_c
        .map_or(START_C, |it| it.max(START_C))
}

const START_C: f64 = 70.0;

/// How long a wire survives a current, s: from [`start_c`] to the rating of its insulation. It carries the steady
/// current of AC 43.13-1B Table 11-9 indefinitely. `None` if its gauge or insulation is not known.
pub fn wire_bears_s(document: &Document, wire: &Wire, amps: f64) -> Option<f64> {
    let insulation_c = document.insulation_c(wire)?;
    let row = wire_table::find(wire.gauge_awg?)?;
    let start_c = start_c(document);
    if start_c >= insulation_c {
        return Some(0.0);
    }
    let a2s = short_a2s(mm2_of_cmil(row.circular_mil), start_c, insulation_c);
    Some(bears_s(a2s, row.amps(insulation_c)?, amps))
}

/// Assumed opening time at twice its rating of a breaker without a trip time, s: the slow end of
/// such breakers, from memory. No published table could be read.
pub const ASSUMED_TRIP_S: f64 = 60.0;
/// Multiple of its rating that a breaker carries indefinitely (assumed, as [`ASSUMED_TRIP_S`]).
pub const CARRIES: f64 = 1.25;
/// A short with less current counts as no longer fed, A.
const FED_A: f64 = 1.0;
/// Share of the short-circuit current above which a wire counts as on its path (our own choice).
const PART: f64 = 0.1;
/// Most protectors that open one after another for one short.
const MOST_OPENINGS: usize = 4;

/// A protector that a short opens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opens {
    /// The protector.
    pub edge: EdgeIndex,
    /// Its rating, A.
    pub rating_a: f64,
    /// Its current, A.
    pub amps: f64,
    /// Its latest opening time, s.
    pub latest_s: f64,
    /// True if its curve is assumed.
    pub assumed: bool,
}

/// Effect of one wire shorted to structure.
#[derive(Clone, Debug, PartialEq)]
pub struct Short {
    /// The wire.
    pub wire: WireId,
    /// The end with the short.
    pub end: WireEnd,
    /// Current in the wire, A.
    pub amps: f64,
    /// Protectors that open, in order.
    pub opens: Vec<Opens>,
    /// True if the short stays fed: no further protector opens.
    pub goes_on: bool,
    /// How long the wire survives the current, s; `None` if its insulation rating is not set.
    pub bears_s: Option<f64>,
    /// True if the wire survives the remaining current indefinitely once no further protector
    /// opens.
    pub bears_the_rest: bool,
    /// Loads that ran and stop.
    pub stops: Vec<EdgeIndex>,
    /// Loads that did not run and start.
    pub starts: Vec<EdgeIndex>,
    /// Wires on the current's path without a length: they count as very short, so the real current
    /// may be lower and last longer.
    pub unknown_lengths: Vec<WireId>,
    /// Breakers and fuses on the current's path without a rating: whether and when they open is not
    /// known, and so neither is what becomes of the wire and of the loads.
    pub unknown_ratings: Vec<EdgeIndex>,
    /// Why the figures are not reliable, if so.
    pub problem: Option<String>,
}

impl Short {
    /// True if the wire survives, false if it burns; `None` if unknown.
    pub fn survives(&self) -> Option<bool> {
        if self.problem.is_some() || !self.unknown_ratings.is_empty() {
            return None;
        }
        Some(self.strain()? < 1.0)
    }

    /// Time the wire must survive over the time it can: it burns at 1 and above.
    fn strain(&self) -> Option<f64> {
        let bears_s = self.bears_s?;
        if !self.bears_the_rest {
            return Some(f64::INFINITY);
        }
        // The opening times of successive protectors add up.
        let opened_s: f64 = self.opens.iter().map(|it| it.latest_s).sum();
        Some(opened_s / bears_s)
    }
}

/// The result of a short at one place.
#[derive(Clone, Debug)]
struct At {
    first: OperatingPoint,
    /// The current once no further protector opens, if the short is still fed.
    last: Option<OperatingPoint>,
    opens: Vec<Opens>,
    effects: Effects,
}

/// Loads that stop and loads that start.
#[derive(Clone, Debug, Default)]
struct Effects {
    stops: Vec<EdgeIndex>,
    starts: Vec<EdgeIndex>,
}

/// Shorts of every live wire in one state, one wire at a time, so that a person can stop it.
pub struct Shorts {
    document: Document,
    state: (StateId, State),
    simulator: Simulator,
    before: OperatingPoint,
    relays: crate::solve::simulator::Relays,
    /// By node of a live wire's end: the edge that is its short.
    by_node: Map<NodeIndex, EdgeIndex>,
    wires: Vec<WireId>,
    next: usize,
    known: Map<NodeIndex, At>,
    /// By open protectors: the result, solved once.
    opened: Map<Vec<EdgeIndex>, Effects>,
}

impl Shorts {
    /// Solves the state without a short, and lists its live wires.
    pub fn new(document: &Document, state: (&StateId, &State)) -> Self {
        let mut netlist = Netlist::new(document);
        let metal = reference(&netlist);
        let returns = Returns::new(&netlist);
        let mut shorts = Map::new();
        let ends: Vec<(WireId, [NodeIndex; 2])> = netlist
            .wires()
            .map(|(id, at)| (id.clone(), ends_of(document, &netlist, id, at.ends)))
            .collect();
        for (wire, ends) in &ends {
            for (&node, end) in ends.iter().zip([WireEnd::From, WireEnd::To]) {
                let metal = metal_at(document, &netlist, wire, end).or(metal);
                if let Some(metal) = metal
                    && !returns.has(node)
                    && !shorts.contains_key(&node)
                {
                    let short = EdgeKind::Switch {
                        made_in: 0,
                        made_at_rest: false,
                        ohm: SHORT_OHM,
                    };
                    let of = EdgeOf::Wire(wire.clone());
                    shorts.insert(node, netlist.add_edge(node, metal, of, short));
                }
            }
        }
        let mut simulator = Simulator::of(Circuit::of(document, netlist));
        let (before, relays) = simulator.running(state.0, state.1);
        let is_live = |node: &NodeIndex| {
            let volts = before.node_volts(*node);
            shorts.contains_key(node) && volts.is_some_and(|it| it.abs() > LIVE_ABOVE_V)
        };
        let live = ends.iter().filter(|(_, ends)| ends.iter().any(is_live));
        let wires = live.map(|(wire, _)| wire.clone()).collect();
        Self {
            document: document.clone(),
            state: (state.0.clone(), state.1.clone()),
            simulator,
            before,
            relays,
            by_node: shorts,
            wires,
            next: 0,
            known: Map::new(),
            opened: Map::new(),
        }
    }

    /// Number of wires, and number done.
    pub fn progress(&self) -> (usize, usize) {
        (self.wires.len(), self.next)
    }

    /// The document it is of.
    pub fn document(&self) -> &Document {
        &self.document
    }

    /// The point before any short.
    pub fn before(&self) -> &OperatingPoint {
        &self.before
    }

    fn of_wire(&mut self, wire: &WireId) -> Option<Short> {
        let netlist = self.before.netlist();
        let at = netlist.wire(wire)?;
        let ends = ends_of(&self.document, netlist, wire, at.ends);
        let mut worst: Option<Short> = None;
        for (node, end) in ends.into_iter().zip([WireEnd::From, WireEnd::To]) {
            let Some(&edge) = self.by_node.get(&node) else {
                continue;
            };
            self.look(node);
            for close in [false, true] {
                let short = self.short(wire, end, (at.edge, edge, node), close);
                let key = |it: &Short| (it.strain().unwrap_or(0.0), it.amps);
                if worst.as_ref().is_none_or(|worst| key(&short) > key(worst)) {
                    worst = Some(short);
                }
            }
        }
        worst
    }

    /// A short at one end of a wire: through the full wire, or, if `close`, through its first
    /// millimeters only, fed from everything else at that end.
    fn short(
        &self,
        wire: &WireId,
        end: WireEnd,
        (edge, short, node): (EdgeIndex, EdgeIndex, NodeIndex),
        close: bool,
    ) -> Short {
        let found = &self.known[&node];
        let in_wire = |point: &OperatingPoint| {
            let amps = |edge| point.edge_amps(edge).map_or(0.0, f64::abs);
            match close {
                true => (amps(short) - amps(edge)).max(0.0),
                false => amps(edge),
            }
        };
        let amps = in_wire(&found.first);
        let rest = found.last.as_ref().map(in_wire);
        let bears_s = |amps| {
            let wire = self.document.wires.get(wire)?;
            wire_bears_s(&self.document, wire, amps)
        };
        let bears_for_ever = |amps| bears_s(amps).is_some_and(f64::is_infinite);
        // A shorted supply that cannot also carry its loads does not make the figures unreliable.
        let problem = |point: &OperatingPoint| match point.margin {
            Some(_) => None,
            None => point.problem.clone(),
        };
        Short {
            wire: wire.clone(),
            end,
            amps,
            opens: found.opens.clone(),
            goes_on: rest.is_some(),
            bears_s: bears_s(amps),
            bears_the_rest: rest.is_none_or(bears_for_ever),
            stops: found.effects.stops.clone(),
            starts: found.effects.starts.clone(),
            unknown_lengths: unknown_lengths(&found.first, amps),
            unknown_ratings: unknown_ratings([Some(&found.first), found.last.as_ref()], amps),
            problem: (problem(&found.first)).or_else(|| problem(found.last.as_ref()?)),
        }
    }

    /// Solves a short at a node, if not done yet.
    fn look(&mut self, node: NodeIndex) {
        if self.known.contains_key(&node) {
            return;
        }
        let short = self.by_node[&node];
        let mut overrides = Overrides {
            closed: vec![(short, true)],
            ..Overrides::default()
        };
        let state = (&self.state.0, &self.state.1);
        let first = self.simulator.held(state, &self.relays, &overrides);
        let mut opens: Vec<Opens> = Vec::new();
        let mut now = first.clone();
        let mut goes_on = false;
        while now.edge_amps(short).is_some_and(|amps| amps.abs() > FED_A) {
            let next = self.first_to_open(&now, &overrides.failed);
            let Some(next) = next.filter(|_| opens.len() < MOST_OPENINGS) else {
                goes_on = true;
                break;
            };
            overrides.failed.push(next.edge);
            opens.push(next);
            now = self.simulator.held(state, &self.relays, &overrides);
        }
        let parted = !opens.is_empty() && !goes_on;
        let known = self.opened.get(&overrides.failed).filter(|_| parted);
        let effects = if let Some(known) = known {
            known.clone()
        } else {
            if parted {
                // The short is separated from every source and has no effect.
                overrides.closed.clear();
            }
            let after = self
                .simulator
                .after_failure(state, &self.relays, &overrides);
            let effects = effects(&self.before, &after);
            if parted {
                self.opened.insert(overrides.failed, effects.clone());
            }
            effects
        };
        let last = goes_on.then_some(now);
        self.known.insert(
            node,
            At {
                first,
                last,
                opens,
                effects,
            },
        );
    }

    /// The first protector to open at its present current.
    fn first_to_open(&self, now: &OperatingPoint, open: &[EdgeIndex]) -> Option<Opens> {
        let netlist = now.netlist();
        let mut first: Option<Opens> = None;
        for edge in netlist.graph.edge_indices() {
            let EdgeKind::Protector {
                rating_a: Some(rating_a),
                ..
            } = netlist.graph[edge].kind
            else {
                continue;
            };
            let amps = now.edge_amps(edge).map_or(0.0, f64::abs);
            if amps <= rating_a || open.contains(&edge) {
                continue;
            }
            let Some((latest_s, assumed)) = self.latest_s(netlist.of(edge), amps, rating_a) else {
                continue;
            };
            if first.is_none_or(|it| latest_s < it.latest_s) {
                first = Some(Opens {
                    edge,
                    rating_a,
                    amps,
                    latest_s,
                    assumed,
                });
            }
        }
        first
    }

    /// Latest opening time of a protector with a rating, A, at a current, s, and whether it is
    /// assumed; `None` if it may never open.
    fn latest_s(&self, of: &EdgeOf, amps: f64, rating_a: f64) -> Option<(f64, bool)> {
        let style = match of {
            EdgeOf::Element(device, element, _) => {
                let device = self.document.devices.get(device)?;
                match &device.element(element)?.is {
                    ElementKind::Protector(it) => Some((it.style, it.trip_s)),
                    _ => None,
                }
            }
            _ => None,
        };
        let (latest_s, assumed) = match style {
            // Fuses in wires are blade fuses (assumed).
            None | Some((ProtectorStyle::Fuse, None)) => {
                (blade(rating_a, amps / rating_a).latest_s, false)
            }
            Some((_, Some(trip_s))) => (thermal_s(trip_s, CARRIES, amps / rating_a)?, false),
            Some((_, None)) => (thermal_s(ASSUMED_TRIP_S, CARRIES, amps / rating_a)?, true),
        };
        latest_s.is_finite().then_some((latest_s, assumed))
    }
}

/// The ends of a wire where it can be shorted: where its fuse is, behind the fuse.
fn ends_of(
    document: &Document,
    netlist: &Netlist,
    id: &WireId,
    ends: [NodeIndex; 2],
) -> [NodeIndex; 2] {
    let fuse = document.wires.get(id).and_then(|wire| wire.fuse.as_ref());
    let behind = fuse.and_then(|_| netlist.node(&Point::InFuse(id.clone())));
    match (fuse.map(|fuse| fuse.at), behind) {
        (Some(WireEnd::From), Some(behind)) => [behind, ends[1]],
        (Some(WireEnd::To), Some(behind)) => [ends[0], behind],
        _ => ends,
    }
}

/// The metal that a wire touches at an end: that of the place of the device there.
fn metal_at(
    document: &Document,
    netlist: &Netlist,
    id: &WireId,
    end: WireEnd,
) -> Option<NodeIndex> {
    let wire = document.wires.get(id)?;
    let at = wire.end(end);
    let End::Terminal(device, _) = at else {
        return None;
    };
    let place = document.devices.get(device)?.place.as_ref()?;
    let is_metal = document.places.get(place).is_some_and(Place::is_metal);
    is_metal
        .then(|| netlist.node(&Point::Structure(place.clone())))
        .flatten()
}

impl Iterator for Shorts {
    type Item = Short;

    fn next(&mut self) -> Option<Short> {
        loop {
            let wire = self.wires.get(self.next)?.clone();
            self.next += 1;
            if let Some(short) = self.of_wire(&wire) {
                return Some(short);
            }
        }
    }
}

impl std::fmt::Debug for Shorts {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Shorts {} of {}", self.next, self.wires.len())
    }
}

fn effects(before: &OperatingPoint, after: &OperatingPoint) -> Effects {
    let mut effects = Effects::default();
    for (load, _) in before.netlist().loads() {
        match (runs(before, load), runs(after, load)) {
            (true, false) => effects.stops.push(load),
            (false, true) => effects.starts.push(load),
            _ => {}
        }
    }
    effects
}

/// Wires without a length or a gauge that carry a large share of the short-circuit current.
fn unknown_lengths(point: &OperatingPoint, amps: f64) -> Vec<WireId> {
    let netlist = point.netlist();
    let on_way = netlist.wires().filter(|(_, at)| {
        let kind = &netlist.graph[at.edge].kind;
        let unknown = kind.is_unknown_wire();
        unknown
            && point
                .edge_amps(at.edge)
                .is_some_and(|it| it.abs() > PART * amps)
    });
    on_way.map(|(id, _)| id.clone()).collect()
}

/// Breakers and fuses without a rating that carry a large share of the short-circuit current at one of these
/// points.
fn unknown_ratings(points: [Option<&OperatingPoint>; 2], amps: f64) -> Vec<EdgeIndex> {
    let mut all = Vec::new();
    for point in points.into_iter().flatten() {
        let netlist = point.netlist();
        all.extend(netlist.graph.edge_indices().filter(|edge| {
            let kind = &netlist.graph[*edge].kind;
            matches!(kind, EdgeKind::Protector { rating_a: None, .. })
                && (point.edge_amps(*edge)).is_some_and(|it| it.abs() > PART * amps)
        }));
    }
    all.sort_unstable();
    all.dedup();
    all
}

#[cfg(test)]
mod tests;
