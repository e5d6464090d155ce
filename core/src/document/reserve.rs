//! What a battery can still give after the alternator stops.

use serde::{Deserialize, Serialize};

use super::Extra;

/// Nameplate capacity is never all to be had: what is left of it, and how the voltage falls. What is
/// left out is taken as said beside it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Reserve {
    /// Part of full charge it starts with; 1 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_factor: Option<f64>,
    /// Part of its capacity left with age; 0.8 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age_factor: Option<f64>,
    /// Part usable at the rate of discharge and down to its cut-off; 0.75 if left out, 1 with
    /// `peukert`, which counts the rate itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate_factor: Option<f64>,
    /// Part left at the temperature it has; 1 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_factor: Option<f64>,
    /// Peukert's exponent, 1 or more; without it capacity does not depend on current.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub peukert: Option<f64>,
    /// Hours in which the rated capacity is had; 20 if left out. Counts only with `peukert`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_h: Option<f64>,
    /// Open-circuit voltage against what is left: pairs of part left (0 to 1, rising) and volts. If
    /// left out, a straight line from `emf_v` to 0.91 of it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open_circuit_v: Vec<[f64; 2]>,
    /// Internal resistance when empty, ohm; as when full if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub empty_ohm: Option<f64>,
    /// Voltage at its posts under which it counts as empty, V; 10 if left out, 20 above 18 V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cutoff_v: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}
