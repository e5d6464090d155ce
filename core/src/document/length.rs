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
        pieces.map(|route| Some(route?.length_m)).sum()
    }
}
