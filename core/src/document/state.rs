//! States: phases of flight and of tests.

use serde::{Deserialize, Serialize};

use super::Extra;
use crate::order::Map;

/// A phase of flight or of a test: the position of every control that a person can move.
///
/// Keys name an element as `DEVICE/ELEMENT`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct State {
    /// Its name.
    pub title: String,
    /// Sort order, low first.
    #[serde(default)]
    pub order: i64,
    /// True if the engine turns the alternators.
    #[serde(default)]
    pub alternators_on: bool,
    /// The alternator-out case that it represents, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after_alternator: Option<AfterAlternator>,
    /// Switch positions by index; a switch not named is in its rest position.
    #[serde(default)]
    pub switches: Map<String, usize>,
    /// Breakers pulled, fuses removed.
    #[serde(default)]
    pub pulled: Vec<String>,
    /// Use of loads that do not take their continuous current. A load not named takes it (or
    /// nothing, if it has no continuous figure).
    #[serde(default)]
    pub loads: Map<String, LoadUse>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Use of a load in a state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LoadUse {
    /// Nothing, switched off at the unit.
    Off,
    /// Its continuous current.
    Continuous,
    /// Its intermittent current.
    Intermittent,
    /// Its peak current.
    Peak,
}

/// What the pilot has done after the alternator stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum AfterAlternator {
    /// Nothing: everything stays on.
    NothingDone,
    /// The main bus is off, nothing else changed.
    MainBusShed,
    /// Only essential loads are on.
    EssentialOnly,
}
