//! Wires.

use serde::{Deserialize, Serialize};

use super::{End, Extra};
use crate::{
    ids::{PlaceId, RouteId},
    units::Gauge,
};

/// One conductor from one end to another. The record that every paper, check and label reads.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Wire {
    /// The number marked on it.
    pub number: String,
    /// One end.
    pub from: End,
    /// The other end.
    pub to: End,
    /// Conductor size, AWG.
    pub gauge_awg: Gauge,
    /// Temperature rating of the insulation, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub insulation_c: Option<f64>,
    /// Colour of the insulation, a plain word: white, black, red, blue, orange, yellow, green…
    #[serde(default)]
    pub colour: String,
    /// Length, m, as typed or measured; if absent, the sum of its routes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_m: Option<f64>,
    /// What it is for.
    #[serde(default)]
    pub function: String,
    /// How far it is built.
    #[serde(default)]
    pub status: BuildStatus,
    /// What the conductor is made of.
    #[serde(default, skip_serializing_if = "ConductorKind::is_copper")]
    pub conductor: ConductorKind,
    /// A fuse in the wire itself, at one of its ends.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fuse: Option<InlineFuse>,
    /// Pieces of route it follows, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub route: Vec<RouteId>,
    /// Places it passes through on the way (a firewall pass-through).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub via: Vec<PlaceId>,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// How far a wire is built.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum BuildStatus {
    /// Drawn only.
    #[default]
    Planned,
    /// Cut to length.
    Cut,
    /// Marked at both ends.
    Marked,
    /// First end terminated.
    EndA,
    /// Both ends terminated.
    EndB,
    /// Lying in the aircraft.
    Routed,
    /// Rung out.
    Tested,
}

/// What a conductor is made of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ConductorKind {
    /// Tin-plated copper.
    #[default]
    Copper,
    /// Positive leg of a type K pair (nickel-chromium).
    TypeKPositive,
    /// Negative leg of a type K pair (nickel-aluminium).
    TypeKNegative,
    /// Positive leg of a type J pair (iron).
    TypeJPositive,
    /// Negative leg of a type J pair (copper-nickel).
    TypeJNegative,
    /// Centre conductor of a coaxial cable.
    Coax,
}

impl ConductorKind {
    fn is_copper(&self) -> bool {
        *self == Self::Copper
    }
}

/// A fuse holder made into a wire close to one of its ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct InlineFuse {
    /// The end it sits at.
    pub at: WireEnd,
    /// Rating, A.
    pub rating_a: f64,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// One of the two ends of a wire or cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum WireEnd {
    /// The end named `from`.
    From,
    /// The end named `to`.
    To,
}
