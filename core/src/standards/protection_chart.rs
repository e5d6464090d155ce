//! The largest breaker and fuse for each copper wire (FAA AC 43.13-1B, Table 11-3).
//!
//! The basis is missing in the copy that was read; from memory: 57 °C ambient, up to 30,000 ft,
//! bundles of 15 or more wires with at most 20 % of the bundle's capacity in use, protectors at 24
//! to 29 °C. The pairing of the chart's columns is by order. A single wire in open air may take the
//! next larger breaker (read there).

use crate::{
    sources::{AC_43_13_1B_1998, Source, cite},
    units::Gauge,
};

/// Source of the chart.
pub const SOURCE: Source = cite(
    AC_43_13_1B_1998,
    "par 11-48 and 11-49, Table 11-3, p. 11-15",
);

/// Gauge, breaker A, fuse A.
const CHART: [(Gauge, Option<f64>, f64); 13] = [
    (Gauge(22), Some(5.0), 5.0),
    (Gauge(20), Some(7.5), 5.0),
    (Gauge(18), Some(10.0), 10.0),
    (Gauge(16), Some(15.0), 10.0),
    (Gauge(14), Some(20.0), 15.0),
    (Gauge(12), Some(30.0), 20.0),
    (Gauge(10), Some(40.0), 30.0),
    (Gauge(8), Some(50.0), 50.0),
    (Gauge(6), Some(80.0), 70.0),
    (Gauge(4), Some(100.0), 70.0),
    (Gauge(2), Some(125.0), 100.0),
    (Gauge(1), None, 150.0),
    (Gauge(0), None, 150.0),
];

/// The largest breaker for a wire, A; `None` if the chart has none for its size.
pub fn breaker_a(gauge: Gauge) -> Option<f64> {
    row(gauge)?.1
}

/// The largest fuse for a wire, A; `None` if the chart has none for its size.
pub fn fuse_a(gauge: Gauge) -> Option<f64> {
    Some(row(gauge)?.2)
}

/// The largest breaker or fuse for a wire, A.
pub fn protector_a(gauge: Gauge) -> Option<f64> {
    row(gauge).map(|(_, breaker, fuse)| breaker.unwrap_or(fuse).max(fuse))
}

/// The thinnest wire that a breaker of this rating may protect.
pub fn gauge_for_breaker(rating_a: f64) -> Option<Gauge> {
    CHART
        .iter()
        .find(|(_, breaker, _)| breaker.is_some_and(|breaker| rating_a <= breaker))
        .map(|(gauge, ..)| *gauge)
}

fn row(gauge: Gauge) -> Option<(Gauge, Option<f64>, f64)> {
    CHART.into_iter().find(|(of, ..)| *of == gauge)
}

#[cfg(test)]
mod tests {
    use super::{breaker_a, fuse_a, gauge_for_breaker, protector_a};
    use crate::units::Gauge;

    /// Values as printed in Table 11-3.
    #[test]
    fn reads_as_the_chart_is_printed() {
        assert_eq!(breaker_a(Gauge(22)), Some(5.0));
        assert_eq!(
            (breaker_a(Gauge(18)), fuse_a(Gauge(18))),
            (Some(10.0), Some(10.0))
        );
        assert_eq!(
            (breaker_a(Gauge(6)), fuse_a(Gauge(6))),
            (Some(80.0), Some(70.0))
        );
        assert_eq!((breaker_a(Gauge(1)), fuse_a(Gauge(1))), (None, Some(150.0)));
        assert_eq!((breaker_a(Gauge(24)), fuse_a(Gauge(24))), (None, None));
    }

    #[test]
    fn thicker_wires_take_larger_protectors() {
        let rated: Vec<f64> = Gauge::ALL.into_iter().filter_map(protector_a).collect();
        assert!(rated.is_sorted());
        assert_eq!(gauge_for_breaker(15.0), Some(Gauge(16)));
        assert_eq!(gauge_for_breaker(126.0), None);
    }
}
