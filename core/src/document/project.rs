//! Data of the project.

use serde::{Deserialize, Serialize};

use super::{
    Extra, NoiseFigures,
    invariants::{Check, FieldPath},
    kind::Kind,
    others::Others,
    parts::Bound,
};
use crate::order::Map;

/// Data of the whole aircraft.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Project {
    /// Name of the project or aircraft.
    pub title: String,
    /// Registration of the aircraft, as painted on it; not set if empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub registration: String,
    /// Description in the builder's words; what has to keep working.
    #[serde(default)]
    pub statement: String,
    /// Nominal system voltage, V: 14 or 28.
    pub nominal_v: f64,
    /// Conductor temperature for wire resistance, °C. 50 by default (suggested default, computed).
    #[serde(default = "default_conductor_c")]
    pub conductor_c: f64,
    /// Endurance target of the essential loads after the alternator stops, minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_min: Option<f64>,
    /// Minutes until the pilot sheds loads after the alternator stops; 0 if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shed_after_min: Option<f64>,
    /// Hours in which the alternator must recharge an empty battery, 1 for the one-hour rule; not
    /// checked if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recharge_h: Option<f64>,
    /// Highest air temperature around wires, °C; 70 if not set (AC 43.13-1B Table 11-9, note 1).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient_c: Option<f64>,
    /// Temperature rating of the insulation of wires that set none themselves, °C; nothing is assumed if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub insulation_c: Option<f64>,
    /// Highest altitude flown, ft; 20,000 if not set (common practice, no source).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub altitude_ft: Option<f64>,
    /// Figures of the noise review.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub noise: Option<NoiseFigures>,
    /// Extra wire to buy beyond the drawn length, %; 10 if not set (common practice, no source).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare_percent: Option<f64>,
    /// Length added at each end of every wire when it is cut, for two new terminations, m; by gauge and kind of
    /// termination if not set (AC 43.13-1B par 11-118 requires two; the lengths are common practice, no source).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub service_loop_m: Option<f64>,
    /// Wire numbering scheme, as words in braces and plain text:
    /// `{letter}{circuit}{segment}{gauge}{ground}`; free if not set.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub numbering: String,
    /// Height of wire marking sleeves, mm; 9 if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label_mm: Option<f64>,
    /// How wires are marked; on sleeves if not set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marking: Option<Marking>,
    /// Stock on hand, by the key of its line in the order list, in that line's unit.
    #[serde(default, skip_serializing_if = "Map::is_empty")]
    pub stock: Map<String, f64>,
    /// True to show lengths in feet; the file always holds meters.
    #[serde(default)]
    pub show_feet: bool,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// How wires are marked (AC 43.13-1B section 16).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Marking {
    /// Printed sleeves over the wire (par 11-208b).
    Sleeves,
    /// Printed or stamped on the insulation itself (figure 11-23).
    Insulation,
}

fn default_conductor_c() -> f64 {
    50.0
}

impl Project {
    /// A length as a person reads it: "2.90 m", "9.51 ft".
    pub fn length(&self, length_m: f64, decimals: usize) -> String {
        crate::units::length(length_m, decimals, self.show_feet)
    }

    /// The unit of lengths as a person reads them.
    pub fn length_unit(&self) -> &'static str {
        crate::units::length_unit(self.show_feet)
    }
}

impl Default for Project {
    fn default() -> Self {
        Self {
            title: "New aircraft".into(),
            registration: String::new(),
            statement: String::new(),
            nominal_v: 14.0,
            conductor_c: default_conductor_c(),
            target_min: None,
            shed_after_min: None,
            recharge_h: None,
            ambient_c: None,
            insulation_c: None,
            altitude_ft: None,
            noise: None,
            spare_percent: None,
            service_loop_m: None,
            numbering: String::new(),
            label_mm: None,
            marking: None,
            stock: Map::new(),
            show_feet: false,
            extra: Extra::new(),
        }
    }
}

impl Kind for Project {
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
        check.text(at, "registration", &self.registration);
        check.text(at, "statement", &self.statement);
        check.number(at, "nominal_v", Some(self.nominal_v), Bound::Positive);
        check.number(at, "conductor_c", Some(self.conductor_c), Bound::Finite);
        check.number(at, "target_min", self.target_min, Bound::Positive);
        let shed = self.shed_after_min;
        check.number(at, "shed_after_min", shed, Bound::NotNegative);
        check.number(at, "recharge_h", self.recharge_h, Bound::Positive);
        check.number(at, "ambient_c", self.ambient_c, Bound::Finite);
        check.number(at, "insulation_c", self.insulation_c, Bound::Finite);
        check.number(at, "altitude_ft", self.altitude_ft, Bound::NotNegative);
        check.number(at, "spare_percent", self.spare_percent, Bound::NotNegative);
        check.number(
            at,
            "service_loop_m",
            self.service_loop_m,
            Bound::NotNegative,
        );
        check.number(at, "label_mm", self.label_mm, Bound::Positive);
        check.text(at, "numbering", &self.numbering);
        for (line, amount) in &self.stock {
            check.text(at, "stock", line);
            check.number(&at.field("stock"), line, Some(*amount), Bound::NotNegative);
        }
        for (field, figure) in self.noise.clone().unwrap_or_default().each() {
            check.number(&at.field("noise"), field, *figure, Bound::Positive);
        }
    }
}
