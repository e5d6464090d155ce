//! Derating of wires in a bundle and at altitude (the curves of AC 43.13-1B par 11-66 to 11-69),
//! and the allowed current that remains of the free-air current.

use super::free_air;
use crate::{
    sources::{AC_43_13_1B, MIL_W_5088L, Source, cite},
    units::Gauge,
};

/// Source of the bundle factors.
pub const BUNDLE_SOURCE: Source = cite(
    MIL_W_5088L,
    "bundle derating figure, the family of AC 43.13-1B figure 11-5, as a third party read it",
);
/// Source of the altitude factors.
pub const ALTITUDE_SOURCE: Source = cite(
    AC_43_13_1B,
    "par 11-66f, p. 11-27: 0.91 at 20,000 ft; straight line below (computed), 35,000 ft from memory",
);

/// Share of the bundle's capacity in use, by column.
const LOADED: [f64; 5] = [0.2, 0.4, 0.6, 0.8, 1.0];

/// By number of wires from 1: factor at each share of capacity in use.
const FACTORS: [[f64; 5]; 19] = [
    [1.0, 1.0, 1.0, 1.0, 1.0],
    [0.9675, 0.92, 0.91, 0.87, 0.825],
    [0.935, 0.855, 0.815, 0.77, 0.725],
    [0.9075, 0.805, 0.75, 0.705, 0.66],
    [0.875, 0.76, 0.695, 0.65, 0.61],
    [0.85, 0.725, 0.655, 0.605, 0.5725],
    [0.82, 0.695, 0.625, 0.57, 0.54],
    [0.795, 0.6675, 0.595, 0.5425, 0.5125],
    [0.775, 0.645, 0.575, 0.52, 0.485],
    [0.755, 0.6225, 0.55, 0.5, 0.465],
    [0.735, 0.6, 0.53, 0.48, 0.445],
    [0.715, 0.585, 0.515, 0.465, 0.43],
    [0.6975, 0.5675, 0.495, 0.4475, 0.415],
    [0.685, 0.5525, 0.48, 0.435, 0.3975],
    [0.67, 0.54, 0.465, 0.42, 0.385],
    [0.6575, 0.5275, 0.455, 0.41, 0.37],
    [0.645, 0.515, 0.4425, 0.3975, 0.36],
    [0.635, 0.505, 0.4325, 0.3875, 0.35],
    [0.625, 0.495, 0.4225, 0.38, 0.3425],
];

/// Beyond the table, c x wires^p fitted to its last rows (computed, not from a standard).
const BEYOND: [(f64, f64); 5] = [
    (1.4859, -0.2942),
    (1.4369, -0.3618),
    (1.4726, -0.4243),
    (1.3942, -0.4423),
    (1.5176, -0.5071),
];

/// Altitude in feet and factor.
const ALTITUDE: [(f64, f64); 4] = [
    (0.0, 1.0),
    (20_000.0, 0.91),
    (35_000.0, 0.86),
    (60_000.0, 0.77),
];

/// Factor of a bundle with this number of wires and share of its capacity in use (0 to 1, rounded
/// up to the next column: 0.2, 0.4 and so on).
pub fn bundle_factor(wires: usize, loaded: f64) -> f64 {
    // Slightly over a column counts as the column: sums of currents are not exact.
    let column = LOADED
        .iter()
        .position(|it| loaded <= it + 1e-6)
        .unwrap_or(LOADED.len() - 1);
    match wires {
        0 => 1.0,
        1..=19 => FACTORS[wires - 1][column],
        _ => {
            let (c, p) = BEYOND[column];
            c * (wires as f64).powf(p)
        }
    }
}

/// Share of a bundle's capacity in use, rounded up to a column of the table: the first at which its
/// wires may together carry `used_a`, where they could carry `alone_a` as single wires; 1 if no
/// column is enough.
pub fn loaded(wires: usize, used_a: f64, alone_a: f64) -> f64 {
    let holds = |part: &&f64| used_a <= *part * alone_a * bundle_factor(wires, **part);
    LOADED.iter().find(holds).copied().unwrap_or(1.0)
}

/// Factor at an altitude, ft: linear between the known points, the last line extended.
pub fn altitude_factor(altitude_ft: f64) -> f64 {
    let mut last = ALTITUDE[0];
    for point in ALTITUDE {
        if altitude_ft <= point.0 {
            let span = point.0 - last.0;
            let part = if span > 0.0 {
                (altitude_ft.max(0.0) - last.0) / span
            } else {
                0.0
            };
            return last.1 + part * (point.1 - last.1);
        }
        last = point;
    }
    last.1
}

/// Surroundings of a wire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surroundings {
    /// Temperature of the air, °C.
    pub ambient_c: f64,
    /// Highest altitude, ft.
    pub altitude_ft: f64,
    /// Wires in the bundle, itself included.
    pub wires: usize,
    /// Share of the bundle's capacity in use, 0 to 1.
    pub loaded: f64,
}

/// Continuous current that a wire may carry there, A; `None` for a size without a figure, or if the
/// air is as hot as the insulation's rating.
pub fn allowed_a(gauge: Gauge, insulation_c: f64, around: Surroundings) -> Option<f64> {
    let free_a = free_air::amps_at(gauge, insulation_c - around.ambient_c)?;
    Some(free_a * bundle_factor(around.wires, around.loaded) * altitude_factor(around.altitude_ft))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// AC 43.13-1B CHG 1, par 11-66f, p. 11-27, example 2: 47 A in free air, 8 wires of which 60 % is in
    /// use, 20,000 ft: 42.77 A, then "26 A" (25.66 with the document's own 0.6).
    #[test]
    fn example_2_of_the_circular() {
        assert!((47.0 * altitude_factor(20_000.0) - 42.77).abs() < 1e-9);
        let amps = 47.0 * altitude_factor(20_000.0) * bundle_factor(8, 0.6);
        assert!(
            (amps - 25.66).abs() < 0.26,
            "{amps}: the curve was read to half a percent"
        );
    }

    /// FAA-H-8083-31 ch. 9, harness of 35 wires, 20 % in use, 35,000 ft (answers from memory): 22 AWG
    /// 16.2 A becomes 8.4, then 7.2 A; 20 AWG 21.5 A becomes 11.2, then 9.6 A.
    #[test]
    fn harness_of_35_wires() {
        for (free_a, bundled_a, high_a) in [(16.2, 8.4, 7.2), (21.5, 11.2, 9.6)] {
            let bundled = free_a * bundle_factor(35, 0.2);
            assert!((bundled - bundled_a).abs() < 0.1, "{bundled}");
            let high = bundled * altitude_factor(35_000.0);
            assert!((high - high_a).abs() < 0.1, "{high}");
        }
    }

    /// The same, 12 wires of 12 AWG with all in use (from memory): 69 A becomes 29.7 A, 61 A becomes
    /// 26.2 A and at 20,000 ft 23.8 A.
    #[test]
    fn harness_of_12_wires() {
        assert!((69.0 * bundle_factor(12, 1.0) - 29.7).abs() < 0.05);
        let bundled = 61.0 * bundle_factor(12, 1.0);
        assert!((bundled - 26.2).abs() < 0.05);
        assert!((bundled * altitude_factor(20_000.0) - 23.8).abs() < 0.1);
    }

    #[test]
    fn more_wires_more_load_and_more_height_never_allow_more() {
        let around = |wires, loaded, altitude_ft| Surroundings {
            ambient_c: 70.0,
            altitude_ft,
            wires,
            loaded,
        };
        let amps = |around| allowed_a(Gauge(20), 150.0, around).expect("a usual wire");
        let mut last = f64::INFINITY;
        for wires in 1..60 {
            let now = amps(around(wires, 0.5, 8000.0));
            assert!(
                now <= last + 0.01 * last,
                "{wires} wires: {now} after {last}"
            );
            assert!(amps(around(wires, 0.9, 8000.0)) <= now);
            assert!(amps(around(wires, 0.5, 30_000.0)) < now);
            last = now;
        }
        assert_eq!(
            allowed_a(
                Gauge(20),
                105.0,
                Surroundings {
                    ambient_c: 110.0,
                    ..around(1, 0.2, 0.0)
                }
            ),
            None
        );
    }
}
