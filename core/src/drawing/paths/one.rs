//! Lays one wire, around or over those that lie already.

use super::{
    grid::{Axis, FREE, Grid, Ground, Node, way},
    job::{Job, Stop, mark, marked, prices, shares},
    plain::{self, Reach, back},
    search::{ALONG, Effort, Gate, Others, Search, WAYS, least_cost},
};
use crate::drawing::geometry::{Facing, LATTICE_MM, Point, pt};

/// From this cost over the least possible, a plain path is not good enough: it detours far, or runs along another
/// wire or through a device. Below it, a search before all others are routed would mostly prove, slowly, that the
/// plain path is best.
const WRONG: u32 = 200;

/// How many times the usual effort a search may take for a wire that runs on another or on a device.
const FAR: usize = 20;

/// How carefully a wire is laid.
#[derive(Clone, Copy)]
pub(super) struct SearchBudget {
    /// The plain shapes tried.
    pub reach: Reach,
    /// Nodes a search may look at.
    pub nodes: usize,
    /// The cost of crossing a wire.
    pub cross: u32,
}

/// Keeps the lane out of every pin free for its own wire.
pub fn reserve(grid: &mut Grid, jobs: &[Job]) {
    for i in 0..jobs.len() {
        reserve_ends(grid, jobs, i);
    }
}

pub(super) fn reserve_ends(grid: &mut Grid, jobs: &[Job], i: usize) {
    for stop in &jobs[i].ends {
        let Some(facing) = stop.facing else { continue };
        let out = stop
            .at
            .ahead(facing, f64::from(stop.straight.max(1)) * LATTICE_MM);
        grid.lay_path(&[stop.at, out], mark(i), |there| there == FREE);
    }
}

/// Where a wire may first turn: as many steps straight as it wants and as are open, at least one.
fn way_out(grid: &Grid, stop: &Stop, facing: Facing) -> Point {
    let at = |steps: u32| stop.at.ahead(facing, f64::from(steps) * LATTICE_MM);
    let is_open = |steps: &u32| grid.ground(grid.node(at(*steps))) != Ground::Built;
    at((1..=stop.straight).take_while(is_open).last().unwrap_or(1))
}

/// Takes a wire off the grid; wires that shared a piece with it keep theirs.
pub(super) fn take_up(grid: &mut Grid, jobs: &[Job], paths: &[Vec<Point>], i: usize) {
    grid.lay_path(&paths[i], FREE, |there| there == mark(i));
    for (j, path) in paths.iter().enumerate() {
        if j != i && shares(jobs, i, mark(j)) {
            grid.lay_path(path, mark(j), |there| there == FREE);
        }
    }
    // Two circuits may meet in a corner, which the grid keeps for one of them.
    for corner in &paths[i] {
        let node = grid.node(*corner);
        for way in WAYS {
            let Some(next) = grid.next(node, way) else {
                continue;
            };
            let wire = grid.wire(next, Axis::of(way));
            let met = marked(paths, wire).filter(|met| wire != mark(i) && met.contains(corner));
            if let Some(met) = met {
                grid.lay_path(met, wire, |there| there == FREE);
            }
        }
    }
}

/// Lays one wire, a second time if it has a path that was taken up; returns its path and how much dearer it is
/// than it could be on an empty sheet.
pub(super) fn lay_one(
    grid: &mut Grid,
    search: &mut Search,
    jobs: &[Job],
    i: usize,
    care: SearchBudget,
    taken_up: &[Point],
) -> (Vec<Point>, u32) {
    let prices = prices(jobs, i, ALONG);
    let others = Others {
        along: &prices,
        cross: care.cross,
    };
    let (points, over) = find_one(grid, search, &jobs[i], care, others, taken_up);
    grid.lay_path(&points, mark(i), |there| there == FREE);
    (points, over)
}

/// The same without laying it.
pub(super) fn find_one(
    grid: &Grid,
    search: &mut Search,
    job: &Job,
    care: SearchBudget,
    others: Others<'_>,
    taken_up: &[Point],
) -> (Vec<Point>, u32) {
    let [a, b] = &job.ends;
    match job.by {
        None => between(grid, search, care, (a, b), others, taken_up),
        Some((at, axis)) => {
            // Along the segment in either direction, whichever is cheaper.
            let ways = match axis {
                Axis::Level => [Facing::Left, Facing::Right],
                Axis::Upright => [Facing::Up, Facing::Down],
            };
            let both = ways.map(|way| {
                let stop = |facing| Stop {
                    at,
                    facing: Some(facing),
                    straight: 1,
                    joint: a.joint,
                };
                let (mut first, over) = between(grid, search, care, (a, &stop(way)), others, &[]);
                let (rest, more) = between(grid, search, care, (&stop(back(way)), b), others, &[]);
                first.extend(rest);
                (corners(&first), over.saturating_add(more))
            });
            let [one, other] = both;
            let length =
                |path: &[Point]| -> f64 { path.windows(2).map(|it| it[0].distance(it[1])).sum() };
            let cost = |it: &(Vec<Point>, u32)| {
                (f64::from(it.1) + length(&it.0) / LATTICE_MM).round() as u64
            };
            if cost(&one) <= cost(&other) {
                one
            } else {
                other
            }
        }
    }
}

/// The cost of a wire that is off the grid on a path, if it were laid there; none if the path turns back on itself,
/// or if a person put the wire somewhere.
pub(super) fn cost_of(
    grid: &Grid,
    jobs: &[Job],
    i: usize,
    care: SearchBudget,
    path: &[Point],
) -> Option<u32> {
    let Job {
        ends: [a, b],
        by: None,
    } = &jobs[i]
    else {
        return None;
    };
    let prices = prices(jobs, i, ALONG);
    let others = Others {
        along: &prices,
        cross: care.cross,
    };
    let gates = (gate(grid, a, false), gate(grid, b, true));
    plain::cost(grid, gates, others, &known(grid, gates, path))
}

/// Where a search for a path from or to an end begins or ends.
fn gate(grid: &Grid, stop: &Stop, is_goal: bool) -> Gate {
    let (node, way) = match stop.facing {
        None => (grid.node(stop.at), None),
        Some(facing) => {
            let node = grid.node(way_out(grid, stop, facing));
            (node, Some(if is_goal { back(facing) } else { facing }))
        }
    };
    Gate { node, way }
}

/// The corners of a path between two gates; none if the wire has no path.
fn known(grid: &Grid, (start, goal): (Gate, Gate), path: &[Point]) -> Vec<Node> {
    let [_, corners @ .., _] = path else {
        return Vec::new();
    };
    let corners = corners.iter().map(|at| grid.node(*at));
    let ends = |gate: Gate| std::iter::once(gate.node);
    ends(start).chain(corners).chain(ends(goal)).collect()
}

/// A path between two ends, and how much dearer it is than on an empty sheet; no dearer than the one that was
/// taken up, if there was one.
fn between(
    grid: &Grid,
    search: &mut Search,
    care: SearchBudget,
    (a, b): (&Stop, &Stop),
    others: Others<'_>,
    taken_up: &[Point],
) -> (Vec<Point>, u32) {
    let (start, goal) = (gate(grid, a, false), gate(grid, b, true));
    let least = least_cost(grid, start, goal);
    let known = known(grid, (start, goal), taken_up);
    let mut found = plain::plain(grid, (start, goal), others, care.reach, &known);
    // More effort, as long as some is left, for a wire that would run on another or on a device; and for the best
    // path there is, once all others are routed, on most of the sheet.
    let far = search.spare.min(FAR * care.nodes);
    let first = [(care.nodes, WRONG), (far, ALONG)];
    let again = [(search.spare.min(grid.nodes() / 4 * 3), 0)];
    let is_first = known.is_empty();
    let looks: &[(usize, u32)] = if is_first { &first } else { &again };
    for &(nodes, wrong) in looks {
        let under = found.as_ref().map_or(u32::MAX, |found| found.1);
        if nodes > 0 && under > least.saturating_add(wrong) {
            let effort = Effort {
                nodes,
                under,
                is_eager: is_first,
            };
            found = search.path(grid, (start, goal), effort, others).or(found);
            if wrong != WRONG {
                search.spare = search.spare.saturating_sub(search.looked);
            }
        }
    }
    let mut points = vec![a.at];
    let mut over = u32::MAX;
    match found {
        Some((nodes, cost)) => {
            over = cost.saturating_sub(least);
            points.extend(nodes.into_iter().map(|node| grid.point(node)));
        }
        None => points.extend(simple(grid.point(start.node), grid.point(goal.node))),
    }
    points.push(b.at);
    (corners(&points), over)
}

/// Across, up or down in the middle, across.
fn simple(a: Point, b: Point) -> [Point; 4] {
    let middle = (f64::midpoint(a.x, b.x) / LATTICE_MM).round() * LATTICE_MM;
    [a, pt(middle, a.y), pt(middle, b.y), b]
}

/// Only the ends and the corners of a path.
pub fn corners(points: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for point in points {
        if kept.last() == Some(point) {
            continue;
        }
        if let [.., before, last] = kept.as_slice()
            && Axis::of(way(*before, *last)) == Axis::of(way(*last, *point))
            && (before.x == point.x || before.y == point.y)
        {
            kept.pop();
        }
        kept.push(*point);
    }
    kept
}
