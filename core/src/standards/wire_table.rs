//! Copper wire by gauge: current rating, resistance and area (FAA AC 43.13-1B CHG 1, Table 11-9), and
//! resistance at the conductor's temperature (same, p. 11-22).

use crate::{
    sources::{AC_43_13_1B, Source, cite},
    units::{Gauge, M_PER_FT},
};

/// Source of the table.
pub const SOURCE: Source = cite(
    AC_43_13_1B,
    "par 11-66, Table 11-9, p. 11-23, notes 1 and 2",
);

/// Source of the temperature correction.
pub const TEMPERATURE_SOURCE: Source = cite(AC_43_13_1B, "par 11-66, p. 11-22");

/// One row. The ratings hold for 70 °C ambient, 33 or more wires in the bundle (9 for size 8 and
/// larger), at most 20 % of the bundle's capacity in use, 60,000 ft; they are not free-air values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Size.
    pub gauge: Gauge,
    /// Largest continuous current with insulation for 105 °C, A.
    pub amps_105c: f64,
    /// Largest continuous current with insulation for 150 °C, A.
    pub amps_150c: f64,
    /// Largest continuous current with insulation for 200 °C, A.
    pub amps_200c: f64,
    /// Largest resistance at 20 °C, tin-plated copper, ohm per 1,000 ft.
    pub ohm_per_kft: f64,
    /// Nominal area, circular mil.
    pub circular_mil: f64,
}

const fn row(gauge: i8, amps: [f64; 3], ohm_per_kft: f64, circular_mil: f64) -> Row {
    Row {
        gauge: Gauge(gauge),
        amps_105c: amps[0],
        amps_150c: amps[1],
        amps_200c: amps[2],
        ohm_per_kft,
        circular_mil,
    }
}

/// The whole table, thinnest first.
pub const ROWS: [Row; 17] = [
    row(24, [2.5, 4.0, 5.0], 28.40, 475.0),
    row(22, [3.0, 5.0, 6.0], 16.20, 755.0),
    row(20, [4.0, 7.0, 9.0], 9.88, 1_216.0),
    row(18, [6.0, 9.0, 12.0], 6.23, 1_900.0),
    row(16, [7.0, 11.0, 14.0], 4.81, 2_426.0),
    row(14, [10.0, 14.0, 18.0], 3.06, 3_831.0),
    row(12, [13.0, 19.0, 25.0], 2.02, 5_874.0),
    row(10, [17.0, 26.0, 32.0], 1.26, 9_354.0),
    row(8, [38.0, 57.0, 71.0], 0.70, 16_983.0),
    row(6, [50.0, 76.0, 97.0], 0.44, 26_818.0),
    row(4, [68.0, 103.0, 133.0], 0.28, 42_615.0),
    row(2, [95.0, 141.0, 179.0], 0.18, 66_500.0),
    row(1, [113.0, 166.0, 210.0], 0.15, 81_700.0),
    row(0, [128.0, 192.0, 243.0], 0.12, 104_500.0),
    row(-1, [147.0, 222.0, 285.0], 0.09, 133_000.0),
    row(-2, [172.0, 262.0, 335.0], 0.07, 166_500.0),
    row(-3, [204.0, 310.0, 395.0], 0.06, 210_900.0),
];

/// The row of this size, if the table has it.
pub fn find(gauge: Gauge) -> Option<&'static Row> {
    ROWS.iter().find(|row| row.gauge == gauge)
}

impl Row {
    /// Largest resistance of the conductor only, one way, at 20 °C, ohm per meter.
    pub fn ohm_per_m(&self) -> f64 {
        self.ohm_per_kft / (1000.0 * M_PER_FT)
    }

    /// Largest continuous current for insulation rated `insulation_c`: the column at or below it.
    /// `None` under 105 °C, for which the table has no column.
    pub fn amps(&self, insulation_c: f64) -> Option<f64> {
        match insulation_c {
            c if c >= 200.0 => Some(self.amps_200c),
            c if c >= 150.0 => Some(self.amps_150c),
            c if c >= 105.0 => Some(self.amps_105c),
            _ => None,
        }
    }
}

/// Factor on the 20 °C resistance of copper at `conductor_c`: (234.5 + T) / 254.5.
pub fn copper_factor(conductor_c: f64) -> f64 {
    (234.5 + conductor_c) / 254.5
}

/// Largest resistance of a copper wire of this size, one way, with its conductor at `conductor_c`,
/// ohm per meter. For a size between or beyond the rows, the nearest row's resistance times area
/// and the area of the gauge formula are used (computed).
pub fn copper_ohm_per_m(gauge: Gauge, conductor_c: f64) -> f64 {
    let at_20c = find(gauge).map_or_else(
        || {
            let near = nearest(gauge);
            // The area halves about every three sizes: ratio 92^(1/39) in diameter per size (ASTM B258).
            let sizes = f64::from(gauge.0) - f64::from(near.gauge.0);
            near.ohm_per_m() * 92_f64.powf(2.0 * sizes / 39.0)
        },
        Row::ohm_per_m,
    );
    at_20c * copper_factor(conductor_c)
}

fn nearest(gauge: Gauge) -> &'static Row {
    let distance = |row: &Row| i32::from(row.gauge.0).abs_diff(i32::from(gauge.0));
    let mut best = &ROWS[0];
    for row in &ROWS {
        if distance(row) < distance(best) {
            best = row;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn first_middle_and_last_row_are_as_printed() {
        // FAA AC 43.13-1B CHG 1, Table 11-9, p. 11-23.
        let printed = [
            (Gauge(24), [2.5, 4.0, 5.0, 28.40, 475.0]),
            (Gauge(8), [38.0, 57.0, 71.0, 0.70, 16_983.0]),
            (Gauge(-3), [204.0, 310.0, 395.0, 0.06, 210_900.0]),
        ];
        for (gauge, figures) in printed {
            let row = find(gauge).expect("a size of the table");
            let ours = [
                row.amps_105c,
                row.amps_150c,
                row.amps_200c,
                row.ohm_per_kft,
                row.circular_mil,
            ];
            assert_eq!(ours, figures, "AWG {gauge}");
        }
    }

    #[test]
    fn every_size_has_a_row_and_thicker_is_never_worse() {
        assert!(
            Gauge::ALL
                .iter()
                .zip(&ROWS)
                .all(|(gauge, row)| *gauge == row.gauge)
        );
        for pair in ROWS.windows(2) {
            assert!(pair[1].ohm_per_kft < pair[0].ohm_per_kft);
            assert!(pair[1].amps_105c > pair[0].amps_105c);
            assert!(pair[1].circular_mil > pair[0].circular_mil);
        }
    }

    #[test]
    fn a_size_the_table_lacks_lies_between_its_neighbours() {
        let ohm = |n| copper_ohm_per_m(Gauge(n), 20.0);
        assert!(ohm(26) > ohm(24));
        assert!(ohm(3) < ohm(4) && ohm(3) > ohm(2));
    }

    #[test]
    fn a_rating_takes_the_column_at_or_under_the_insulation() {
        let row = find(Gauge(18)).expect("a size of the table");
        assert_eq!(row.amps(150.0), Some(9.0));
        assert_eq!(row.amps(199.0), Some(9.0));
        assert_eq!(row.amps(260.0), Some(12.0));
        assert_eq!(row.amps(90.0), None);
    }
}
