//! Cables and their shields.

use serde::{Deserialize, Serialize};

use super::{End, Extra};
use crate::{ids::WireId, units::Gauge};

/// Wires that share a jacket, a twist or a shield.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Cable {
    /// What a person calls it.
    pub label: String,
    /// How it is made.
    pub kind: CableKind,
    /// Its cores. All cores run the same way: `from` of each at the cable's first end.
    pub wires: Vec<WireId>,
    /// Its shield, if it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shield: Option<Shield>,
    /// Characteristic impedance, ohm, where it matters (coaxial cable).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub impedance_ohm: Option<f64>,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// How a cable is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CableKind {
    /// Cores side by side in a jacket.
    Jacketed,
    /// Cores twisted together.
    Twisted,
    /// Cores under a shield.
    Shielded,
    /// Twisted cores under a shield.
    TwistedShielded,
    /// One centre conductor under a shield.
    Coaxial,
    /// A thermocouple pair.
    Thermocouple,
}

/// A shield: a conductor of its own, with a state at each end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Shield {
    /// State at the end where the cores have `from`.
    pub from: ShieldEnd,
    /// State at the end where the cores have `to`.
    pub to: ShieldEnd,
    /// Copper size the braid is taken as, AWG; 20 if left out (assumed, common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_awg: Option<Gauge>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// What happens to a shield at one end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ShieldEnd {
    /// Tied to a terminal, splice or structure.
    Tied {
        /// Where.
        at: End,
        /// Length of the pigtail, mm.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pigtail_mm: Option<f64>,
        /// Unknown fields.
        #[serde(flatten)]
        extra: Extra,
    },
    /// Taken through a connector by this pin.
    Carried {
        /// The pin.
        at: End,
        /// Unknown fields.
        #[serde(flatten)]
        extra: Extra,
    },
    /// Cut back and covered.
    Floating,
}

impl ShieldEnd {
    /// The same, to be changed.
    pub fn at_mut(&mut self) -> Option<&mut End> {
        match self {
            Self::Tied { at, .. } | Self::Carried { at, .. } => Some(at),
            Self::Floating => None,
        }
    }

    /// Where this end is joined to, if anywhere.
    pub fn at(&self) -> Option<&End> {
        match self {
            Self::Tied { at, .. } | Self::Carried { at, .. } => Some(at),
            Self::Floating => None,
        }
    }
}
