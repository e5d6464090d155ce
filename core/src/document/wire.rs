//! Wires.

use serde::{Deserialize, Serialize};

use super::{Document, End, Extra};
use crate::{
    ids::{PlaceId, RouteId},
    units::Gauge,
};

/// One conductor from one end to another. Every paper, check and label reads this record.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Wire {
    /// Its wire number, as marked on it.
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
    /// Color of the insulation, a plain word: white, black, red, blue, orange, yellow, green…
    #[serde(default)]
    pub colour: String,
    /// Length, m, as typed or measured; if not set, the sum of its routes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_m: Option<f64>,
    /// Its function.
    #[serde(default)]
    pub function: String,
    /// Its build status.
    #[serde(default)]
    pub status: BuildStatus,
    /// Its conductor material.
    #[serde(default, skip_serializing_if = "ConductorKind::is_copper")]
    pub conductor: ConductorKind,
    /// A fuse holder in the wire, near one of its ends.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fuse: Option<InlineFuse>,
    /// Route sections it follows, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub route: Vec<RouteId>,
    /// Places it passes through (a firewall pass-through).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub via: Vec<PlaceId>,
    /// Note.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Wire {
    /// A copper wire of this size between two points, with nothing else set.
    pub fn between(from: End, to: End, gauge_awg: Gauge) -> Self {
        Self {
            number: String::new(),
            from,
            to,
            gauge_awg,
            insulation_c: None,
            colour: String::new(),
            length_m: None,
            function: String::new(),
            status: BuildStatus::Planned,
            conductor: ConductorKind::Copper,
            fuse: None,
            route: Vec::new(),
            via: Vec::new(),
            note: String::new(),
            extra: Extra::new(),
        }
    }
}

impl Wire {
    /// The note of a wire whose gauge nobody chose.
    fn assumed(gauge: Gauge) -> String {
        format!("Gauge not chosen: {gauge} AWG is assumed")
    }

    /// Sets an assumed gauge, and says so in the note.
    pub fn assume_gauge(&mut self, gauge: Gauge) {
        self.gauge_awg = gauge;
        self.note = Self::assumed(gauge);
    }

    /// True if its gauge is an assumed one.
    pub fn is_gauge_assumed(&self) -> bool {
        self.note == Self::assumed(self.gauge_awg)
    }

    /// Takes a gauge that was chosen.
    pub fn choose_gauge(&mut self, gauge: Gauge) {
        if self.is_gauge_assumed() {
            self.note.clear();
        }
        self.gauge_awg = gauge;
    }
}

impl Document {
    /// Length of a wire, m: as typed, else the sum of its routes; `None` if neither is known.
    pub fn wire_length_m(&self, wire: &Wire) -> Option<f64> {
        if wire.length_m.is_some() || wire.route.is_empty() {
            return wire.length_m;
        }
        let pieces = wire.route.iter().map(|id| self.routes.get(id));
        pieces.map(|route| Some(route?.length_m)).sum()
    }
}

/// Build status of a wire.
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
    /// Installed in the aircraft.
    Routed,
    /// Rung out.
    Tested,
}

impl BuildStatus {
    /// Every step, first to last.
    pub const ALL: [Self; 7] = [
        Self::Planned,
        Self::Cut,
        Self::Marked,
        Self::EndA,
        Self::EndB,
        Self::Routed,
        Self::Tested,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Cut => "cut",
            Self::Marked => "marked",
            Self::EndA => "end A done",
            Self::EndB => "end B done",
            Self::Routed => "routed",
            Self::Tested => "tested",
        }
    }
}

/// Conductor material.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ConductorKind {
    /// Tin-plated copper.
    #[default]
    Copper,
    /// Positive leg of a type K pair (nickel-chromium).
    TypeKPositive,
    /// Negative leg of a type K pair (nickel-aluminum).
    TypeKNegative,
    /// Positive leg of a type J pair (iron).
    TypeJPositive,
    /// Negative leg of a type J pair (copper-nickel).
    TypeJNegative,
    /// Center conductor of a coaxial cable.
    Coax,
}

impl ConductorKind {
    fn is_copper(&self) -> bool {
        *self == Self::Copper
    }
}

/// A fuse holder in a wire close to one of its ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct InlineFuse {
    /// The end it is near.
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
