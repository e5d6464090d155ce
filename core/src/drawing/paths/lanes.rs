//! Lanes swapped: two wires that cross often need only change places, which neither gains from alone.

use super::{
    cross::cross,
    grid::{Axis, FREE, Grid, way},
    job::{Job, mark},
    one::{SearchBudget, cost_of, take_up},
};
use crate::drawing::geometry::Point;

/// Swaps that are tried on a sheet; one that needs more is full, and gains little.
const TRIES_MAX: usize = 800;
/// How often all wires are looked at, as long as it gains something.
const ROUNDS: usize = 4;

/// Swaps lanes of wires that cross, as long as that is cheaper.
pub(super) fn swap(grid: &mut Grid, jobs: &[Job], paths: &mut [Vec<Point>], care: SearchBudget) {
    let free: Vec<usize> = (0..jobs.len()).filter(|i| jobs[*i].by.is_none()).collect();
    let mut lanes = Lanes {
        grid,
        jobs,
        paths,
        care,
        left: TRIES_MAX,
    };
    for _ in 0..ROUNDS {
        let mut is_better = false;
        for (n, &i) in free.iter().enumerate() {
            for &j in &free[n + 1..] {
                if cross(&lanes.paths[i], &lanes.paths[j]) {
                    is_better |= lanes.swapped(i, j);
                }
            }
        }
        if !is_better || lanes.left == 0 {
            return;
        }
    }
}

/// The wires whose lanes are swapped.
struct Lanes<'a> {
    grid: &'a mut Grid,
    jobs: &'a [Job],
    paths: &'a mut [Vec<Point>],
    care: SearchBudget,
    /// How many more swaps may be tried.
    left: usize,
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

impl Lanes<'_> {
    /// True if two wires are cheaper now that a piece of each has taken the lane of the other.
    fn swapped(&mut self, i: usize, j: usize) -> bool {
        let (one, other) = (self.paths[i].clone(), self.paths[j].clone());
        for a in inner(&one) {
            for b in inner(&other) {
                let ((axis, from), (other_axis, to)) = (lane(&one, a), lane(&other, b));
                if self.left == 0 || axis != other_axis || from == to {
                    continue;
                }
                self.left -= 1;
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
            let cost = cost_of(self.grid, self.jobs, wire, self.care, &path);
            self.put_back(wire, path);
            Some(sum.saturating_add(cost?))
        })
    }

    /// Takes a wire off the sheet.
    fn take(&mut self, i: usize) -> Vec<Point> {
        take_up(self.grid, self.jobs, self.paths, i);
        std::mem::take(&mut self.paths[i])
    }

    fn put_back(&mut self, i: usize, path: Vec<Point>) {
        self.grid.lay_path(&path, mark(i), |there| there == FREE);
        self.paths[i] = path;
    }
}
