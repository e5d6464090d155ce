//! Current rating of a single copper wire in free air at sea level, implied by AC 43.13-1B Table
//! 11-9 and its one printed free-air point (14 AWG, 150 K, 47 A). A model, not a table of any
//! standard.

use crate::{
    sources::{AC_43_13_1B, Source, cite},
    units::Gauge,
};

/// Source of the model.
pub const SOURCE: Source = cite(
    AC_43_13_1B,
    "computed from Table 11-9 and the 47 A point of par 11-66f, p. 11-27, less 10 %",
);

/// Margin of the model, because rounding in the source alone accounts for up to 10 %.
const MARGIN: f64 = 0.9;

/// Size; A at 35 K, 80 K and 130 K between the insulation's rating and 70 °C ambient.
const ROWS: [(Gauge, [f64; 3]); 17] = [
    (Gauge(24), [6.3, 9.5, 12.2]),
    (Gauge(22), [7.6, 11.4, 14.6]),
    (Gauge(20), [11.4, 17.2, 21.9]),
    (Gauge(18), [15.1, 22.9, 29.2]),
    (Gauge(16), [17.7, 26.7, 34.0]),
    (Gauge(14), [22.7, 34.3, 43.8]),
    (Gauge(12), [31.5, 47.7, 60.8]),
    (Gauge(10), [40.4, 61.0, 77.8]),
    (Gauge(8), [61.4, 92.8, 118.3]),
    (Gauge(6), [83.9, 126.8, 161.6]),
    (Gauge(4), [115.0, 173.8, 221.6]),
    (Gauge(2), [154.7, 233.9, 298.2]),
    (Gauge(1), [181.5, 274.5, 349.9]),
    (Gauge(0), [210.1, 317.6, 404.9]),
    (Gauge(-1), [246.4, 372.5, 474.8]),
    (Gauge(-2), [289.6, 437.8, 558.1]),
    (Gauge(-3), [341.5, 516.3, 658.1]),
];

/// Largest continuous current of a single wire in free air at 70 °C ambient and sea level, A, for
/// insulation rated `insulation_c`. `None` under 105 °C or for a size without a row.
pub fn amps_max(gauge: Gauge, insulation_c: f64) -> Option<f64> {
    let (_, amps) = ROWS.iter().find(|row| row.0 == gauge)?;
    let column = match insulation_c {
        c if c >= 200.0 => 2,
        c if c >= 150.0 => 1,
        c if c >= 105.0 => 0,
        _ => return None,
    };
    Some(amps[column] * MARGIN)
}

/// Largest continuous current of a single wire in free air at sea level in air `kelvin` cooler than
/// its insulation rating, A: the root law from the 130 K column. `None` for a size without a row,
/// or if the air is not cooler.
pub fn amps_at(gauge: Gauge, kelvin: f64) -> Option<f64> {
    let (_, amps) = ROWS.iter().find(|row| row.0 == gauge)?;
    (kelvin > 0.0).then(|| amps[2] * (kelvin / 130.0).sqrt() * MARGIN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn follows_from_the_printed_point_and_the_square_root_law() {
        // 47 A at 150 K is printed (AC 43.13-1B CHG 1, p. 11-27); current goes with the root of the
        // temperature difference (exponent 0.50 over Table 11-9's columns, computed).
        for (kelvin, insulation_c) in [(80.0_f64, 150.0), (130.0, 200.0)] {
            let expected_a = 47.0 * (kelvin / 150.0).sqrt() * MARGIN;
            let ours_a = amps_max(Gauge(14), insulation_c).expect("a row");
            assert!(
                (ours_a - expected_a).abs() < 0.1,
                "{ours_a} against {expected_a}"
            );
        }
    }
}
