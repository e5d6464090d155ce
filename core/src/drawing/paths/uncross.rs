//! Wires laid anew two at a time: a crossing, or a bend too many, often goes only if both give way.

use super::{
    Care, Job,
    grid::{Axis, Grid, way},
    lay_one, mark,
    plain::Reach,
    reserve_ends,
    search::{BEND, Search},
    shares, take_up,
};
use crate::drawing::geometry::{Point, Rect};

/// Wires on a sheet up to which they are taken two at a time: their pairs grow with the square.
const WIRES_MAX: usize = 200;
/// Pairs that are tried on a sheet; one that has more is full, and gains little.
const PAIRS_MAX: usize = 30;

/// Lays wires anew by plain shapes, one first and then another, and keeps what is cheaper: every two that cross, and
/// one that bends more than it must with each that it meets. A search would find next to nothing more.
pub fn uncross(
    grid: &mut Grid,
    search: &mut Search,
    jobs: &[Job],
    paths: &mut [Vec<Point>],
    care: Care,
) {
    if jobs.len() > WIRES_MAX {
        return;
    }
    search.spare = 0;
    let mut pair = Pair {
        grid,
        search,
        jobs,
        paths,
        care,
    };
    let is_free = |i: &usize| jobs[*i].by.is_none();
    let free: Vec<usize> = (0..jobs.len()).filter(is_free).collect();
    let mut bends: Vec<bool> = vec![false; jobs.len()];
    for i in &free {
        bends[*i] = pair.price(*i) >= 2 * BEND;
    }
    let mut left = PAIRS_MAX;
    for (n, &i) in free.iter().enumerate() {
        for &j in &free[n + 1..] {
            if left == 0 {
                return;
            }
            let (one, other) = (&pair.paths[i], &pair.paths[j]);
            let meet = || Rect::around(one.clone()).overlaps(Rect::around(other.clone()));
            let gains = cross(one, other) || (bends[i] || bends[j]) && meet();
            if gains && !shares(jobs, i, mark(j)) {
                left -= 1;
                let _ = pair.laid_cheaper(i, j) || pair.laid_cheaper(j, i);
            }
        }
    }
}

/// What is laid on.
struct Pair<'a> {
    grid: &'a mut Grid,
    search: &'a mut Search,
    jobs: &'a [Job],
    paths: &'a mut [Vec<Point>],
    care: Care,
}

impl Pair<'_> {
    /// Lays one first and then the other; puts both back where they were unless that is cheaper.
    fn laid_cheaper(&mut self, first: usize, second: usize) -> bool {
        let before = self.price(first).saturating_add(self.price(second));
        let old = [first, second].map(|i| self.take(i));
        reserve_ends(self.grid, self.jobs, second);
        self.lay(first, &old[0], Reach::FULL);
        let then = self.lay(second, &old[1], Reach::FULL);
        if then.saturating_add(self.price(first)) < before {
            return true;
        }
        for i in [first, second] {
            self.take(i);
        }
        for (i, path) in [first, second].into_iter().zip(old) {
            self.grid.lay_path(&path, mark(i), |_| true);
            self.paths[i] = path;
        }
        false
    }

    /// What a wire costs where it lies.
    fn price(&mut self, i: usize) -> u32 {
        let path = self.take(i);
        self.lay(i, &path, Reach::NONE)
    }

    /// Takes a wire off the sheet.
    fn take(&mut self, i: usize) -> Vec<Point> {
        take_up(self.grid, self.jobs, self.paths, i);
        std::mem::take(&mut self.paths[i])
    }

    /// Lays a wire that is off the sheet, no dearer than the path it had.
    fn lay(&mut self, i: usize, known: &[Point], reach: Reach) -> u32 {
        let care = Care { reach, ..self.care };
        let (path, over) = lay_one(self.grid, self.search, self.jobs, i, care, known);
        self.paths[i] = path;
        over
    }
}

/// True if a level piece of one path runs across an upright piece of the other.
fn cross(one: &[Point], other: &[Point]) -> bool {
    let crosses = |level: &[Point], upright: &[Point]| {
        let within = |at: f64, a: f64, b: f64| at > a.min(b) && at < a.max(b);
        within(upright[0].x, level[0].x, level[1].x)
            && within(level[0].y, upright[0].y, upright[1].y)
    };
    one.windows(2).any(|a| {
        other.windows(2).any(
            |b| match (Axis::of(way(a[0], a[1])), Axis::of(way(b[0], b[1]))) {
                (Axis::Level, Axis::Upright) => crosses(a, b),
                (Axis::Upright, Axis::Level) => crosses(b, a),
                _ => false,
            },
        )
    })
}
