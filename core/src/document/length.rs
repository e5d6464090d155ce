//! The length of a wire, as typed or along its routes.

use super::{Document, Wire};
use crate::ids::WireId;

impl Document {
    /// What has to be known of a wire for its resistance, and is not: "the gauge", "the length".
    pub fn unknown_of_wire(&self, id: &WireId) -> &'static str {
        let wire = self.wires.get(id);
        match wire.map(|wire| (wire.gauge_awg, self.wire_length_m(wire))) {
            Some((None, None)) => "the gauge and the length",
            Some((None, _)) => "the gauge",
            _ => "the length",
        }
    }

    /// Length of a wire, m: as typed, else the sum of its routes; `None` if neither is known.
    pub fn wire_length_m(&self, wire: &Wire) -> Option<f64> {
        if wire.length_m.is_some() || wire.route.is_empty() {
            return wire.length_m;
        }
        let pieces = wire.route.iter().map(|id| self.routes.get(id));
        pieces.map(|route| route?.length_m).sum()
    }

    /// Temperature rating of a wire's insulation, °C: its own, else the project's; `None` if neither is set.
    pub fn insulation_c(&self, wire: &Wire) -> Option<f64> {
        wire.insulation_c.or(self.project.insulation_c)
    }

    /// Where the values of a wire come from that were not typed, in words: "gauge pasted, length measured". The
    /// insulation is listed only if wanted.
    pub fn origins_of(&self, wire: &Wire, with_insulation: bool) -> String {
        let word = |field: &str| wire.origins.word(field);
        let by_route = wire.length_m.is_none() && self.wire_length_m(wire).is_some();
        let by_project = wire.insulation_c.is_none() && self.project.insulation_c.is_some();
        let length = if by_route {
            Some("from its routes")
        } else {
            word("length_m")
        };
        let insulation = if by_project {
            Some("project default")
        } else {
            word("insulation_c")
        };
        let insulation = insulation.filter(|_| with_insulation);
        let all = [
            ("gauge", word("gauge_awg")),
            ("insulation", insulation),
            ("length", length),
        ];
        let told = all
            .into_iter()
            .filter_map(|(what, word)| Some(format!("{what} {}", word?)));
        told.collect::<Vec<_>>().join(", ")
    }
}
