//! Resistance of thermocouple wire by alloy and gauge.
//!
//! Resistivities at 20 °C, ohm mm2/m: makers' tables of thermocouple alloys, from memory.

use super::{conductor_heat::mm2_of_cmil, wire_table};
use crate::units::Gauge;

/// Positive leg of type K, nickel-chromium, ohm mm2/m.
pub const K_POSITIVE: f64 = 0.706;
/// Negative leg of type K, nickel-aluminum, ohm mm2/m.
pub const K_NEGATIVE: f64 = 0.294;
/// Positive leg of type J, iron, ohm mm2/m.
pub const J_POSITIVE: f64 = 0.100;
/// Negative leg of type J, copper-nickel, ohm mm2/m.
pub const J_NEGATIVE: f64 = 0.489;

/// Ohm per metre at 20 °C of an alloy, by its resistivity; none for a size that the wire table lacks.
pub fn ohm_per_m(ohm_mm2_per_m: f64, gauge: Gauge) -> Option<f64> {
    let area_mm2 = mm2_of_cmil(wire_table::find(gauge)?.circular_mil);
    Some(ohm_mm2_per_m / area_mm2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::M_PER_FT;

    /// Makers print 1.49 ohm a double foot for type K at 24 AWG and 0.88 for type J (from memory), of solid
    /// wire; the nominal area of the stranded wire here is a sixth larger.
    #[test]
    fn a_double_foot_reads_as_makers_print_it() {
        let double_foot = |plus, minus| {
            let ohm = |alloy| ohm_per_m(alloy, Gauge(24)).expect("a size of the table") * M_PER_FT;
            ohm(plus) + ohm(minus)
        };
        let k = double_foot(K_POSITIVE, K_NEGATIVE);
        let j = double_foot(J_POSITIVE, J_NEGATIVE);
        assert!((1.2..1.5).contains(&k), "{k}");
        assert!((0.7..0.88).contains(&j), "{j}");
    }
}
