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
    use crate::standards::wire_table;

    /// Every size against Table 11-9 as printed: its 200 °C column is the free-air current at 130 K times one
    /// factor for bundle and altitude, which the printed free-air point fixes (14 AWG, 47 A at 150 K,
    /// AC 43.13-1B CHG 1, p. 11-27; current goes with the square root of the temperature difference). The table
    /// prints thin sizes to half an ampere; from 8 AWG on it has nine wires a bundle instead of 33, so there the
    /// factor comes from its 8 AWG row.
    #[test]
    fn every_size_agrees_with_the_printed_table() {
        let printed_a = |gauge| wire_table::find(gauge).expect("a row").amps_200c;
        let thin = printed_a(Gauge(14)) / (47.0 * (130.0_f64 / 150.0).sqrt());
        let thick = printed_a(Gauge(8)) / 118.3;
        for (gauge, ours) in ROWS {
            let factor = if gauge.is_thinner_than(Gauge(8)) {
                thin
            } else {
                thick
            };
            let from_table_a = printed_a(gauge) / factor;
            let rounding = 0.5 / printed_a(gauge);
            let difference = (ours[2] / from_table_a - 1.0).abs();
            assert!(
                difference <= rounding,
                "{gauge} AWG: {} against {from_table_a}",
                ours[2]
            );
            for (at, kelvin) in [(0, 35.0_f64), (1, 80.0)] {
                let root_a = ours[2] * (kelvin / 130.0).sqrt();
                assert!(
                    (ours[at] / root_a - 1.0).abs() < 0.01,
                    "{gauge} AWG at {kelvin} K"
                );
            }
        }
    }

    /// Points of figure 11-4a as worked examples use them (AC 11-69, FAA-H-8083-31 ch. 9; from memory): the
    /// model is within the rounding error of Table 11-9, 8.3 % at 22 AWG.
    #[test]
    fn remembered_points_of_the_free_air_figure_are_near() {
        for (gauge, kelvin, amps) in [(20, 140.0, 21.5), (22, 140.0, 16.2), (12, 175.0, 69.0)] {
            let ours_a = amps_at(Gauge(gauge), kelvin).expect("a row") / MARGIN;
            assert!(
                (ours_a / amps - 1.0).abs() < 0.083,
                "{gauge} AWG: {ours_a} against {amps}"
            );
        }
    }

    #[test]
    fn the_margin_is_taken_off() {
        assert_eq!(amps_max(Gauge(14), 200.0), Some(43.8 * 0.9));
        assert_eq!(amps_max(Gauge(14), 104.0), None);
        assert_eq!(amps_at(Gauge(14), 0.0), None);
    }
}
