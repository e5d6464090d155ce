//! Wire temperature with a steady current, and with a short-circuit current before a breaker or
//! fuse opens.

use crate::sources::{COMMON_PRACTICE, IEC_60364_5_54, Source, cite};

/// Source of the steady temperature by heat balance.
pub const BALANCE_SOURCE: Source = cite(
    COMMON_PRACTICE,
    "heat balance: loss in proportion to the rise, resistance rising with temperature, fitted to the current that \
     brings the wire to its rating; computed, in no handbook",
);
/// Source of the heating without heat loss.
pub const SHORT_SOURCE: Source = cite(IEC_60364_5_54, "formula for k, Annex A");

/// Zero-resistance temperature of copper below 0 °C, K (AC 43.13-1B p. 11-22).
const COPPER_K: f64 = 234.5;
/// Heat capacity of copper by volume at 20 °C, J/(K mm³) (IEC 60364-5-54).
const HEAT_J_PER_K_MM3: f64 = 3.45e-3;
/// Resistivity of copper at 20 °C, ohm mm (IEC 60364-5-54).
const COPPER_OHM_MM: f64 = 17.241e-6;

/// Surroundings and rating of a wire, °C, and the current that brings it to its rating, A.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rated {
    /// Temperature of its surroundings, °C.
    pub ambient_c: f64,
    /// Rating of its insulation, °C.
    pub rating_c: f64,
    /// Steady current at which it reaches that rating, A.
    pub max_a: f64,
}

/// Temperature of a wire with a steady current by the square root of its share of the largest
/// current, °C (AC 43.13-1B par 11-66d(6); the form of the formula from memory). The result is too high, which the
/// source calls conservative.
pub fn steady_c(wire: Rated, amps: f64) -> f64 {
    let rise = wire.rating_c - wire.ambient_c;
    wire.ambient_c + rise * (amps.abs() / wire.max_a).sqrt()
}

/// Temperature of a wire with a steady current by heat balance, °C: loss proportional to the rise,
/// resistance rising with temperature. `None` where no balance exists.
pub fn balanced_c(wire: Rated, amps: f64) -> Option<f64> {
    let share =
        (amps / wire.max_a).powi(2) * (wire.rating_c - wire.ambient_c) / (COPPER_K + wire.rating_c);
    (share < 1.0).then(|| (wire.ambient_c + COPPER_K * share) / (1.0 - share))
}

/// Allowed length of a hot wire, for a length at 20 °C that meets a drop limit: `length_m` reduced
/// by the rise of resistance (AC 43.13-1B par 11-67).
pub fn hot_length_m(length_m: f64, conductor_c: f64) -> f64 {
    length_m * (COPPER_K + 20.0) / (COPPER_K + conductor_c)
}

/// Current-squared-time that heats copper of this cross-section from one temperature to another
/// without heat loss, A²s.
pub fn short_a2s(area_mm2: f64, from_c: f64, to_c: f64) -> f64 {
    let rise = ((COPPER_K + to_c) / (COPPER_K + from_c)).ln();
    HEAT_J_PER_K_MM3 * (COPPER_K + 20.0) / COPPER_OHM_MM * rise * area_mm2.powi(2)
}

/// Seconds until a current heats a wire to `rating_c`; infinite at or below its steady limit.
/// Approaches the time without heat loss at large currents.
pub fn bears_s(a2s: f64, steady_a: f64, amps: f64) -> f64 {
    if amps <= steady_a {
        return f64::INFINITY;
    }
    let constant_s = a2s / steady_a.powi(2);
    constant_s * (amps.powi(2) / (amps.powi(2) - steady_a.powi(2))).ln()
}

/// Cross-section of a conductor given in circular mils (the area of a circle one thousandth of an
/// inch across), mm².
pub fn mm2_of_cmil(area_cmil: f64) -> f64 {
    area_cmil * std::f64::consts::FRAC_PI_4 * 0.0254_f64.powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64) {
        assert!(
            (found - expected).abs() <= 1e-4 * expected.abs(),
            "{found} is not {expected}"
        );
    }

    // AC 43.13-1B par 11-67, example no. 2: 20 A in a wire good for 26 A at 200 °C, 50 °C around it.
    const EXAMPLE: Rated = Rated {
        ambient_c: 50.0,
        rating_c: 200.0,
        max_a: 26.0,
    };

    #[test]
    fn the_handbooks_example_of_a_hot_run() {
        near(steady_c(EXAMPLE, 20.0), 181.558_70);
        near(hot_length_m(15.5, steady_c(EXAMPLE, 20.0)), 9.481_234);
    }

    #[test]
    fn the_balance_of_heat_is_cooler_and_holds_at_both_ends() {
        // Solved independently by fixed-point iteration.
        near(balanced_c(EXAMPLE, 20.0).expect("a balance"), 123.035_487);
        near(balanced_c(EXAMPLE, 26.0).expect("a balance"), 200.0);
        near(balanced_c(EXAMPLE, 0.0).expect("a balance"), 50.0);
        assert_eq!(balanced_c(EXAMPLE, 100.0), None, "it melts");
        let amps = 10.0;
        let hot = Rated {
            ambient_c: 40.0,
            rating_c: 150.0,
            max_a: 11.0,
        };
        near(steady_c(hot, amps), 144.880_885);
        near(balanced_c(hot, amps).expect("a balance"), 124.997_678);
    }

    #[test]
    fn heating_without_loss_agrees_with_integrated_heat() {
        // IEC 60364-5-54's k; each figure checked by numerical integration of c/rho dT.
        near(short_a2s(mm2_of_cmil(1900.0), 50.0, 200.0), 19_988.556);
        near(short_a2s(mm2_of_cmil(1216.0), 70.0, 200.0), 6_873.788_7);
        near(short_a2s(mm2_of_cmil(755.0), 70.0, 200.0), 2_649.860_0);
        // 226 is the published constant, rounded.
        let k = (HEAT_J_PER_K_MM3 * (COPPER_K + 20.0) / COPPER_OHM_MM).sqrt();
        assert!((k - 226.0).abs() < 0.5, "{k}");
    }

    #[test]
    fn fusing_agrees_with_onderdonk_within_one_per_cent() {
        // Onderdonk's formula, as handbooks quote it: 16 AWG melts in 5 s at 168.9 A.
        let a2s = short_a2s(mm2_of_cmil(2581.0), 25.0, 1083.0);
        let amps = (a2s / 5.0).sqrt();
        near(amps, 168.237_863);
        assert!((amps / 168.863_713 - 1.0).abs() < 0.01);
    }

    #[test]
    fn a_wire_bears_its_steady_current_for_ever_and_a_short_as_without_loss() {
        let a2s = 19_988.555_7;
        assert_eq!(bears_s(a2s, 18.2, 15.0), f64::INFINITY);
        near(bears_s(a2s, 18.2, 20.0), 106.257_383);
        near(bears_s(a2s, 18.2, 30.0), 27.694_336);
        near(bears_s(a2s, 18.2, 111.956_593), 1.616_161_5);
        near(bears_s(a2s, 18.2, 5000.0), a2s / 5000.0_f64.powi(2));
    }
}
