//! Opening time of a breaker or fuse: a band over multiples of its rating, from published points.

use crate::sources::{ISO_8820_3, Source, cite};

/// Source of the blade fuse bands.
pub const BLADE_SOURCE: Source = cite(
    ISO_8820_3,
    "opening times, as makers' sheets quote them; the standard itself was not read",
);

/// Earliest and latest opening time at a multiple of the rating, s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opens {
    /// It does not open before this time.
    pub earliest_s: f64,
    /// It opens by this time; infinite if it may never open.
    pub latest_s: f64,
}

/// A published point: multiple of the rating, earliest and latest opening time, s.
type PointOfBand = (f64, f64, f64);

const FOR_EVER: f64 = f64::INFINITY;

/// Blade fuses up to [`LARGEST_BLADE_A`]: the union of the published bands, so no fuse of this kind
/// is quicker or slower.
const BLADE: &[PointOfBand] = &[
    (1.0, 360_000.0, FOR_EVER),
    (1.35, 0.75, 600.0),
    (2.0, 0.15, 5.0),
    (3.5, 0.08, 0.5),
    (6.0, 0.0, 0.15),
];

/// The larger size of blade, up to 80 A.
const LARGE_BLADE: &[PointOfBand] = &[
    (1.0, 360_000.0, FOR_EVER),
    (1.35, 60.0, 1800.0),
    (2.0, 2.0, 50.0),
    (3.5, 0.2, 7.0),
    (6.0, 0.04, 1.0),
];

/// Largest rating in the common blade size, A; a larger fuse is assumed to have the larger blade.
const LARGEST_BLADE_A: f64 = 40.0;

/// Opening time of a blade fuse at a multiple of its rating, by straight lines between the
/// published points on logarithmic scales. Above the last point, current squared times time stays
/// at its value there: an element that melts this quickly loses no heat (common practice for fuses,
/// no source).
pub fn blade(rating_a: f64, multiple: f64) -> Opens {
    let band = match rating_a > LARGEST_BLADE_A {
        true => LARGE_BLADE,
        false => BLADE,
    };
    let (Some(first), Some(last)) = (band.first(), band.last()) else {
        unreachable!("the table has rows");
    };
    if multiple <= first.0 {
        return Opens {
            earliest_s: first.1,
            latest_s: FOR_EVER,
        };
    }
    if multiple >= last.0 {
        return Opens {
            earliest_s: if multiple > last.0 { 0.0 } else { last.1 },
            latest_s: last.2 * (last.0 / multiple).powi(2),
        };
    }
    let next = band.partition_point(|point| point.0 <= multiple);
    let (low, high) = (band[next - 1], band[next]);
    let share = (multiple / low.0).ln() / (high.0 / low.0).ln();
    let between = |low_s: f64, high_s: f64| {
        if share <= 0.0 {
            low_s
        } else if low_s.is_infinite() {
            FOR_EVER
        } else if high_s <= 0.0 {
            0.0
        } else {
            (low_s.ln() + share * (high_s.ln() - low_s.ln())).exp()
        }
    };
    Opens {
        earliest_s: between(low.1, high.1),
        latest_s: between(low.2, high.2),
    }
}

/// Opening time of a thermal breaker from one known point: `trip_s` at twice its rating, and the
/// multiple it carries indefinitely. The shape is the thermal overload characteristic of IEC 60255
/// (from memory). `None` at or below that multiple.
///
/// No trip table of an aircraft breaker could be read: the builder enters the point from the
/// maker's data sheet of the installed breaker.
pub fn thermal_s(trip_s: f64, carries: f64, multiple: f64) -> Option<f64> {
    let shape = |multiple: f64| {
        let square = multiple.powi(2);
        (square / (square - carries.powi(2))).ln()
    };
    (multiple > carries).then(|| trip_s / shape(2.0) * shape(multiple))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blade_fuses_open_as_makers_publish() {
        let at = |multiple| blade(10.0, multiple);
        assert!((blade(60.0, 3.5).latest_s - 7.0).abs() < 1e-9);
        assert_eq!(at(1.35).latest_s, 600.0);
        assert!((at(2.0).latest_s - 5.0).abs() < 1e-9);
        assert!((at(3.5).earliest_s - 0.08).abs() < 1e-9);
        assert_eq!(at(1.0).latest_s, f64::INFINITY);
        assert!((at(6.0).latest_s - 0.15).abs() < 1e-9);
        assert!((at(20.0).latest_s * 20.0_f64.powi(2) - 0.15 * 36.0).abs() < 1e-9);
        let between = at(2.6).latest_s;
        assert!((0.5..5.0).contains(&between), "{between}");
    }

    #[test]
    fn more_current_never_opens_later() {
        let mut last = f64::INFINITY;
        for step in 100..800 {
            let opens = blade(5.0, f64::from(step) / 100.0);
            assert!(
                opens.latest_s <= last && opens.earliest_s <= opens.latest_s,
                "{step}"
            );
            last = opens.latest_s;
        }
    }

    #[test]
    fn a_breaker_with_one_known_point_follows_the_thermal_curve() {
        // 7.5 A breaker, carries 125 %, 15 s at 200 % (an illustrative point, no maker's).
        let at = |amps: f64| thermal_s(15.0, 1.25, amps / 7.5);
        for (amps, expected_s) in [
            (10.0, 63.933_945),
            (15.0, 15.0),
            (20.0, 7.513_632),
            (30.0, 3.111_911),
            (60.0, 0.748_515),
            (111.956_593, 0.213_096),
        ] {
            let found_s = at(amps).expect("it opens");
            assert!(
                (found_s / expected_s - 1.0).abs() < 1e-5,
                "{amps}: {found_s}"
            );
        }
        assert_eq!(at(9.0), None);
    }
}
