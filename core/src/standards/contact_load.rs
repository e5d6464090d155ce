//! What a size 20 crimp contact of a D-sub carries, by wire and by how many contacts of the connector carry current.

use crate::{
    sources::{Source, cite},
    units::Gauge,
};

/// Source of the factors.
pub const SOURCE: Source = cite(
    "a maker's product specification of crimp contacts in D-sub shells",
    "figure 4B: share of the current of a single circuit, by loading and wire",
);

/// Wires of the columns.
const GAUGES: [Gauge; 6] = [
    Gauge(28),
    Gauge(26),
    Gauge(24),
    Gauge(22),
    Gauge(20),
    Gauge(18),
];
/// Share of contacts that carry current, and the factors.
const FACTORS: [(f64, [f64; 6]); 5] = [
    (0.0, [0.384, 0.45, 0.536, 0.647, 0.795, 1.0]),
    (0.26, [0.237, 0.278, 0.342, 0.4, 0.491, 0.618]),
    (0.5, [0.164, 0.193, 0.229, 0.277, 0.341, 0.428]),
    (0.76, [0.132, 0.155, 0.184, 0.222, 0.273, 0.344]),
    (1.0, [0.114, 0.134, 0.159, 0.192, 0.236, 0.297]),
];

/// The factor as printed, for a row and a wire: 1 is a single contact with 18 AWG. Between two rows the one with more
/// contacts counts. `None` for a wire that the table has not.
pub fn factor(loaded: usize, contacts: usize, gauge: Gauge) -> Option<f64> {
    let column = GAUGES.iter().position(|it| *it == gauge)?;
    let share = match loaded {
        0 | 1 => 0.0,
        n => n as f64 / contacts.max(n) as f64,
    };
    let (_, row) = FACTORS.iter().find(|(most, _)| share <= *most + 1e-9)?;
    Some(row[column])
}

/// What a contact carries, A, if its rating is that of one contact alone with 20 AWG (so makers rate size 20: from
/// memory).
pub fn derated_a(rating_a: f64, loaded: usize, contacts: usize, gauge: Gauge) -> Option<f64> {
    let alone = factor(1, contacts, Gauge(20))?;
    Some(rating_a * factor(loaded, contacts, gauge)? / alone)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cells of the printed table.
    #[test]
    fn factors_are_those_printed() {
        for (loaded, contacts, gauge, printed) in [
            (1, 25, 22, 0.647),
            (25, 25, 22, 0.192),
            (13, 25, 20, 0.273),
            (12, 25, 20, 0.341),
            (2, 15, 24, 0.342),
        ] {
            assert_eq!(
                factor(loaded, contacts, Gauge(gauge)),
                Some(printed),
                "{loaded}"
            );
        }
        assert_eq!(factor(3, 9, Gauge(16)), None);
    }

    /// A fully loaded connector with 22 AWG: 0.192 of 0.647, about 30 %.
    #[test]
    fn more_contacts_and_thinner_wire_carry_less() {
        assert_eq!(derated_a(7.5, 1, 9, Gauge(20)), Some(7.5));
        let [alone, full] = [1, 37].map(|n| derated_a(5.0, n, 37, Gauge(22)).expect("it"));
        assert!((full / alone - 0.297).abs() < 0.001, "{full} of {alone}");
        let all: Vec<_> = (1..=37)
            .filter_map(|n| derated_a(5.0, n, 37, Gauge(20)))
            .collect();
        assert!(all.is_sorted_by(|a, b| a >= b) && all.len() == 37);
    }
}
