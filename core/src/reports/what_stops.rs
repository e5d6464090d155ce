//! What stops if a part fails open: a line for each failure with an effect.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;
use serde_json::{Value, json};

use super::{Cell, Column, Table};
use crate::{
    analysis::failures::{Consequence, Failure, Review, Sign},
    document::{Document, End},
    netlist::EdgeOf,
    units::fixed,
};

/// A finished review: the phase, the loads that ran, and the effect of each failure.
#[derive(Clone, Debug, PartialEq)]
pub struct WhatStops {
    /// Title of the phase.
    pub state: String,
    /// Loads that ran before.
    pub running: Vec<String>,
    /// The failures with an effect, those that stop most loads first, then by label.
    pub lines: Vec<Line>,
    /// Failures that were tried.
    pub tried: usize,
}

/// One failure, in names.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Kind of record: "wire", "element", "splice", "connector", "ground", "bond".
    pub kind: &'static str,
    /// Its key: `DEVICE/ELEMENT`.
    pub id: String,
    /// Its label.
    pub label: String,
    /// Tags of the loads that stop.
    pub stops: Vec<String>,
    /// Tags of the loads that start.
    pub starts: Vec<String>,
    /// The instruments that show it: "EM1 J103-2 14.0 V to 0.0 V".
    pub shown_by: Vec<String>,
    /// Why the remaining circuit does not run as it should.
    pub problem: Option<String>,
}

impl Line {
    /// "wire P7A6", "FL2": parts of devices go without the word.
    fn name(&self) -> String {
        match self.kind {
            "element" => self.label.clone(),
            kind => format!("{kind} {}", self.label),
        }
    }
}

impl WhatStops {
    /// The result of a review, or only that of one record: the key of a wire, splice or device, or
    /// `DEVICE/ELEMENT`, or its label.
    pub fn of(review: &Review, found: &[Consequence], only: Option<&str>) -> Self {
        let document = review.document();
        let running = review.running();
        let netlist = review.before().netlist().clone();
        let name = |edge: &EdgeIndex| match netlist.of(*edge) {
            EdgeOf::Element(device, element, _) => {
                document.record_label("element", &format!("{device}/{element}"))
            }
            _ => String::new(),
        };
        let state = document.record_label("state", review.before().state.as_str());
        let mut lines = Vec::new();
        let mut tried = 0;
        for consequence in found {
            let (kind, id, label) = named(document, &consequence.failure);
            let is_wanted =
                |only: &str| only == id || only == label || id.split('/').next() == Some(only);
            if !only.is_none_or(is_wanted) {
                continue;
            }
            tried += 1;
            let Consequence {
                stops,
                starts,
                signs,
                problem,
                ..
            } = consequence;
            let is_silent = stops.is_empty() && starts.is_empty() && signs.is_empty();
            if is_silent && problem.is_none() && only.is_none() {
                continue;
            }
            lines.push(Line {
                kind,
                id,
                label,
                stops: stops.iter().map(name).collect(),
                starts: starts.iter().map(name).collect(),
                shown_by: signs.iter().map(|sign| shown(document, sign)).collect(),
                problem: problem.clone(),
            });
        }
        lines.order_by(|a, b| {
            (b.stops.len().cmp(&a.stops.len()))
                .then_with(|| crate::document::natural_cmp(&a.label, &b.label))
        });
        Self {
            state,
            running: running.iter().map(name).collect(),
            lines,
            tried,
        }
    }

    /// As rows.
    pub fn table(&self) -> Table {
        let column = |key, title| Column {
            key,
            title,
            unit: "",
        };
        let list = |names: &[String]| Cell::text(names.join(", "));
        let row = |line: &Line| {
            vec![
                Cell::text(line.name()),
                list(&line.stops),
                Cell::text((self.running.len() - line.stops.len()).to_string()),
                list(&line.starts),
                list(&line.shown_by),
                Cell::text(line.problem.clone().unwrap_or_default()),
            ]
        };
        let rows: Vec<Vec<Cell>> = self.lines.iter().map(row).collect();
        // Empty columns are left out.
        let is_used = |column: &usize| rows.iter().any(|row| row[*column] != Cell::Empty);
        let all = [
            column("fails", "Fails open"),
            column("stops", "Stops"),
            column("runs_on", "Keep running"),
            column("starts", "Starts"),
            column("shown_by", "Shown by"),
            column("problem", "Problem"),
        ];
        let used: Vec<usize> = (0..all.len()).filter(is_used).collect();
        let only = |row: &Vec<Cell>| used.iter().map(|at| row[*at].clone()).collect();
        Table {
            name: "what-stops",
            title: format!("What stops if a part fails open, in \"{}\"", self.state),
            grouped: false,
            columns: used.iter().map(|at| all[*at]).collect(),
            rows: rows.iter().map(only).collect(),
        }
    }

    /// What was reviewed, in a sentence.
    pub fn heading(&self) -> String {
        format!(
            "What stops if a part fails open, in \"{}\": {} loads run; {} failures tried, {} of them have an \
             effect.",
            self.state,
            self.running.len(),
            self.tried,
            self.lines.len()
        )
    }

    /// As text, a paragraph for each failure.
    pub fn to_text(&self) -> String {
        let mut text = self.heading() + "\n";
        for line in &self.lines {
            text += &format!("\n{}\n", line.name());
            let mut say = |head: &str, names: &[String]| {
                if !names.is_empty() {
                    text += &format!("  {head}: {}\n", names.join(", "));
                }
            };
            say("stops", &line.stops);
            say("starts", &line.starts);
            say("shown by", &line.shown_by);
            say("problem", line.problem.as_slice());
            if line.stops.is_empty() {
                text += "  all loads keep running\n";
            }
        }
        text
    }

    /// For programs.
    pub fn to_json(&self) -> Value {
        let line = |line: &Line| {
            json!({"kind": line.kind, "id": line.id, "label": line.label, "stops": line.stops,
                   "starts": line.starts, "shown_by": line.shown_by, "problem": line.problem})
        };
        json!({"state": self.state, "running": self.running, "tried": self.tried,
               "failures": self.lines.iter().map(line).collect::<Vec<_>>()})
    }
}

/// Kind, key and label of what fails.
pub fn named(document: &Document, failure: &Failure) -> (&'static str, String, String) {
    let record = |kind: &'static str, id: String| {
        let label = document.record_label(kind, &id);
        (kind, id, label)
    };
    let tag = |device: &str| document.record_label("device", device);
    match failure {
        Failure::Element(device, element) => record("element", format!("{device}/{element}")),
        Failure::Wire(wire) => record("wire", wire.to_string()),
        Failure::Splice(splice) => record("splice", splice.to_string()),
        Failure::Connector(device, connector) => {
            let label = (document.devices.get(device))
                .and_then(|it| it.connector(connector))
                .map_or(connector.as_str(), |it| it.label.as_str());
            let label = format!("{label} of {}", tag(device.as_str()));
            ("connector", format!("{device}/{connector}"), label)
        }
        Failure::Ground(device) => ("ground", device.to_string(), tag(device.as_str())),
        Failure::Bond(place) => {
            let label = document.record_label("place", place.as_str());
            ("bond", place.to_string(), format!("of {label}"))
        }
    }
}

fn shown(document: &Document, sign: &Sign) -> String {
    let end = End::Terminal(sign.device.clone(), sign.terminal.clone());
    let volts = |volts: Option<f64>| volts.map_or("open".into(), |v| format!("{} V", fixed(v, 1)));
    format!(
        "{} {} to {}",
        document.end_label(&end),
        volts(sign.before_v),
        volts(sign.after_v)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{analysis::failures::usual_state, testing::document};

    #[test]
    fn lists_what_a_broken_return_stops_and_omits_failures_without_effect() {
        let document = document(
            "battery BT1
             load LT1 1
             load LT2 1
             wire A BT1.+ LT1.+ 20 1m
             wire B LT1.- BT1.- 20 1m
             wire C BT1.+ LT2.+ 20 1m
             wire D LT2.- BT1.- 20 1m
             wire SPARE BT1.- LT2.- 20 1m
             state T",
        );
        let state = usual_state(&document).expect("a state");
        let mut review = Review::new(&document, state);
        let found: Vec<_> = review.by_ref().collect();
        let what = WhatStops::of(&review, &found, None);
        let lines: Vec<_> = (what.lines.iter())
            .map(|line| format!("{}: {}", line.name(), line.stops.join(", ")))
            .collect();
        assert_eq!(lines[0].split(':').next(), Some("BT1"), "{lines:?}");
        assert!(
            lines.iter().any(|line| line.starts_with("wire B: LT1")),
            "{lines:?}"
        );
        assert!(
            !lines.iter().any(|line| line.starts_with("wire D")),
            "{lines:?}"
        );
        assert_eq!(what.running.len(), 2);
        assert_eq!(what.table().rows.len(), what.lines.len());
        assert!(
            what.to_text().contains("wire A\n  stops: LT1"),
            "{}",
            what.to_text()
        );
        let one = WhatStops::of(&review, &found, Some("D"));
        assert!(one.to_text().contains("all loads keep running"));
    }
}
