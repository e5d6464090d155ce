//! Cables and their shields.

use serde::{Deserialize, Serialize};

use super::{
    End, Extra, WireEnd,
    invariants::{Check, FieldPath},
    kind::Kind,
    others::Others,
    parts::Bound,
};
use crate::{ids::WireId, units::Gauge};

/// Wires that share a jacket, a twist or a shield.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Cable {
    /// Its label.
    pub label: String,
    /// Its construction.
    pub kind: CableKind,
    /// Its cores. All cores run in the same direction: `from` of each at the cable's first end.
    pub wires: Vec<WireId>,
    /// Its shield, if it has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shield: Option<Shield>,
    /// Characteristic impedance, ohm, for coaxial cable.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub impedance_ohm: Option<f64>,
    /// Build steps that are done, in the order of their list.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub done: Vec<CableStep>,
    /// Note.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A build step of a cable that is no step of its wires.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CableStep {
    /// Its wires are twisted.
    Twisted,
    /// Its shield is terminated at the end named `from`.
    ShieldFrom,
    /// Its shield is terminated at the end named `to`.
    ShieldTo,
}

impl CableStep {
    /// Every step, with its name in keys of papers.
    pub const ALL: [(Self, &'static str); 3] = [
        (Self::Twisted, "twisted"),
        (Self::ShieldFrom, "shield_from"),
        (Self::ShieldTo, "shield_to"),
    ];
}

/// Construction of a cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum CableKind {
    /// Parallel cores in a jacket.
    Jacketed,
    /// Cores twisted together.
    Twisted,
    /// Cores under a shield.
    Shielded,
    /// Twisted cores under a shield.
    TwistedShielded,
    /// One center conductor under a shield.
    Coaxial,
    /// A thermocouple pair.
    Thermocouple,
}

/// A shield: a separate conductor, terminated at each end as stated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Shield {
    /// Termination at the end where the cores have `from`.
    pub from: ShieldEnd,
    /// Termination at the end where the cores have `to`.
    pub to: ShieldEnd,
    /// Equivalent copper size of the braid, AWG; 20 if not set (assumed, common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_awg: Option<Gauge>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Termination of a shield at one end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ShieldEnd {
    /// Connected to a terminal, splice or structure.
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
    /// Carried through a connector on this pin.
    Carried {
        /// The pin.
        at: End,
        /// Unknown fields.
        #[serde(flatten)]
        extra: Extra,
    },
    /// Cut back and insulated.
    Floating,
}

impl Cable {
    /// Sets whether a build step is done.
    pub fn set_done(&mut self, step: CableStep, is_done: bool) {
        self.done.retain(|it| *it != step);
        if is_done {
            self.done.push(step);
            self.done.sort_unstable();
        }
    }

    /// What its shield is connected to at one end, if anything.
    pub fn shield_at(&self, which: WireEnd) -> Option<&End> {
        self.shield.as_ref()?.end(which).at()
    }
}

impl Shield {
    /// One of its ends.
    pub fn end(&self, which: WireEnd) -> &ShieldEnd {
        match which {
            WireEnd::From => &self.from,
            WireEnd::To => &self.to,
        }
    }
}

impl ShieldEnd {
    /// The same, mutable.
    pub fn at_mut(&mut self) -> Option<&mut End> {
        match self {
            Self::Tied { at, .. } | Self::Carried { at, .. } => Some(at),
            Self::Floating => None,
        }
    }

    /// What this end is connected to, if anything.
    pub fn at(&self) -> Option<&End> {
        match self {
            Self::Tied { at, .. } | Self::Carried { at, .. } => Some(at),
            Self::Floating => None,
        }
    }
}

impl Kind for Cable {
    fn first_key(&self) -> Option<&'static str> {
        Some("c1")
    }

    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.label)
    }

    fn label(&self, _: &dyn Others) -> String {
        self.label.clone()
    }

    fn search(&self, _: &dyn Others, tell: &mut dyn FnMut(&str, String)) {
        tell(&self.label, self.note.clone());
    }

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "label", &self.label);
        check.text(at, "note", &self.note);
        check.number(at, "impedance_ohm", self.impedance_ohm, Bound::Positive);
        let wires = at.field("wires");
        if self.wires.is_empty() {
            check.say(&wires, "expected at least one wire");
        }
        for (index, id) in self.wires.iter().enumerate() {
            let exists = check.others.has("wire", id.as_str());
            check.mention(&wires.index(index), "wire", id.as_str(), exists);
        }
        if let Some(shield) = &self.shield {
            let at = at.field("shield");
            if let Some(gauge) = shield.gauge_awg {
                check.gauge(&at, "gauge_awg", gauge);
            }
            check_shield_end(check, &at.field("from"), &shield.from);
            check_shield_end(check, &at.field("to"), &shield.to);
        }
    }
}

fn check_shield_end(check: &mut Check<'_>, at: &FieldPath<'_>, end: &ShieldEnd) {
    let (word, place, pigtail_mm) = match end {
        ShieldEnd::Tied { at, pigtail_mm, .. } => ("tied", at, *pigtail_mm),
        ShieldEnd::Carried { at, .. } => ("carried", at, None),
        ShieldEnd::Floating => return,
    };
    let at = at.field(word);
    check.number(&at, "pigtail_mm", pigtail_mm, Bound::NotNegative);
    check.end(&at.field("at"), place);
    if *place == End::Open {
        check.say(
            &at.field("at"),
            "found \"open\", expected a terminal, splice or structure; a cut-back shield is \
             \"floating\"",
        );
    }
}
