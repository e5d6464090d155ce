//! Operating points as plain data, by the names a person sees: what `loomwright solve` prints.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{
    operating::{OperatingPoint, operate_all},
    states::Figures,
};
use crate::{
    document::{Document, End},
    netlist::EdgeOf,
};

/// The operating points of a document.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SolveReport {
    /// One for each state and kind of figures.
    pub states: Vec<StateReport>,
}

/// One operating point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StateReport {
    /// Id of the state.
    pub state: String,
    /// Its name.
    pub title: String,
    /// Which figures of the loads count.
    pub figures: Figures,
    /// True if the supply carries every load.
    pub converged: bool,
    /// If not: why.
    pub problem: Option<String>,
    /// Part of the power asked for that the supply can carry, if not all.
    pub margin: Option<f64>,
    /// Volts of every terminal by name; null where nothing holds a potential.
    pub terminals: BTreeMap<String, TerminalReport>,
    /// Amps of every wire by number, positive from its first to its second end.
    pub wires: BTreeMap<String, WireReport>,
    /// Loads that have supply and cannot run.
    pub dropped: Vec<DroppedReport>,
}

/// Volts of a terminal.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TerminalReport {
    /// `DEVICE/TERMINAL`.
    pub id: String,
    /// Volts against the reference.
    pub volts: Option<f64>,
}

/// Amps of a wire.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WireReport {
    /// Its id.
    pub id: String,
    /// Amps.
    pub amps: Option<f64>,
}

/// A load that cannot run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DroppedReport {
    /// `DEVICE/ELEMENT`.
    pub id: String,
    /// Tag of the device.
    pub label: String,
    /// Why, in words.
    pub reason: &'static str,
}

/// Solves a document in all its states, or in the one with this id or name.
pub fn solve_report(document: &Document, only: Option<&str>) -> SolveReport {
    let points = operate_all(document);
    let wanted =
        |report: &StateReport| only.is_none_or(|only| report.state == only || report.title == only);
    let states = points.iter().map(|point| StateReport::new(document, point));
    SolveReport {
        states: states.filter(wanted).collect(),
    }
}

impl StateReport {
    /// An operating point of a document as plain data.
    pub fn new(document: &Document, point: &OperatingPoint) -> Self {
        let title = document
            .states
            .get(&point.state)
            .map(|state| state.title.clone());
        let mut terminals = BTreeMap::new();
        for (id, device) in &document.devices {
            for terminal in &device.terminals {
                let end = End::Terminal(id.clone(), terminal.id.clone());
                let id = format!("{id}/{}", terminal.id);
                let volts = point
                    .netlist()
                    .end_node(&end)
                    .and_then(|node| point.node_volts(node));
                put(
                    &mut terminals,
                    document.end_label(&end),
                    TerminalReport { id, volts },
                );
            }
        }
        let mut wires = BTreeMap::new();
        for (id, wire) in &document.wires {
            let report = WireReport {
                id: id.to_string(),
                amps: point.wire_amps(id),
            };
            put(&mut wires, wire.number.clone(), report);
        }
        let dropped = point.dropped.iter().filter_map(|dropped| {
            let EdgeOf::Element(device, element, _) = &point.netlist().graph[dropped.edge].of
            else {
                return None;
            };
            Some(DroppedReport {
                id: format!("{device}/{element}"),
                label: document
                    .devices
                    .get(device)
                    .map_or_else(String::new, |d| d.tag.clone()),
                reason: dropped.reason.words(),
            })
        });
        Self {
            state: point.state.to_string(),
            title: title.unwrap_or_else(|| "As it rests".into()),
            figures: point.figures,
            converged: point.converged,
            problem: point.problem.clone(),
            margin: point.margin,
            terminals,
            wires,
            dropped: dropped.collect(),
        }
    }
}

/// Puts a report under its name; a name used before gets the id beside it.
fn put<T: HasId>(reports: &mut BTreeMap<String, T>, name: String, report: T) {
    let name = match reports.contains_key(&name) {
        true => format!("{name} ({})", report.id()),
        false => name,
    };
    reports.insert(name, report);
}

trait HasId {
    fn id(&self) -> &str;
}

impl HasId for TerminalReport {
    fn id(&self) -> &str {
        &self.id
    }
}

impl HasId for WireReport {
    fn id(&self) -> &str {
        &self.id
    }
}
