//! What a wire shorted to structure does: a line for each live wire, those that burn listed first.

use crate::order::InOrder;
use petgraph::graph::EdgeIndex;
use serde_json::{Value, json};

use super::{Cell, Column, Table, edge_label};
use crate::{
    analysis::shorts::{ASSUMED_TRIP_S, Short, Shorts, start_c},
    document::natural_cmp,
};

/// A finished review of shorts.
#[derive(Clone, Debug, PartialEq)]
pub struct WhatShorts {
    /// Title of the state.
    pub state: String,
    /// Temperature of wires before the short, °C.
    pub start_c: f64,
    /// A line for each wire.
    pub lines: Vec<Line>,
}

/// One shorted wire, in names.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Key of the wire.
    pub id: String,
    /// Its number.
    pub label: String,
    /// The end that is shorted.
    pub at: String,
    /// Current in it, A.
    pub amps: f64,
    /// What opens, in order: "CB13 in 0.9 s".
    pub opens: Vec<String>,
    /// The first of them whose trip time is assumed.
    pub assumed: Option<String>,
    /// True if nothing disconnects the short from its source.
    pub goes_on: bool,
    /// How long the wire withstands the current, s.
    pub bears_s: Option<f64>,
    /// True if the wire survives; none if that is unknown.
    pub survives: Option<bool>,
    /// Tags of the loads that stop.
    pub stops: Vec<String>,
    /// Tags of the loads that start.
    pub starts: Vec<String>,
    /// Numbers of wires in the circuit without a length.
    pub unknown_lengths: Vec<String>,
    /// Breakers and fuses in the circuit without a rating: what they do is not known.
    pub unknown_ratings: Vec<String>,
    /// Why the figures are unreliable, if they are.
    pub problem: Option<String>,
}

impl Line {
    fn verdict(&self) -> String {
        let mut verdict = match (self.survives, &self.assumed) {
            (None, _) => match &self.problem {
                Some(problem) => format!("unknown: {problem}"),
                None if !self.unknown_ratings.is_empty() => format!(
                    "unknown, and so is what stops: rating of {} not set",
                    crate::rules::and_list(&self.unknown_ratings)
                ),
                None => "unknown: insulation temperature rating not set".into(),
            },
            (Some(true), _) if self.goes_on => {
                "wire survives: it carries the remaining current".into()
            }
            (Some(true), None) => "wire survives".into(),
            (Some(true), Some(slow)) => format!("wire survives if {slow} trips as fast as assumed"),
            (Some(false), _) if self.goes_on => "wire burns: nothing opens".into(),
            (Some(false), None) => "wire burns first".into(),
            (Some(false), Some(slow)) => {
                format!("wire may burn first: enter the trip time of {slow}")
            }
        };
        if !self.unknown_lengths.is_empty() {
            verdict += &format!(
                "; length of {} not set, taken as almost zero",
                crate::rules::and_list(&self.unknown_lengths)
            );
        }
        verdict
    }

    /// What is left once no further breaker or fuse is known to open.
    fn rest(&self) -> Option<&'static str> {
        match (self.goes_on, self.unknown_ratings.is_empty()) {
            (false, _) => None,
            (true, true) => Some("short stays fed"),
            (true, false) => Some("no further opening known"),
        }
    }

    /// Wires that burn are listed first, then those for which it is unknown.
    fn rank(&self) -> u8 {
        match (self.survives, self.goes_on) {
            (Some(false), true) => 0,
            (Some(false), false) => 1,
            (None, _) => 2,
            (Some(true), _) => 3,
        }
    }
}

fn seconds(seconds: f64) -> String {
    match seconds {
        s if s.is_infinite() => "indefinitely".into(),
        s if s < 0.1 => format!("{:.1} ms", s * 1000.0),
        s if s < 10.0 => format!("{s:.2} s"),
        s => format!("{s:.0} s"),
    }
}

impl WhatShorts {
    /// The result of a review, or only that of one wire, by key or number.
    pub fn of(review: &Shorts, found: &[Short], only: Option<&str>) -> Self {
        let document = review.document();
        let netlist = review.before().netlist();
        let name = |edge: &EdgeIndex| edge_label(document, netlist.of(*edge));
        let line = |short: &Short| Line {
            id: short.wire.to_string(),
            label: document.wire_label(&short.wire),
            at: (document.wires.get(&short.wire)).map_or(String::new(), |wire| {
                document.end_label(wire.end(short.end))
            }),
            amps: short.amps,
            opens: (short.opens.iter())
                .map(|it| format!("{} in {}", name(&it.edge), seconds(it.latest_s)))
                .collect(),
            assumed: (short.opens.iter())
                .find(|it| it.assumed)
                .map(|it| name(&it.edge)),
            goes_on: short.goes_on,
            bears_s: short.bears_s,
            survives: short.survives(),
            stops: short.stops.iter().map(name).collect(),
            starts: short.starts.iter().map(name).collect(),
            unknown_lengths: (short.unknown_lengths.iter())
                .map(|it| document.wire_label(it))
                .collect(),
            unknown_ratings: short.unknown_ratings.iter().map(name).collect(),
            problem: short.problem.clone(),
        };
        let lines = found.iter().map(line);
        let is_wanted = |line: &Line| only.is_none_or(|it| it == line.id || it == line.label);
        let mut lines: Vec<Line> = lines.filter(is_wanted).collect();
        lines.order_by(|a, b| {
            (a.rank().cmp(&b.rank())).then_with(|| natural_cmp(&a.label, &b.label))
        });
        Self {
            state: document.record_label("state", review.before().state.as_str()),
            start_c: start_c(document),
            lines,
        }
    }

    /// What was reviewed and what is assumed, in two sentences.
    pub fn heading(&self) -> String {
        let burn = self.lines.iter().filter(|it| it.survives == Some(false));
        format!(
            "Each live wire shorted to structure, in \"{}\": {} wires, {} of them may burn. Wires start at \
             {:.0} °C; a breaker or limiter without a trip time is assumed to need {ASSUMED_TRIP_S:.0} s at \
             twice its rating (enter its maker's figure).",
            self.state,
            self.lines.len(),
            burn.count(),
            self.start_c
        )
    }

    /// As rows.
    pub fn table(&self) -> Table {
        let column = |key, title, unit| Column { key, title, unit };
        let row = |line: &Line| {
            let mut opens = line.opens.clone();
            opens.extend(line.rest().map(str::to_owned));
            vec![
                Cell::text(line.label.clone()),
                Cell::text(line.at.clone()),
                Cell::text(format!("{:.0}", line.amps)),
                Cell::text(opens.join(", then ")),
                Cell::text(line.bears_s.map(seconds).unwrap_or_default()),
                Cell::text(line.verdict()),
                Cell::text(line.stops.join(", ")),
                Cell::text(line.starts.join(", ")),
            ]
        };
        Table {
            name: "what-shorts",
            title: format!(
                "What a wire shorted to structure does, in \"{}\"",
                self.state
            ),
            grouped: false,
            columns: vec![
                column("wire", "Wire", ""),
                column("at", "Short at", ""),
                column("amps", "Short current", "A"),
                column("opens", "Opens", ""),
                column("bears", "Wire withstands it", ""),
                column("verdict", "Result", ""),
                column("stops", "Stops", ""),
                column("starts", "Starts", ""),
            ],
            rows: self.lines.iter().map(row).collect(),
        }
    }

    /// As text, a paragraph for each wire.
    pub fn to_text(&self) -> String {
        let mut text = format!("\n{}\n", self.heading());
        for line in &self.lines {
            text += &format!(
                "\nwire {} shorted at {}: {:.0} A\n",
                line.label, line.at, line.amps
            );
            let opens = match line.opens.is_empty() {
                true => "nothing".to_owned(),
                false => line.opens.join(", then "),
            };
            let rest = line.rest().map_or(String::new(), |it| format!("; {it}"));
            text += &format!("  opens: {opens}{rest}\n");
            if let Some(bears_s) = line.bears_s {
                text += &format!("  wire withstands it: {}\n", seconds(bears_s));
            }
            text += &format!("  result: {}\n", line.verdict());
            for (word, loads) in [("stops", &line.stops), ("starts", &line.starts)] {
                if !loads.is_empty() {
                    text += &format!("  {word}: {}\n", loads.join(", "));
                }
            }
        }
        text
    }

    /// For programs.
    pub fn to_json(&self) -> Value {
        let line = |line: &Line| {
            json!({"wire": line.id, "label": line.label, "at": line.at, "amps": line.amps, "opens": line.opens,
                   "assumed": line.assumed, "goes_on": line.goes_on,
                   "bears_s": line.bears_s.filter(|it| it.is_finite()),
                   "survives": line.survives, "stops": line.stops, "starts": line.starts,
                   "unknown_lengths": line.unknown_lengths, "unknown_ratings": line.unknown_ratings,
                   "problem": line.problem})
        };
        Value::Array(self.lines.iter().map(line).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{analysis::failures::usual_state, testing::document};

    fn review(text: &str) -> WhatShorts {
        let document = document(text);
        let mut review = Shorts::new(&document, usual_state(&document).expect("a state"));
        let found: Vec<Short> = review.by_ref().collect();
        WhatShorts::of(&review, &found, None)
    }

    const TWO: &str = "
        place FRAME metal
        battery BT1 emf=12.8 ohm=0.01
        breaker CB1 5
        fuse F1 5
        load LA 2
        load LB 2
        load LC 2
        wire HA BT1.+ CB1.1 8 1m
        wire HB BT1.+ F1.1 8 1m rated=150
        wire WA CB1.2 LA.+ 22 1m rated=150
        wire WB F1.2 LB.+ 18 1m rated=150
        wire WC BT1.+ LC.+ 22 rated=150
        wire NA LA.- @FRAME
        wire NB LB.- @FRAME
        wire NC LC.- @FRAME
        wire G BT1.- @FRAME 2 0.1m
        state T
    ";

    #[test]
    fn each_wire_is_listed_with_its_end_what_opens_and_whether_it_survives() {
        let found = review(TWO);
        let line = |label: &str| {
            let line = found.lines.iter().find(|it| it.label == label);
            line.unwrap_or_else(|| panic!("no {label} in {found:?}"))
        };
        assert_eq!(line("WB").verdict(), "wire survives");
        assert_eq!(
            (line("WB").assumed.as_deref(), line("WB").stops.len()),
            (None, 1)
        );
        assert_eq!(line("WC").verdict(), "wire burns: nothing opens");
        assert!(line("HA").verdict().starts_with("unknown: insulation"));
        assert_eq!(line("WA").assumed.as_deref(), Some("CB1"));
        assert!(
            line("WA").verdict().contains("CB1"),
            "{}",
            line("WA").verdict()
        );
        let unknown = review(&TWO.replace("F1.1 8 1m", "F1.1 8"));
        let wb = unknown.lines.iter().find(|it| it.label == "WB");
        let verdict = wb.map(Line::verdict).unwrap_or_default();
        assert!(
            verdict.starts_with("wire survives; length of HB not set"),
            "{verdict}"
        );
        let unrated = review(&TWO.replace("breaker CB1 5", "breaker CB1 ?"));
        let wa = unrated.lines.iter().find(|it| it.label == "WA");
        assert_eq!(
            wa.map(Line::verdict).unwrap_or_default(),
            "unknown, and so is what stops: rating of CB1 not set"
        );
        // Wires that burn are listed first, those that survive last.
        let ranks: Vec<u8> = found.lines.iter().map(Line::rank).collect();
        assert!(ranks.is_sorted(), "{ranks:?}");
        let table = found.table();
        assert!(
            table
                .rows
                .iter()
                .all(|row| row.len() == table.columns.len())
        );
        assert!(
            found.to_text().contains("shorted at"),
            "{}",
            found.to_text()
        );
    }
}
