//! Where paths cross.

use super::grid::{Axis, way};
use crate::drawing::geometry::Point;

/// True if a horizontal segment of one path crosses a vertical segment of the other.
pub(super) fn cross(one: &[Point], other: &[Point]) -> bool {
    crossed(one, other).next().is_some()
}

/// How often two paths cross.
pub fn crossings(one: &[Point], other: &[Point]) -> usize {
    crossed(one, other).count()
}

/// A one for each crossing of two paths.
fn crossed<'p>(one: &'p [Point], other: &'p [Point]) -> impl Iterator<Item = ()> + 'p {
    let crosses = |level: &[Point], upright: &[Point]| {
        let within = |at: f64, a: f64, b: f64| at > a.min(b) && at < a.max(b);
        within(upright[0].x, level[0].x, level[1].x)
            && within(level[0].y, upright[0].y, upright[1].y)
    };
    let axis = |it: &[Point]| Axis::of(way(it[0], it[1]));
    let pairs = one.windows(2);
    let pairs = pairs.flat_map(move |a| other.windows(2).map(move |b| (a, b)));
    pairs
        .filter(move |(a, b)| match (axis(a), axis(b)) {
            (Axis::Level, Axis::Upright) => crosses(a, b),
            (Axis::Upright, Axis::Level) => crosses(b, a),
            _ => false,
        })
        .map(|_| ())
}
