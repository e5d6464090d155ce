//! Weight of wire with its insulation.

use super::wire_table;
use crate::{
    sources::{COMMON_PRACTICE, Source, cite},
    units::{Gauge, M_PER_FT},
};

/// Source of the weights.
pub const SOURCE: Source = cite(
    COMMON_PRACTICE,
    "finished weights of ETFE-insulated wire from memory; other sizes from the copper area \
     of AC 43.13-1B Table 11-9, 8.89 g/cm3 plus a quarter for insulation",
);

/// Pounds per 1,000 ft of sizes known from memory.
const REMEMBERED: [(i8, f64); 9] = [
    (22, 2.8),
    (20, 4.3),
    (18, 6.5),
    (16, 8.3),
    (12, 19.5),
    (10, 30.0),
    (8, 58.0),
    (6, 91.0),
    (2, 225.0),
];
/// Kilograms in a pound (exact).
const KG_PER_LB: f64 = 0.453_592_37;
/// Square millimeters in a circular mil.
const MM2_PER_CIRCULAR_MIL: f64 = std::f64::consts::FRAC_PI_4 * 0.0254 * 0.0254;
/// Density of copper, g/cm3 (NBS Handbook 100).
const COPPER_G_PER_CM3: f64 = 8.89;
/// What insulation and lay add for the other sizes (common practice, no source).
const OVER_COPPER: f64 = 1.25;

/// Weight of a meter, kg; `None` for a size that is not in the wire table.
pub fn kg_per_m(gauge: Gauge) -> Option<f64> {
    let remembered = REMEMBERED.iter().find(|(size, _)| *size == gauge.0);
    match remembered {
        Some((_, lb_per_kft)) => Some(lb_per_kft * KG_PER_LB / (1000.0 * M_PER_FT)),
        None => Some(copper_kg_per_m(gauge)? * OVER_COPPER),
    }
}

/// Weight of a meter of the bare copper, kg.
pub fn copper_kg_per_m(gauge: Gauge) -> Option<f64> {
    let area_mm2 = wire_table::find(gauge)?.circular_mil * MM2_PER_CIRCULAR_MIL;
    Some(area_mm2 * COPPER_G_PER_CM3 / 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed from the areas of Table 11-9 and 8.89 g/cm3: 3.4 g/m for 22, 5.48 for 20, 191.96 for 4.
    #[test]
    fn copper_weighs_as_computed() {
        for (gauge, grams) in [(22, 3.40), (20, 5.48), (4, 191.96), (-3, 950.03)] {
            let found = copper_kg_per_m(Gauge(gauge)).expect("a size of the table") * 1000.0;
            assert!((found / grams - 1.0).abs() < 2e-3, "{gauge}: {found}");
        }
    }

    #[test]
    fn insulated_wire_weighs_more_than_its_copper() {
        for gauge in Gauge::ALL {
            assert!(kg_per_m(gauge) > copper_kg_per_m(gauge), "{gauge}");
        }
    }
}
