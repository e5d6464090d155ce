//! Wires.

use serde::{Deserialize, Serialize};

use super::{
    End, Extra, Origins,
    invariants::{Check, FieldPath},
    kind::{Kind, joined},
    others::Others,
    parts::Bound,
};
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
    /// Conductor size, AWG, if it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_awg: Option<Gauge>,
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
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Wire {
    /// A copper wire between two points, with nothing else set.
    pub fn between(from: End, to: End) -> Self {
        Self {
            number: String::new(),
            from,
            to,
            gauge_awg: None,
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
            origins: Origins::default(),
            extra: Extra::new(),
        }
    }
}

impl Wire {
    /// One of its ends.
    pub fn end(&self, which: WireEnd) -> &End {
        match which {
            WireEnd::From => &self.from,
            WireEnd::To => &self.to,
        }
    }

    /// Its size in words: "20 AWG", "gauge not set".
    pub fn size(&self) -> String {
        match self.gauge_awg {
            Some(gauge) => format!("{gauge} AWG"),
            None => "gauge not set".into(),
        }
    }

    /// Its gauge alone, for a column that names the unit; empty if not set.
    pub fn gauge_text(&self) -> String {
        self.gauge_awg
            .map_or(String::new(), |gauge| gauge.to_string())
    }

    /// Takes out a gauge that an earlier program assumed, which its note says.
    pub fn drop_assumed_gauge(&mut self) {
        let is_assumed = |gauge| self.note == format!("Gauge not chosen: {gauge} AWG is assumed");
        if self.gauge_awg.is_some_and(is_assumed) {
            self.gauge_awg = None;
            self.note.clear();
        }
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
    /// Rating, A; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_a: Option<f64>,
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
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

impl WireEnd {
    /// The opposite end.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::From => Self::To,
            Self::To => Self::From,
        }
    }
}

impl Kind for Wire {
    fn first_key(&self) -> Option<&'static str> {
        Some("w1")
    }

    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.number)
    }

    fn label(&self, others: &dyn Others) -> String {
        match self.number.is_empty() {
            true => format!(
                "wire from {} to {}",
                others.end_label(&self.from),
                others.end_label(&self.to)
            ),
            false => self.number.clone(),
        }
    }

    fn search(&self, others: &dyn Others, tell: &mut dyn FnMut(&str, String)) {
        let ends = [&self.from, &self.to].map(|end| others.end_label(end));
        let texts = [&self.function, &ends[0], &ends[1], &self.colour, &self.note];
        tell(&self.label(others), joined(texts.map(String::as_str)));
    }

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "number", &self.number);
        check.text(at, "colour", &self.colour);
        check.text(at, "function", &self.function);
        check.text(at, "note", &self.note);
        check.end(&at.field("from"), &self.from);
        check.end(&at.field("to"), &self.to);
        if self.from == self.to && self.from != End::Open {
            check.say(
                &at.field("to"),
                "both ends are at the same point, expected two points",
            );
        }
        if let Some(gauge) = self.gauge_awg {
            check.gauge(at, "gauge_awg", gauge);
        }
        check.number(at, "insulation_c", self.insulation_c, Bound::Finite);
        check.number(at, "length_m", self.length_m, Bound::Positive);
        if let Some(fuse) = &self.fuse {
            let at = at.field("fuse");
            check.number(&at, "rating_a", fuse.rating_a, Bound::Positive);
        }
        let routes = at.field("route");
        for (index, id) in self.route.iter().enumerate() {
            let exists = check.others.has("route", id.as_str());
            check.mention(&routes.index(index), "route", id.as_str(), exists);
        }
        let via = at.field("via");
        for (index, id) in self.via.iter().enumerate() {
            check.place_mention(&via.index(index), id);
        }
    }
}
