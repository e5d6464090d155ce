//! Places, the routes between them, and splices.

use serde::{Deserialize, Serialize};

use super::Extra;
use crate::ids::PlaceId;

/// A place in the aircraft: firewall, panel, left wing tip, overhead plate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Place {
    /// Its name.
    pub title: String,
    /// True if it is metal that can carry current; false for composite, wood, plastic.
    pub conductive: bool,
    /// True once it is closed up and inaccessible.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub closed: bool,
    /// The place to whose metal this one's metal is bonded, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bonded_to: Option<PlaceId>,
    /// Resistance of that bond, ohm. 0.0025 if not set (AC 43.13-1B par 11-188f: under 2.5 mΩ).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bond_ohm: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// One route section between two places.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Route {
    /// Its name, e.g. "tunnel, left".
    pub title: String,
    /// One end.
    pub from: PlaceId,
    /// The other end.
    pub to: PlaceId,
    /// Length along the route, m.
    pub length_m: f64,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A permanent joint of two or more wires.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Splice {
    /// Its label, e.g. "SP1".
    pub label: String,
    /// Its place in the aircraft.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceId>,
    /// Resistance of the joint, ohm; 0 if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ohm: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}
