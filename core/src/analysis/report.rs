//! Operating points as plain data, by the labels that a person sees: the output of `loomwright
//! solve`.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::{
    document::{Document, End},
    netlist::EdgeOf,
    solve::{Figures, OperatingPoint, operate_all},
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
    /// Which load figures are used.
    pub figures: Figures,
    /// True if the supply carries every load.
    pub converged: bool,
    /// Why not, if so.
    pub problem: Option<String>,
    /// Share of the demanded power that the supply can carry, if not all.
    pub margin: Option<f64>,
    /// Volts of every terminal by name; null where no source holds a potential.
    pub terminals: BTreeMap<String, TerminalReport>,
    /// Amps of every wire by number, positive from its first to its second end.
    pub wires: BTreeMap<String, WireReport>,
    /// Loads that are supplied but cannot run.
    pub dropped: Vec<DroppedReport>,
}

/// Volts of a terminal.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TerminalReport {
    /// `DEVICE/TERMINAL`.
    pub id: String,
    /// Volts relative to the reference.
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
                let label = document.end_label(&end);
                put(
                    &mut terminals,
                    label,
                    &id.clone(),
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
            put(&mut wires, wire.number.clone(), id.as_str(), report);
        }
        let dropped = point.dropped.iter().filter_map(|dropped| {
            let EdgeOf::Element(device, element, _) = point.netlist().of(dropped.edge) else {
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
            title: title.unwrap_or_else(|| "At rest".into()),
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

/// Adds a report under its name; a duplicate name gets the id appended.
fn put<T>(reports: &mut BTreeMap<String, T>, name: String, id: &str, report: T) {
    let taken = reports.contains_key(&name);
    reports.insert(
        if taken {
            format!("{name} ({id})")
        } else {
            name
        },
        report,
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    #[test]
    fn a_report_names_terminals_and_wires_as_a_person_does() {
        let document = document(
            "battery BT1 emf=12
             load LT1 1 law=current
             unit COM1 J105-1
             wire A BT1.+ LT1.+ 20 1m number=L1A20
             wire B LT1.- BT1.- 20 1m number=L1A20
             wire C BT1.+ COM1.J105-1 20 1m
             state ON",
        );
        let report = solve_report(&document, Some("ON"));
        assert_eq!(report.states.len(), 2, "continuous and peak");
        let state = &report.states[0];
        assert!(state.converged && state.problem.is_none());
        let volts = state.terminals["COM1 J105-1"].volts.expect("live");
        assert!((volts - 11.99).abs() < 1e-6);
        assert_eq!(state.terminals["COM1 J105-1"].id, "COM1/J105-1");
        // Two wires with one number are both reported.
        assert_eq!(state.wires["L1A20"].id, "A");
        let second = state.wires["L1A20 (B)"].amps.expect("a wire");
        assert!((second - 1.0).abs() < 1e-6);
        assert_eq!(solve_report(&document, Some("OFF")).states, []);
        let json = serde_json::to_value(state).expect("plain data");
        assert_eq!(json["figures"], "continuous");
    }
}
