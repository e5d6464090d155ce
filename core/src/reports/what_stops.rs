//! What stops if a part fails open, and what stays on if a contact or diode fails closed: a line for each failure with
//! an effect.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;
use serde_json::{Value, json};

use super::{Cell, Column, Table, harness::position};
use crate::{
    analysis::{
        failures::{BroughtBack, Consequence, Failure, Review, Sign},
        stays_on::{self, Closed, stays_on},
    },
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
    /// Contacts and diodes that fail closed, with an effect.
    pub stays_on: Vec<StaysOn>,
}

/// A contact or diode that fails closed, in names.
#[derive(Clone, Debug, PartialEq)]
pub struct StaysOn {
    /// Its key: `DEVICE/ELEMENT`.
    pub id: String,
    /// Its label.
    pub label: String,
    /// How it fails: "stays closed", "conducts both ways".
    pub how: &'static str,
    /// When: "with every switch at rest", "in \"Cruise\"".
    pub when: String,
    /// Tags of the loads that run then and should not.
    pub loads: Vec<String>,
    /// Why the circuit then does not run as it should.
    pub problem: Option<String>,
}

impl StaysOn {
    fn of(document: &Document, found: stays_on::StaysOn) -> Self {
        let label = |(device, element): &(_, _)| {
            document.record_label("element", &format!("{device}/{element}"))
        };
        let (device, element) = &found.part;
        Self {
            id: format!("{device}/{element}"),
            label: label(&found.part),
            how: match found.closed {
                Closed::Contact => "stays closed",
                Closed::Diode => "conducts both ways",
            },
            when: match &found.state {
                None => "with every switch at rest".into(),
                Some(id) => format!("in \"{}\"", document.record_label("state", id.as_str())),
            },
            loads: found.loads.iter().map(label).collect(),
            problem: found.problem,
        }
    }

    /// "K1 stays closed".
    fn name(&self) -> String {
        format!("{} {}", self.label, self.how)
    }

    /// "with every switch at rest FD1, COM1 also run".
    fn effect(&self) -> String {
        let run = match &self.loads[..] {
            [] => "no other load runs".into(),
            [one] => format!("{one} also runs"),
            several => format!("{} also run", several.join(", ")),
        };
        format!("{} {run}", self.when)
    }
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
    /// Switch movements that bring back what stops: "S2: ON", "S2: ON (COM1, FD1)" if only some of it.
    pub brought_back: Vec<String>,
    /// Why the remaining circuit does not run as it should.
    pub problem: Option<String>,
    /// What cannot be computed about what keeps running.
    pub unsure: Option<String>,
}

/// In a table: what [`Line::unsure`] says at length.
const ALONE: &str = "alternator alone";

/// What that means.
const WHAT_ALONE_MEANS: &str = "\u{201c}Alternator alone\u{201d}: computed with the alternator holding its voltage; \
    without a battery it may not hold it, or may shut down. Do not rely on what keeps running.";

impl Line {
    /// "wire P7A6", "FL2": parts of devices go without the word.
    fn name(&self) -> String {
        match self.kind {
            "element" => self.label.clone(),
            kind => format!("{kind} {}", self.label),
        }
    }
}

/// True if every record is wanted, or one that has this key, device or label.
fn is_wanted(only: Option<&str>, id: &str, label: &str) -> bool {
    only.is_none_or(|only| only == id || only == label || id.split('/').next() == Some(only))
}

impl WhatStops {
    /// The result of a review, or only that of one record: the key of a wire, splice or device, or
    /// `DEVICE/ELEMENT`, or its label.
    pub fn of(review: &Review, found: &[Consequence], only: Option<&str>) -> Self {
        let document = review.document();
        let closed = stays_on(document, review.state());
        let closed = closed.into_iter().map(|it| StaysOn::of(document, it));
        Self {
            stays_on: closed
                .filter(|it| is_wanted(only, &it.id, &it.label))
                .collect(),
            ..Self::opens(review, found, only)
        }
    }

    /// The same without what fails closed.
    pub fn opens(review: &Review, found: &[Consequence], only: Option<&str>) -> Self {
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
            if !is_wanted(only, &id, &label) {
                continue;
            }
            tried += 1;
            let Consequence {
                stops,
                starts,
                signs,
                problem,
                unsure,
                ..
            } = consequence;
            let is_silent = stops.is_empty() && starts.is_empty() && signs.is_empty();
            let is_sure = problem.is_none() && unsure.is_none();
            if is_silent && is_sure && only.is_none() {
                continue;
            }
            lines.push(Line {
                kind,
                id,
                label,
                stops: stops.iter().map(name).collect(),
                starts: starts.iter().map(name).collect(),
                shown_by: signs.iter().map(|sign| shown(document, sign)).collect(),
                brought_back: Vec::new(),
                problem: problem.clone(),
                unsure: unsure.clone(),
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
            stays_on: Vec::new(),
        }
    }

    /// Finds what brings back the loads of each line. It solves the project again for each switch that could.
    pub fn bring_back(&mut self, review: &mut Review, found: &[Consequence]) {
        for consequence in found {
            let document = review.document();
            let (kind, id, _) = named(document, &consequence.failure);
            let Some(at) = (self.lines.iter()).position(|it| it.kind == kind && it.id == id) else {
                continue;
            };
            let back = review.brought_back(consequence);
            let netlist = review.before().netlist().clone();
            let document = review.document();
            let stops = consequence.stops.len();
            let words = |it: &BroughtBack| {
                let key = format!("{}/{}", it.switch.0, it.switch.1);
                let moved = position(document, &key, it.position);
                if it.loads.len() == stops {
                    return moved;
                }
                let name = |edge: &EdgeIndex| match netlist.of(*edge) {
                    EdgeOf::Element(device, element, _) => {
                        document.record_label("element", &format!("{device}/{element}"))
                    }
                    _ => String::new(),
                };
                let loads: Vec<String> = it.loads.iter().map(name).collect();
                format!("{moved} ({})", loads.join(", "))
            };
            self.lines[at].brought_back = back.iter().map(words).collect();
        }
    }

    /// What the short words of the table mean; empty if it has none.
    pub fn legend(&self) -> &'static str {
        match self.lines.iter().any(|line| line.unsure.is_some()) {
            true => WHAT_ALONE_MEANS,
            false => "",
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
                Cell::text(line.brought_back.join("; ")),
                Cell::text((self.running.len() - line.stops.len()).to_string()),
                list(&line.starts),
                list(&line.shown_by),
                Cell::text(line.problem.clone().unwrap_or_default()),
                Cell::text(line.unsure.as_ref().map_or("", |_| ALONE)),
                Cell::Empty,
            ]
        };
        let closed = |it: &StaysOn| {
            let mut row = vec![Cell::Empty; 9];
            row[0] = Cell::text(it.name());
            row[6] = Cell::text(it.problem.clone().unwrap_or_default());
            row[8] = Cell::text(it.effect());
            row
        };
        let closed = self.stays_on.iter().map(closed);
        let rows: Vec<Vec<Cell>> = self.lines.iter().map(row).chain(closed).collect();
        // Empty columns are left out.
        let is_used = |column: &usize| rows.iter().any(|row| row[*column] != Cell::Empty);
        let all = [
            column("fails", "Fails open"),
            column("stops", "Stops"),
            column("brought_back", "Brought back by"),
            column("runs_on", "Keep running"),
            column("starts", "Starts"),
            column("shown_by", "Shown by"),
            column("problem", "Problem"),
            column("unsure", "Uncertain"),
            column("stays_on", "Stays on"),
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
        let closed = match self.stays_on.len() {
            0 => "",
            _ => " Contacts and diodes that fail closed and have an effect are listed last.",
        };
        format!(
            "What stops if a part fails open, in \"{}\": {} loads run; {} failures tried, {} of them have an \
             effect.{closed}",
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
            say("brought back by", &line.brought_back);
            say("starts", &line.starts);
            say("shown by", &line.shown_by);
            say("problem", line.problem.as_slice());
            if line.stops.is_empty() {
                text += match line.unsure {
                    None => "  all loads keep running\n",
                    Some(_) => "  computed: all loads keep running\n",
                };
            }
            if let Some(unsure) = &line.unsure {
                text += &format!("  uncertain: {unsure}\n");
            }
        }
        for closed in &self.stays_on {
            text += &format!("\n{}\n  stays on: {}\n", closed.name(), closed.effect());
            if let Some(problem) = &closed.problem {
                text += &format!("  problem: {problem}\n");
            }
        }
        text
    }

    /// For programs.
    pub fn to_json(&self) -> Value {
        let line = |line: &Line| {
            json!({"kind": line.kind, "id": line.id, "label": line.label, "stops": line.stops,
                   "brought_back": line.brought_back, "starts": line.starts, "shown_by": line.shown_by, "problem": line.problem,
                   "unsure": line.unsure})
        };
        let closed = |it: &StaysOn| {
            json!({"id": it.id, "label": it.label, "fails": it.how, "when": it.when, "loads": it.loads,
                   "problem": it.problem})
        };
        json!({"state": self.state, "running": self.running, "tried": self.tried,
               "failures": self.lines.iter().map(line).collect::<Vec<_>>(),
               "stays_on": self.stays_on.iter().map(closed).collect::<Vec<_>>()})
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
    fn a_lost_battery_is_uncertain_and_a_welded_contact_keeps_its_bus_on() {
        let document = document(
            "battery BT1
             alternator ALT1 40
             contactor K1 BAT LOAD COIL+ COIL-
             switch S1 1-2
             load FD1 5
             wire P BT1.+ K1.BAT 8 1m
             wire Q K1.LOAD FD1.+ 12 1m
             wire R ALT1.B FD1.+ 8 1m
             wire N FD1.- BT1.- 12 1m
             wire M ALT1.CASE BT1.- 8 1m
             wire C BT1.+ K1.COIL+ 20 1m
             wire D K1.COIL- S1.1 20 1m
             wire E S1.2 BT1.- 20 1m
             state T on=S1 running",
        );
        let state = usual_state(&document).expect("a state");
        let mut review = Review::new(&document, state);
        let found: Vec<_> = review.by_ref().collect();
        let what = WhatStops::of(&review, &found, None);
        let text = what.to_text();
        for says in [
            "BT1\n  computed: all loads keep running\n  uncertain: computed with ALT1 holding its voltage",
            "K1 stays closed\n  stays on: with every switch at rest FD1 also runs",
        ] {
            assert!(text.contains(says), "{text}");
        }
        let csv = what.table().to_csv();
        assert!(csv.contains("BT1,,1,alternator alone,"), "{csv}");
        assert!(csv.contains("K1 stays closed"), "{csv}");
        let json = what.to_json();
        assert_eq!(json["stays_on"][0]["loads"][0], "FD1");
        let battery = json["failures"].as_array().expect("a list").iter();
        let mut battery = battery.filter(|it| it["label"] == "BT1");
        assert!(battery.any(|it| it["unsure"].is_string()), "{json}");
        assert_eq!(WhatStops::of(&review, &found, Some("S1")).stays_on, []);
    }

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
