//! Low volts: what each bus shows with and without the alternator, what brings an alternator back that has switched
//! itself off, and how many minutes a reading leaves.

use super::{
    alternator_out::shed,
    hands::{Act, Hands},
};
use crate::{
    analysis::endurance::{Case, Stop},
    document::{Document, State},
    netlist::{
        EdgeOf,
        trace::{Feeds, Returns, SUPPLY},
    },
    order::InOrder,
};

/// Shares of the minutes at which a reading is listed.
const LEFT: [f64; 6] = [1.0, 0.75, 0.5, 0.25, 0.1, 0.0];

/// The card.
#[derive(Clone, Debug, PartialEq)]
pub struct LowVolts {
    /// Each power bus: its label, the lowest volts in any phase with alternators, and the volts just after they stop.
    pub buses: Vec<(String, Option<f64>, Option<f64>)>,
    /// Title of the phase in which they stop.
    pub phase: String,
    /// What switches the alternator off and on again.
    pub resets: Vec<Reset>,
    /// Labels of the bus that is read, and readings on it after the steps of the alternator-out card.
    pub bus: String,
    /// Readings, highest first.
    pub readings: Vec<Reading>,
    /// What could not be computed, and why.
    pub missing: Vec<String>,
}

/// How an alternator is reset: its field loses its supply, and nothing else does.
#[derive(Clone, Debug, PartialEq)]
pub struct Reset {
    /// The field, by key.
    pub field: String,
    /// Breakers and fuses between the sources and the field, by key, the last one first.
    pub protectors: Vec<String>,
    /// The switch and the position that takes the field's supply; `None` if no switch does that alone.
    pub off: Option<Act>,
    /// The same switch in its position before.
    pub on: Option<Act>,
}

/// What a reading means.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Volts of the bus.
    pub volts: f64,
    /// Minutes left.
    pub left_min: f64,
    /// Loads that have stopped by then, by key.
    pub stopped: Vec<String>,
}

/// The card of a document; `None` if it has no phase.
pub fn low_volts(document: &Document) -> Option<LowVolts> {
    let mut hands = Hands::new(document);
    let (_, before) = hands.before()?;
    let (_, shed) = shed(&mut hands)?;
    let mut card = LowVolts {
        buses: Vec::new(),
        phase: before.title.clone(),
        resets: resets(&mut hands, &before),
        bus: String::new(),
        readings: Vec::new(),
        missing: hands.missing().to_vec(),
    };
    let labels = hands.buses();
    let first = hands
        .lasts(&before)
        .and_then(|it| it.curve.first().cloned());
    let lowest = hands.with_alternators();
    for (at, label) in labels.iter().enumerate() {
        let stopped = first.as_ref().and_then(|it| it.buses_v[at]);
        card.buses.push((label.clone(), lowest[at], stopped));
    }
    if let Some(case) = hands.lasts(&shed) {
        readings(&mut card, &case, &labels);
    }
    Some(card)
}

fn resets(hands: &mut Hands<'_>, before: &State) -> Vec<Reset> {
    let running = State {
        alternators_on: true,
        ..before.clone()
    };
    let now = hands.solve(&running);
    let circuit = hands.circuit();
    let netlist = &circuit.netlist;
    let feeds = Feeds::new(netlist, &Returns::new(netlist), SUPPLY);
    let mut all = Vec::new();
    let mut fields = now.keys();
    fields.retain(|it| hands.is_field(it));
    for field in fields {
        let mut reset = Reset {
            protectors: Vec::new(),
            off: None,
            on: None,
            field: field.clone(),
        };
        let edge = field
            .split_once('/')
            .and_then(|(device, element)| netlist.element_edges(device, element).next());
        let of_edge = edge.map_or(Vec::new(), |edge| feeds.of_edge(netlist, edge).clone());
        let last = of_edge.iter().filter_map(|feed| feed.protectors.last());
        for edge in last {
            if let EdgeOf::Element(device, element, _) = netlist.of(*edge) {
                reset.protectors.push(format!("{device}/{element}"));
            }
        }
        reset.protectors.order();
        reset.protectors.dedup();
        for act in hands.moves(&running) {
            let mut next = running.clone();
            act.apply(&mut next);
            let after = hands.solve(&next);
            let others = now.runs.iter().filter(|it| it.0 != field);
            if !after.has(&field) && others.clone().all(|it| after.has(&it.0)) {
                let Act::Switch(key, _) = &act else { continue };
                reset.on = hands.stands(key, &running);
                reset.off = Some(act);
                break;
            }
        }
        all.push(reset);
    }
    all
}

fn readings(card: &mut LowVolts, case: &Case, labels: &[String]) {
    let (Some(minutes), Some(last)) = (case.minutes, case.curve.last()) else {
        return;
    };
    // The first bus that is live to the end.
    let Some(bus) = last.buses_v.iter().position(Option::is_some) else {
        return;
    };
    card.bus.clone_from(&labels[bus]);
    for part in LEFT {
        let at = minutes * (1.0 - part);
        let Some(volts) = along(case, bus, at) else {
            continue;
        };
        let stopped = case
            .devices
            .iter()
            .filter(|it| !matches!(it.stop, Stop::Shed | Stop::RunsOn) && it.minutes <= at + 1e-9);
        card.readings.push(Reading {
            volts,
            left_min: minutes - at,
            stopped: stopped
                .map(|it| format!("{}/{}", it.device, it.element))
                .collect(),
        });
    }
}

/// Volts of a bus after some minutes, between the points of the curve.
fn along(case: &Case, bus: usize, minutes: f64) -> Option<f64> {
    let of = |at: usize| {
        Some((
            case.curve.get(at)?.minutes,
            case.curve.get(at)?.buses_v[bus]?,
        ))
    };
    let after = case.curve.iter().position(|it| it.minutes >= minutes);
    let after = after.unwrap_or(case.curve.len() - 1);
    let (x1, y1) = of(after)?;
    let Some((x0, y0)) = after.checked_sub(1).and_then(of) else {
        return Some(y1);
    };
    match x1 > x0 {
        true => Some(y0 + (y1 - y0) * ((minutes - x0) / (x1 - x0)).clamp(0.0, 1.0)),
        false => Some(y1),
    }
}
