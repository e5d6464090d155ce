//! Measured values: ring-out and first power-up.

use serde::{Deserialize, Serialize};

use super::{
    End, Extra,
    invariants::{Check, FieldPath},
    kind::Kind,
    others::Others,
    parts::Bound,
};

/// One meter reading, or the tick of a completed test line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Reading {
    /// What was measured.
    pub test: Test,
    /// Point of the first meter lead.
    pub from: End,
    /// Point of the second lead; `open` for all other circuits, or for ground in a voltage reading.
    pub to: End,
    /// The switch moved from rest for it, `DEVICE/ELEMENT`, and its position; `None` if all are at rest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub position: Option<(String, usize)>,
    /// True if it was taken at a jack that was mounted and not wired yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub before_wiring: bool,
    /// The reading, in ohms, volts or amperes; not set if the line passed without a figure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// True if the meter showed over-range: an open circuit.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub over_range: bool,
    /// Who measured.
    pub who: String,
    /// Date, ISO 8601 (YYYY-MM-DD).
    pub date: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// What a reading measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Test {
    /// Ohms along a conductor.
    Continuity,
    /// Ohms between circuits that must be isolated.
    Isolation,
    /// Ohms through resistors: a data bus and its terminators.
    Resistance,
    /// Volts to ground, one circuit on.
    Volts,
    /// Amperes of a circuit with its units connected.
    Amps,
}

impl Test {
    /// Its name in files and keys.
    pub fn name(self) -> &'static str {
        match self {
            Self::Continuity => "continuity",
            Self::Isolation => "isolation",
            Self::Resistance => "resistance",
            Self::Volts => "volts",
            Self::Amps => "amps",
        }
    }

    /// The test with this name.
    pub fn named(name: &str) -> Option<Self> {
        let all = [
            Self::Continuity,
            Self::Isolation,
            Self::Resistance,
            Self::Volts,
            Self::Amps,
        ];
        all.into_iter().find(|test| test.name() == name)
    }
}

impl Reading {
    /// The text on paper: "0.2", "open", "ok".
    pub fn shown(&self) -> String {
        match self.value {
            _ if self.over_range => "open".into(),
            None => "ok".into(),
            Some(value) => format!("{value}"),
        }
    }
}

impl Kind for Reading {
    fn first_key(&self) -> Option<&'static str> {
        Some("r1")
    }

    fn name_mut(&mut self) -> Option<&mut String> {
        None
    }

    fn label(&self, others: &dyn Others) -> String {
        format!("{} at {}", self.test.name(), others.end_label(&self.from))
    }

    // Nothing on screen to lead to.
    fn search(&self, _: &dyn Others, _: &mut dyn FnMut(&str, String)) {}

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.end(&at.field("from"), &self.from);
        check.end(&at.field("to"), &self.to);
        check.number(at, "value", self.value, Bound::Finite);
        check.text(at, "who", &self.who);
        check.text(at, "date", &self.date);
    }
}
