//! What was measured while building: ringing out, first power-up.

use serde::{Deserialize, Serialize};

use super::{End, Extra};

/// One value read on a meter, or the tick that a line of a test was done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Reading {
    /// What was measured.
    pub test: Test,
    /// Where one lead was.
    pub from: End,
    /// Where the other was; `open` for all other circuits, or for ground where volts are read.
    pub to: End,
    /// The switch that is moved from rest for it, `DEVICE/ELEMENT`, and its position; none if all rest.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub position: Option<(String, usize)>,
    /// What was read, in ohms, volts or amperes; nothing if it was found right without a figure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// True if the meter showed that its range was not enough: an open circuit.
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

/// What a reading is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Test {
    /// Ohms along a conductor.
    Continuity,
    /// Ohms between what must be apart.
    Isolation,
    /// Ohms through resistors: a data bus and its terminators.
    Resistance,
    /// Volts against ground, one circuit on.
    Volts,
    /// Amperes of a circuit with its units plugged in.
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

    /// The test of this name.
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
    /// As it stands on paper: "0.2", "open", "ok".
    pub fn shown(&self) -> String {
        match self.value {
            _ if self.over_range => "open".into(),
            None => "ok".into(),
            Some(value) => format!("{value}"),
        }
    }
}
