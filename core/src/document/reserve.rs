//! Battery reserve after the alternator stops.

use serde::{Deserialize, Serialize};

use super::Extra;

/// The usable part of the nameplate capacity, and how the voltage falls. Each field states its
/// default.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Reserve {
    /// Charge at the start, as a share of full; 1 if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_factor: Option<f64>,
    /// Share of capacity left with age; 0.8 if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age_factor: Option<f64>,
    /// Share usable at the discharge rate and down to the cut-off; 0.75 if not set, 1 with
    /// `peukert`, which includes the rate.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate_factor: Option<f64>,
    /// Share left at its temperature; 1 if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_factor: Option<f64>,
    /// Peukert's exponent, 1 or more; without it capacity does not depend on current.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub peukert: Option<f64>,
    /// Discharge time of the rated capacity, h; 20 if not set. Used only with `peukert`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_h: Option<f64>,
    /// Open-circuit voltage over charge: pairs of charge left (0 to 1, rising) and volts. If not
    /// set, that of its chemistry: for lead-acid a straight line from `emf_v` to 0.91 of it, for lithium
    /// iron phosphate a flat line with a steep end.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open_circuit_v: Vec<[f64; 2]>,
    /// Internal resistance when empty, ohm; as when full if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub empty_ohm: Option<f64>,
    /// Terminal voltage below which it counts as empty, V; 10 if not set, 20 above 18 V,
    /// and never below the voltage at which its electronics disconnect it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cutoff_v: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}
