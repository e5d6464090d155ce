//! What a wire shorted to structure does: a line for each live wire, those that burn first.

use petgraph::graph::EdgeIndex;
use serde_json::{Value, json};

use super::{Cell, Column, Table};
use crate::{
    document::natural_cmp,
    netlist::EdgeOf,
    order::sort_by,
    solve::shorts::{ASSUMED_TRIP_S, START_C, Short, Shorts},
};

/// A finished review of shorts.
#[derive(Clone, Debug, PartialEq)]
pub struct WhatShorts {
    /// Title of the state.
    pub state: String,
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
    /// Current in it, A.
    pub amps: f64,
    /// What opens, in order: "CB13 in 0.9 s".
    pub opens: Vec<String>,
    /// True if one of their curves is assumed.
    pub assumed: bool,
    /// True if nothing parts the short from its source.
    pub goes_on: bool,
    /// How long the wire bears the current, s.
    pub bears_s: Option<f64>,
    /// True if the wire is whole after it; none if that cannot be told.
    pub survives: Option<bool>,
    /// Tags of the loads that stop.
    pub stops: Vec<String>,
}

impl Line {
    fn verdict(&self) -> &'static str {
        match (self.survives, self.assumed) {
            (Some(true), _) if self.goes_on => "whole: it bears what stays",
            (Some(true), false) => "whole",
            (Some(true), true) => "whole, if the breaker is no slower than assumed",
            (Some(false), _) if self.goes_on => "burns: nothing opens",
            (Some(false), false) => "burns first",
            (Some(false), true) => "may burn first: enter the breaker's curve",
            (None, _) => "not known: the insulation's rating is missing",
        }
    }

    /// Wires that burn come first, then those of which it is not known.
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
        s if s.is_infinite() => "for ever".into(),
        s if s < 10.0 => format!("{s:.2} s"),
        s => format!("{s:.0} s"),
    }
}

impl WhatShorts {
    /// What a review found, or what it found of one wire: its key or its number.
    pub fn of(review: &Shorts, found: &[Short], only: Option<&str>) -> Self {
        let document = review.document();
        let netlist = review.before().netlist();
        let name = |edge: &EdgeIndex| match &netlist.graph[*edge].of {
            EdgeOf::Element(device, element, _) => {
                document.record_label("element", &format!("{device}/{element}"))
            }
            EdgeOf::InlineFuse(wire) => format!("the fuse in {}", document.wire_label(wire)),
            _ => String::new(),
        };
        let line = |short: &Short| Line {
            id: short.wire.to_string(),
            label: document.wire_label(&short.wire),
            amps: short.amps,
            opens: (short.opens.iter())
                .map(|it| format!("{} in {}", name(&it.edge), seconds(it.latest_s)))
                .collect(),
            assumed: short.opens.iter().any(|it| it.assumed),
            goes_on: short.goes_on,
            bears_s: short.bears_s,
            survives: short.survives(),
            stops: short.stops.iter().map(name).collect(),
        };
        let lines = found.iter().map(line);
        let is_wanted = |line: &Line| only.is_none_or(|it| it == line.id || it == line.label);
        let mut lines: Vec<Line> = lines.filter(is_wanted).collect();
        sort_by(&mut lines, |a: &Line, b: &Line| {
            (a.rank().cmp(&b.rank())).then_with(|| natural_cmp(&a.label, &b.label))
        });
        Self {
            state: document.record_label("state", review.before().state.as_str()),
            lines,
        }
    }

    /// What was looked at and what is assumed, in two sentences.
    pub fn heading(&self) -> String {
        let burn = self.lines.iter().filter(|it| it.survives == Some(false));
        format!(
            "What a short to structure does, in \"{}\": {} live wires, {} of them may burn. Wires start \
             at {START_C:.0} °C; a breaker without a figure of its own is taken to need {ASSUMED_TRIP_S:.0} \
             s at twice its rating (assumed: enter its maker's figure).",
            self.state,
            self.lines.len(),
            burn.count()
        )
    }

    /// As rows.
    pub fn table(&self) -> Table {
        let column = |key, title, unit| Column { key, title, unit };
        let row = |line: &Line| {
            let stays = if line.goes_on { "stays fed" } else { "" };
            let mut opens = line.opens.clone();
            opens.extend((!stays.is_empty()).then(|| stays.to_owned()));
            vec![
                Cell::text(line.label.clone()),
                Cell::text(format!("{:.0}", line.amps)),
                Cell::text(opens.join(", then ")),
                Cell::text(line.bears_s.map(seconds).unwrap_or_default()),
                Cell::text(line.verdict()),
                Cell::text(line.stops.join(", ")),
            ]
        };
        Table {
            name: "what-shorts",
            title: format!("What a short to structure does, in \"{}\"", self.state),
            columns: vec![
                column("wire", "Wire", ""),
                column("amps", "Carries", "A"),
                column("opens", "Opens", ""),
                column("bears", "Wire bears it", ""),
                column("verdict", "The wire", ""),
                column("stops", "Stops", ""),
            ],
            rows: self.lines.iter().map(row).collect(),
        }
    }

    /// In words, a line for each wire.
    pub fn to_text(&self) -> String {
        let mut text = format!("\n{}\n", self.heading());
        for line in &self.lines {
            text += &format!("\nwire {} shorted: {:.0} A\n", line.label, line.amps);
            let opens = match line.opens.is_empty() {
                true => "nothing".to_owned(),
                false => line.opens.join(", then "),
            };
            let stays = if line.goes_on {
                "; the short stays fed"
            } else {
                ""
            };
            text += &format!("  opens: {opens}{stays}\n");
            if let Some(bears_s) = line.bears_s {
                text += &format!(
                    "  wire: bears it {}; {}\n",
                    seconds(bears_s),
                    line.verdict()
                );
            } else {
                text += &format!("  wire: {}\n", line.verdict());
            }
            if !line.stops.is_empty() {
                text += &format!("  stops: {}\n", line.stops.join(", "));
            }
        }
        text
    }

    /// For programs.
    pub fn to_json(&self) -> Value {
        let line = |line: &Line| {
            json!({"wire": line.id, "label": line.label, "amps": line.amps, "opens": line.opens,
                   "assumed": line.assumed, "goes_on": line.goes_on,
                   "bears_s": line.bears_s.filter(|it| it.is_finite()),
                   "survives": line.survives, "stops": line.stops})
        };
        Value::Array(self.lines.iter().map(line).collect())
    }
}
