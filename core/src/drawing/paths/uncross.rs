//! Wires laid anew a few at a time: a crossing, or a bend too many, often goes only if others give way.

use super::{
    Care, Job, find_one,
    grid::{Axis, FREE, Grid, way},
    lay_one, mark,
    plain::Reach,
    prices, reserve_ends,
    search::{ALONG, BEND, FULL_SHEET, Others, Search},
    shares, take_up,
};
use crate::drawing::geometry::{Point, Rect};

/// Pairs that are tried on a sheet; one that has more is full, and gains little.
const PAIRS_MAX: usize = 30;
/// What a step along a wire costs that may have to give way.
const YIELDS: u32 = 12;
/// Wires that may have to give way to one.
const ASIDE_MAX: usize = 4;
/// How often a wire is tried with others pushed aside.
const TRIES: usize = 4;

/// Lays wires anew by plain shapes, one first and then another, and keeps what is cheaper: one that bends more than
/// it must, and then those that it pushes aside; every two that cross, and one that bends more than it must with each
/// that it meets. A search would find next to nothing more.
pub fn uncross(
    grid: &mut Grid,
    search: &mut Search,
    jobs: &[Job],
    paths: &mut [Vec<Point>],
    care: Care,
) {
    search.spare = 0;
    let mut anew = Anew {
        grid,
        search,
        jobs,
        paths,
        care,
    };
    let is_free = |i: &usize| jobs[*i].by.is_none();
    let free: Vec<usize> = (0..jobs.len()).filter(is_free).collect();
    let mut bends: Vec<bool> = vec![false; jobs.len()];
    for &i in &free {
        if anew.bends(i) {
            bends[i] = !anew.push_aside(i);
        }
    }
    // Pairs grow with the square.
    if jobs.len() > FULL_SHEET {
        return;
    }
    let mut left = PAIRS_MAX;
    for (n, &i) in free.iter().enumerate() {
        for &j in &free[n + 1..] {
            if left == 0 {
                return;
            }
            let (one, other) = (&anew.paths[i], &anew.paths[j]);
            let meet = || Rect::around(one.clone()).overlaps(Rect::around(other.clone()));
            let gains = cross(one, other) || (bends[i] || bends[j]) && meet();
            if gains && !shares(jobs, i, mark(j)) {
                left -= 1;
                let _ = anew.laid_cheaper(i, &[j]) || anew.laid_cheaper(j, &[i]);
            }
        }
    }
}

/// What is laid anew.
struct Anew<'a> {
    grid: &'a mut Grid,
    search: &'a mut Search,
    jobs: &'a [Job],
    paths: &'a mut [Vec<Point>],
    care: Care,
}

impl Anew<'_> {
    /// True if a wire has two bends more than it must, or goes as far out of its way.
    fn bends(&mut self, i: usize) -> bool {
        self.price(i) >= 2 * BEND
    }

    /// Lays a wire where it would lie if others gave way, and then those; where that is dearer, once more
    /// with them in the way.
    fn push_aside(&mut self, i: usize) -> bool {
        let mut prices = prices(self.jobs, i, YIELDS);
        for _ in 0..TRIES {
            let Some(wires) = self.in_the_way(i, &prices) else {
                return false;
            };
            if wires.len() <= ASIDE_MAX && self.laid_cheaper(i, &wires) {
                return true;
            }
            for other in wires {
                prices[mark(other) as usize] = ALONG;
            }
        }
        false
    }

    /// The wires that one would lie on at such prices; none if it would bend no less.
    fn in_the_way(&mut self, i: usize, prices: &[u32]) -> Option<Vec<usize>> {
        let old = self.take(i);
        let (job, others) = (&self.jobs[i], Others(prices));
        let care = Care {
            nodes: 0,
            ..self.care
        };
        let (path, over) = find_one(self.grid, self.search, job, care, others, &[]);
        let bends_less = over < u32::MAX && path.len() < old.len();
        self.put_back(i, old);
        let mut wires = Vec::new();
        for (node, axis) in self.grid.nodes_on(&path) {
            let wire = self.grid.wire(node, axis);
            if wire != FREE && prices.get(wire as usize) == Some(&YIELDS) {
                let other = wire as usize - 1;
                if !wires.contains(&other) {
                    wires.push(other);
                }
            }
        }
        bends_less.then_some(wires)
    }

    /// Lays some wires in this order; puts all back where they were unless that is cheaper.
    fn laid_cheaper(&mut self, first: usize, then: &[usize]) -> bool {
        let wires = &[&[first], then].concat()[..];
        let before = self.prices(wires);
        let old: Vec<_> = wires.iter().map(|i| self.take(*i)).collect();
        for i in then {
            reserve_ends(self.grid, self.jobs, *i);
        }
        for (i, old) in wires.iter().zip(&old) {
            self.lay(*i, old, Reach::FULL);
        }
        if self.prices(wires) < before {
            return true;
        }
        for i in wires {
            self.take(*i);
        }
        for (i, path) in wires.iter().zip(old) {
            self.put_back(*i, path);
        }
        false
    }

    fn put_back(&mut self, i: usize, path: Vec<Point>) {
        self.grid.lay_path(&path, mark(i), |there| there == FREE);
        self.paths[i] = path;
    }

    fn prices(&mut self, wires: &[usize]) -> u32 {
        let prices = wires.iter().map(|i| self.price(*i));
        prices.fold(0, u32::saturating_add)
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
