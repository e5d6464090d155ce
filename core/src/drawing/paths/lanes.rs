//! Lanes swapped: two wires that cross often need only change places, which neither gains from alone.

use super::{
    grid::{Axis, way},
    uncross::{Rerouting, cross},
};
use crate::drawing::geometry::Point;

/// Exchanges that are tried on a sheet; one that needs more is full, and gains little.
const TRIES_MAX: usize = 800;
/// How often all wires are looked at, as long as it gains something.
const ROUNDS: usize = 4;

/// Exchanges lanes of wires that cross, as long as that is cheaper.
pub(super) fn exchange(rerouting: &mut Rerouting<'_>, free: &[usize]) {
    let mut left = TRIES_MAX;
    for _ in 0..ROUNDS {
        let mut is_better = false;
        for (n, &i) in free.iter().enumerate() {
            for &j in &free[n + 1..] {
                if cross(&rerouting.paths[i], &rerouting.paths[j]) {
                    is_better |= rerouting.exchanged(i, j, &mut left);
                }
            }
        }
        if !is_better || left == 0 {
            return;
        }
    }
}

/// The lane of a piece between two corners of a path, by the index of its first corner: its axis and coordinate.
fn lane(path: &[Point], at: usize) -> (Axis, f64) {
    match Axis::of(way(path[at], path[at + 1])) {
        Axis::Level => (Axis::Level, path[at].y),
        Axis::Upright => (Axis::Upright, path[at].x),
    }
}

/// The pieces of a path that end at no pin.
fn inner(path: &[Point]) -> std::ops::Range<usize> {
    1..path.len().saturating_sub(2).max(1)
}

/// The path with one of its pieces on another lane.
fn moved(path: &[Point], at: usize, to: f64) -> Vec<Point> {
    let mut path = path.to_vec();
    let (axis, _) = lane(&path, at);
    for corner in &mut path[at..=at + 1] {
        match axis {
            Axis::Level => corner.y = to,
            Axis::Upright => corner.x = to,
        }
    }
    path
}

impl Rerouting<'_> {
    /// True if two wires are cheaper now that a piece of each has taken the lane of the other.
    fn exchanged(&mut self, i: usize, j: usize, left: &mut usize) -> bool {
        let (one, other) = (self.paths[i].clone(), self.paths[j].clone());
        for a in inner(&one) {
            for b in inner(&other) {
                let ((axis, from), (other_axis, to)) = (lane(&one, a), lane(&other, b));
                if *left == 0 || axis != other_axis || from == to {
                    continue;
                }
                *left -= 1;
                let new = [(i, moved(&one, a, to)), (j, moved(&other, b, from))];
                if self.cheaper(&new) {
                    return true;
                }
            }
        }
        false
    }

    /// Puts wires on other paths if they are cheaper there, all together.
    fn cheaper(&mut self, new: &[(usize, Vec<Point>)]) -> bool {
        let wires = || new.iter().map(|it| it.0);
        let Some(before) = self.costs(wires()) else {
            return false;
        };
        let old: Vec<_> = wires().map(|wire| (wire, self.take(wire))).collect();
        for (wire, path) in new {
            self.put_back(*wire, path.clone());
        }
        if self.costs(wires()).is_some_and(|after| after < before) {
            return true;
        }
        for wire in wires() {
            self.take(wire);
        }
        for (wire, path) in old {
            self.put_back(wire, path);
        }
        false
    }

    /// The cost of wires on the paths they have; none if one of them turns back on itself.
    fn costs(&mut self, mut wires: impl Iterator<Item = usize>) -> Option<u32> {
        wires.try_fold(0_u32, |sum, wire| {
            let path = self.take(wire);
            let cost = self.cost_of(wire, &path);
            self.put_back(wire, path);
            Some(sum.saturating_add(cost?))
        })
    }
}
