//! Routes wires again a few at a time: a crossing, or an extra bend, often disappears only if others give way.

use super::{
    cross::cross,
    grid::{FREE, Grid},
    job::{Job, Stop, mark, prices, shares},
    one::{SearchBudget, find_one, lay_one, reserve_ends, take_up},
    plain::Reach,
    search::{ALONG, BEND, FULL_SHEET, Others, Search},
};
use crate::drawing::geometry::{LATTICE_MM, Point, Rect};

/// Pairs that are tried on a sheet; one that has more is full, and gains little.
const PAIRS_MAX: usize = 15;
/// The cost of a step along a wire that may have to give way.
const YIELDS: u32 = 4;
/// How often a wire is tried with others pushed aside.
const TRIES: usize = 8;
/// How many wires are laid in one try.
const MOVES_MAX: usize = 24;
/// Plain shapes that take as long as one wide one.
const WIDE: usize = 20;
/// Points of the longest plain shape; only on a full sheet is a wider one worth its time for what has more.
const PLAIN_MAX: usize = 6;

/// Routes wires again with plain shapes, first one and then another, and keeps what is cheaper: one with more bends
/// than necessary, and then those that it displaces; every two that cross, and one with more bends than necessary
/// together with each that it meets. A search would find almost nothing more.
pub fn uncross(
    grid: &mut Grid,
    search: &mut Search,
    jobs: &[Job],
    paths: &mut [Vec<Point>],
    care: SearchBudget,
) {
    search.spare = 0;
    let mut rerouting = Rerouting {
        grid,
        search,
        jobs,
        paths,
        care,
        // A sheet that needs more is crammed, and gains little.
        ways: jobs.len(),
    };
    let is_free = |i: &usize| jobs[*i].by.is_none();
    let free: Vec<usize> = (0..jobs.len()).filter(is_free).collect();
    let mut bends: Vec<bool> = vec![false; jobs.len()];
    for &i in &free {
        if rerouting.bends(i) {
            bends[i] = !rerouting.push_aside(i);
        }
    }
    // Pairs grow with the square.
    if jobs.len() > FULL_SHEET {
        return;
    }
    rerouting.lay_pairs_again(&free, &bends);
}

/// What pushing wires aside did so far.
#[derive(Default)]
struct Displaced {
    /// Wires that were moved, where each lay before, and how often it was laid.
    moved: Vec<(usize, Vec<Point>, u32)>,
    /// Those that the first one now runs on.
    first: Vec<usize>,
}

/// How pushing wires aside ended.
enum End {
    /// None runs on another.
    Clear,
    /// One has no path.
    Stuck(usize),
    /// It takes too long.
    Long,
}

/// What is routed again.
struct Rerouting<'a> {
    grid: &'a mut Grid,
    search: &'a mut Search,
    jobs: &'a [Job],
    paths: &'a mut [Vec<Point>],
    care: SearchBudget,
    /// How many more paths may be tried.
    ways: usize,
}

impl Rerouting<'_> {
    /// Lays two wires that are in each other's way again, one and then the other.
    fn lay_pairs_again(&mut self, free: &[usize], bends: &[bool]) {
        let mut left = PAIRS_MAX;
        for (n, &i) in free.iter().enumerate() {
            for &j in &free[n + 1..] {
                if left == 0 {
                    return;
                }
                let (one, other) = (&self.paths[i], &self.paths[j]);
                let meet = || Rect::around(one.clone()).overlaps(Rect::around(other.clone()));
                let gains = cross(one, other) || (bends[i] || bends[j]) && meet();
                if gains && !shares(self.jobs, i, mark(j)) {
                    left -= 1;
                    let _ = self.laid_cheaper(i, j) || self.laid_cheaper(j, i);
                }
            }
        }
    }

    /// True if a wire has two bends more than necessary, or a detour as long.
    fn bends(&mut self, i: usize) -> bool {
        self.price(i) >= 2 * BEND
    }

    /// Routes a wire with fewer bends where others gave way, as soon as all together are cheaper. A wire that had
    /// nowhere else to go stays in the next try; or else one of those that the wire now runs on comes first.
    fn push_aside(&mut self, i: usize) -> bool {
        let mut tries = vec![Vec::new()];
        for _ in 0..TRIES {
            let Some(stay) = tries.pop().filter(|_| self.ways > 0) else {
                return false;
            };
            let mut pushed = Displaced::default();
            let end = self.push(i, &stay, &mut pushed);
            if self.keep_if_cheaper(pushed.moved, matches!(end, End::Clear)) {
                return true;
            }
            let first = pushed.first;
            let next = match end {
                End::Stuck(wire) if wire == i => Vec::new(),
                End::Stuck(wire) if first.contains(&wire) => vec![wire],
                End::Stuck(wire) => [&first[..], &[wire]].concat(),
                End::Clear | End::Long => first,
            };
            tries.extend(next.iter().map(|wire| [&stay[..], &[*wire]].concat()));
        }
        false
    }

    /// Routes a wire with fewer bends over others, then those over others, and on until none runs on another. A
    /// wire that gave way costs more to move again, as in negotiated congestion (McMurchie and Ebeling 1995).
    fn push(&mut self, i: usize, stay: &[usize], pushed: &mut Displaced) -> End {
        let corners = self.paths[i].len();
        let mut next = vec![i];
        pushed.moved.push((i, self.take(i), 0));
        for _ in 0..MOVES_MAX {
            for wire in &next {
                reserve_ends(self.grid, self.jobs, *wire);
            }
            let Some(wire) = next.pop() else {
                return End::Clear;
            };
            let mut prices = prices(self.jobs, wire, YIELDS);
            for (other, _, times) in &pushed.moved {
                let price = &mut prices[mark(*other) as usize];
                if *price == YIELDS {
                    *price = YIELDS.saturating_mul(1 << times).min(ALONG);
                }
            }
            for other in stay.iter().chain([&i]).filter(|other| **other != wire) {
                prices[mark(*other) as usize] = ALONG;
            }
            let is_wide = wire == i && corners > PLAIN_MAX && self.jobs.len() > FULL_SHEET;
            self.ways = self.ways.saturating_sub(if is_wide { WIDE } else { 1 });
            let reach = if is_wide { Reach::WIDE } else { Reach::FULL };
            let way = self.way_through(wire, reach, prices);
            let Some((path, over)) = way.filter(|way| wire != i || way.0.len() < corners) else {
                return End::Stuck(wire);
            };
            if wire == i {
                pushed.first.clone_from(&over);
            }
            for other in over {
                let old = self.take(other);
                if pushed.moved.iter().all(|it| it.0 != other) {
                    pushed.moved.push((other, old, 0));
                }
                next.push(other);
            }
            if let Some(it) = pushed.moved.iter_mut().find(|it| it.0 == wire) {
                it.2 += 1;
            }
            self.put_back(wire, path);
        }
        End::Long
    }

    /// The best plain path of a wire that is off the sheet, and the wires it would run on, but never on their ends,
    /// which cannot give way.
    fn way_through(
        &mut self,
        i: usize,
        reach: Reach,
        mut prices: Vec<u32>,
    ) -> Option<(Vec<Point>, Vec<usize>)> {
        let care = SearchBudget {
            nodes: 0,
            reach,
            ..self.care
        };
        for _ in 0..TRIES {
            let others = Others {
                along: &prices,
                cross: self.care.cross,
            };
            let job = &self.jobs[i];
            let (path, _) = find_one(self.grid, self.search, job, care, others, &[]);
            let mut over = Vec::new();
            let mut ends = Vec::new();
            for (node, axis) in self.grid.nodes_on(&path) {
                let wire = self.grid.wire(node, axis);
                if wire == FREE || shares(self.jobs, i, wire) {
                    continue;
                }
                if others.along(wire) >= ALONG {
                    return None;
                }
                let (other, at) = (wire as usize - 1, self.grid.point(node));
                let is_end =
                    |it: &Stop| at.distance(it.at) <= f64::from(it.straight.max(1)) * LATTICE_MM;
                if self.jobs[other].by.is_some() || self.jobs[other].ends.iter().any(is_end) {
                    ends.push(wire);
                } else if !over.contains(&other) {
                    over.push(other);
                }
            }
            if ends.is_empty() {
                return Some((path, over));
            }
            for wire in ends {
                prices[wire as usize] = ALONG;
            }
        }
        None
    }

    /// Puts moved wires back where they were, unless they are done and now cheaper.
    fn keep_if_cheaper(&mut self, moved: Vec<(usize, Vec<Point>, u32)>, is_done: bool) -> bool {
        let wires: Vec<usize> = moved.iter().map(|it| it.0).collect();
        let after = is_done.then(|| self.prices(&wires));
        let new: Vec<_> = wires.iter().map(|wire| self.take(*wire)).collect();
        for (wire, old, _) in moved {
            self.put_back(wire, old);
        }
        if after.is_none_or(|after| after >= self.prices(&wires)) {
            return false;
        }
        for wire in &wires {
            self.take(*wire);
        }
        for (wire, path) in wires.into_iter().zip(new) {
            self.put_back(wire, path);
        }
        true
    }

    /// Lays one wire and then another, unless they are no cheaper then.
    fn laid_cheaper(&mut self, first: usize, then: usize) -> bool {
        let moved = [first, then].map(|i| (i, self.take(i), 0));
        reserve_ends(self.grid, self.jobs, then);
        for (i, old, _) in &moved {
            self.lay(*i, old, Reach::FULL);
        }
        self.keep_if_cheaper(moved.into(), true)
    }

    fn put_back(&mut self, i: usize, path: Vec<Point>) {
        self.grid.lay_path(&path, mark(i), |there| there == FREE);
        self.paths[i] = path;
    }

    fn prices(&mut self, wires: &[usize]) -> u32 {
        let prices = wires.iter().map(|i| self.price(*i));
        prices.fold(0, u32::saturating_add)
    }

    /// The cost of a wire on its current path.
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
        let care = SearchBudget { reach, ..self.care };
        let (path, over) = lay_one(self.grid, self.search, self.jobs, i, care, known);
        self.paths[i] = path;
        over
    }
}
