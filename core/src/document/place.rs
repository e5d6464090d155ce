//! Places, the routes between them, and splices.

use serde::{Deserialize, Serialize};

use super::{
    Extra, Origins,
    invariants::{Check, FieldPath},
    kind::Kind,
    others::Others,
    parts::Bound,
};
use crate::ids::PlaceId;

/// A place in the aircraft: firewall, panel, left wing tip, overhead plate.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Place {
    /// Its name.
    pub title: String,
    /// True if it is metal that can carry current; false for composite, wood, plastic; not set if nobody
    /// said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conductive: Option<bool>,
    /// True once it is closed up and inaccessible.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub closed: bool,
    /// The place to whose metal this one's metal is bonded, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bonded_to: Option<PlaceId>,
    /// Resistance of that bond, ohm. 0.0025 if not set (AC 43.13-1B par 11-188f: under 2.5 mΩ).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bond_ohm: Option<f64>,
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
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
    /// Length along the route, m; not set if nobody gave it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_m: Option<f64>,
    /// Origins of its values that were not typed.
    #[serde(default, skip_serializing_if = "Origins::is_empty")]
    pub origins: Origins,
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

impl Place {
    /// True if it is known to be metal that can carry current.
    pub fn is_metal(&self) -> bool {
        self.conductive == Some(true)
    }
}

impl Kind for Place {
    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.title)
    }

    fn label(&self, _: &dyn Others) -> String {
        self.title.clone()
    }

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, id: &str) {
        check.text(at, "title", &self.title);
        check.number(at, "bond_ohm", self.bond_ohm, Bound::NotNegative);
        if let Some(other) = &self.bonded_to {
            let at = at.field("bonded_to");
            check.place_mention(&at, other);
            if other.as_str() == id {
                check.say(&at, "is bonded to itself, expected another place");
            }
        }
    }
}

impl Kind for Route {
    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.title)
    }

    fn label(&self, _: &dyn Others) -> String {
        self.title.clone()
    }

    // Nothing on screen to lead to.
    fn search(&self, _: &dyn Others, _: &mut dyn FnMut(&str, String)) {}

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "title", &self.title);
        check.place_mention(&at.field("from"), &self.from);
        check.place_mention(&at.field("to"), &self.to);
        check.number(at, "length_m", self.length_m, Bound::Positive);
    }
}

impl Kind for Splice {
    fn first_key(&self) -> Option<&'static str> {
        Some("sp1")
    }

    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.label)
    }

    fn label(&self, _: &dyn Others) -> String {
        self.label.clone()
    }

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "label", &self.label);
        check.number(at, "ohm", self.ohm, Bound::NotNegative);
        if let Some(place) = &self.place {
            check.place_mention(&at.field("place"), place);
        }
    }
}
