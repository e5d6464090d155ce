//! Paths of wires: horizontal and vertical segments on the lattice, around devices, no two circuits on one line.

pub mod grid;
mod plain;
mod search;
mod uncross;

use crate::order::InOrder;
use std::{cmp::Reverse, sync::Arc};

use self::{
    grid::{Axis, FREE, Grid, Ground, Node, way},
    plain::{Reach, back},
    search::{ALONG, Effort, Gate, Others, SHARED, Search, WAYS, least_cost},
};
use super::geometry::{Facing, LATTICE_MM, Point, Rect, pt};

/// One wire to lay between two ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Its ends.
    pub ends: [Stop; 2],
    /// A point that a person put it through, and along which axis.
    pub by: Option<(Point, Axis)>,
}

/// One end of a wire on the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// The point.
    pub at: Point,
    /// The direction in which the wire leaves; any direction if none (a splice).
    pub facing: Option<Facing>,
    /// Steps it goes straight before it may turn.
    pub straight: u32,
    /// Wires with an end of the same number may share a line close to it.
    pub joint: u32,
}

impl Job {
    /// True if both run between the same points in the same directions. Joints are numbered again with each wire
    /// that is added or removed.
    fn runs_as(&self, other: &Self) -> bool {
        let both = self.ends.iter().zip(&other.ends);
        let same = |(a, b): (&Stop, &Stop)| {
            a.at == b.at && a.facing == b.facing && a.straight == b.straight
        };
        self.by == other.by && both.into_iter().all(same)
    }
}

/// From this cost over the least possible, a plain path is not good enough: it detours far, or runs along another
/// wire or through a device. Below it, a search before all others are routed would mostly prove, slowly, that the
/// plain path is best.
const WRONG: u32 = 200;
/// How many times the usual effort a search may take for a wire that runs on another or on a device.
const FAR: usize = 20;
/// How often, for all such wires together, the complete sheet may be searched.
const SPARE: usize = 12;
/// How often the complete sheet may be searched for all wires that are routed again.
const AGAIN: usize = 40;
/// Fewer wires than this that run on another or on a device are always routed again: that takes moments.
const MANY: usize = 6;
/// Nodes that may be visited for all wires that a drag moves, before the next frame.
const FRAME: usize = 5_000;

/// How carefully a wire is laid.
#[derive(Clone, Copy)]
struct SearchBudget {
    /// The plain shapes tried.
    reach: Reach,
    /// Nodes a search may look at.
    nodes: usize,
}

/// What was laid, and on what: most edits move nothing, and the paths are what they were.
#[derive(Debug)]
pub struct RoutedPaths {
    before: Grid,
    jobs: Vec<Job>,
    after: Grid,
    pace: Pace,
    /// A path for each job.
    pub paths: Vec<Vec<Point>>,
}

/// It follows from the rest of a scene.
impl PartialEq for RoutedPaths {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// What wires are laid for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// A sheet at rest: its paths follow from the document alone.
    Settled,
    /// For the next frame, during a drag or just after an edit: a wire keeps its path unless it moved or something
    /// was placed on it.
    Quick,
}

impl RoutedPaths {
    /// Lays the jobs, unless an earlier lay was of the same jobs on the same ground, and as careful.
    pub fn new(
        grid: &mut Grid,
        jobs: Vec<Job>,
        earlier: Option<&Arc<Self>>,
        pace: Pace,
    ) -> Arc<Self> {
        let is_as_careful = |it: &Self| it.pace == Pace::Settled || pace == Pace::Quick;
        let is_same = |it: &&Arc<Self>| it.jobs == jobs && it.before == *grid && is_as_careful(it);
        if let Some(same) = earlier.filter(is_same) {
            grid.clone_from(&same.after);
            return Arc::clone(same);
        }
        let before = grid.clone();
        let (paths, pace) = match (pace, earlier) {
            (Pace::Quick, Some(earlier)) => (earlier.lay_changed(grid, &jobs), Pace::Quick),
            _ => (lay(grid, &jobs), Pace::Settled),
        };
        Arc::new(Self {
            before,
            jobs,
            after: grid.clone(),
            pace,
            paths,
        })
    }

    /// Lays what differs from this lay, around what does not.
    fn lay_changed(&self, grid: &mut Grid, jobs: &[Job]) -> Vec<Vec<Point>> {
        let changed = grid.changed_ground(&self.before).grown(LATTICE_MM);
        let stays = |grid: &Grid, path: &[Point]| {
            let touches = |it: &[Point]| Rect::around([it[0], it[1]]).overlaps(changed);
            let on = |grid: &Grid| grid.built_on(path);
            !path.windows(2).any(touches) || on(grid) <= on(&self.before)
        };
        let (mut paths, mut moved) = (vec![Vec::new(); jobs.len()], Vec::new());
        // Both are in the order of the wires, so the next one is mostly the same one.
        let mut next = 0;
        for (i, job) in jobs.iter().enumerate() {
            let same = self.jobs[next..].iter().position(|it| it.runs_as(job));
            next += same.map_or(0, |ahead| ahead + 1);
            match same {
                Some(_) if stays(grid, &self.paths[next - 1]) => {
                    paths[i].clone_from(&self.paths[next - 1]);
                    grid.lay_path(&paths[i], mark(i), |_| true);
                }
                _ => moved.push(i),
            }
        }
        let mut search = Search::default();
        let care = SearchBudget {
            reach: Reach::SHORT,
            nodes: FRAME / moved.len().max(1),
        };
        for i in moved {
            paths[i] = lay_one(grid, &mut search, jobs, i, care, &[]).0;
        }
        paths
    }
}

/// A path for each job, in the order given. Long wires are routed first: straight lines across a sheet are rare,
/// and a short wire finds a path between them without more bends.
///
/// Time grows with wires times nodes searched. A path that is not found within its effort becomes the simplest one
/// with two bends, whatever it runs over.
fn lay(grid: &mut Grid, jobs: &[Job]) -> Vec<Vec<Point>> {
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    let length = |i: usize| {
        let [a, b] = &jobs[i].ends;
        ((a.at.x - b.at.x).abs() + (a.at.y - b.at.y).abs()).round() as i64
    };
    // What a person put somewhere comes first.
    order.order_by_key(|i| (jobs[*i].by.is_none(), Reverse(length(*i)), *i));
    let mut search = Search::default();
    search.spare = SPARE * grid.nodes();
    let care = SearchBudget {
        reach: Reach::FULL,
        // A sheet's worth of effort, shared by its wires.
        nodes: (600_000 / jobs.len().max(1)).clamp(1_000, 15_000),
    };
    let mut paths: Vec<Vec<Point>> = vec![Vec::new(); jobs.len()];
    let (mut dear, mut on_others) = (Vec::new(), 0);
    for i in order {
        let (path, over) = lay_one(grid, &mut search, jobs, i, care, &[]);
        paths[i] = path;
        on_others += usize::from(over >= ALONG);
        if over > 0 && jobs[i].by.is_none() {
            dear.push(i);
        }
    }
    // Where devices are so close that every third wire runs on another or on a device, a second pass takes long
    // and fixes none. A few may only be in each other's way: one turns where the other must come into its pin.
    if on_others >= MANY && on_others * 3 > jobs.len() {
        return paths;
    }
    // Routes again what costs more than it might, now that all others are routed.
    search.spare = AGAIN * grid.nodes();
    for i in dear {
        take_up(grid, jobs, &paths, i);
        paths[i] = lay_one(grid, &mut search, jobs, i, care, &paths[i]).0;
    }
    uncross::uncross(grid, &mut search, jobs, &mut paths, care);
    paths
}

/// Index of a job as the grid keeps it.
fn mark(i: usize) -> u32 {
    i as u32 + 1
}

/// The job of a mark of the grid, if it is one.
fn marked<T>(all: &[T], wire: u32) -> Option<&T> {
    (wire as usize).checked_sub(1).and_then(|i| all.get(i))
}

fn shares(jobs: &[Job], i: usize, wire: u32) -> bool {
    let Some(other) = marked(jobs, wire) else {
        return false;
    };
    let joint = |stop: &Stop| other.ends.iter().any(|theirs| theirs.joint == stop.joint);
    jobs[i].ends.iter().any(joint)
}

/// The cost of a step along each wire to another, by their marks: needed at every step, so computed once.
fn prices(jobs: &[Job], i: usize, others: u32) -> Vec<u32> {
    let price = |wire| {
        if shares(jobs, i, wire) {
            SHARED
        } else {
            others
        }
    };
    (0..=jobs.len() as u32).map(price).collect()
}

/// Keeps the lane out of every pin free for its own wire.
pub fn reserve(grid: &mut Grid, jobs: &[Job]) {
    for i in 0..jobs.len() {
        reserve_ends(grid, jobs, i);
    }
}

fn reserve_ends(grid: &mut Grid, jobs: &[Job], i: usize) {
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
fn take_up(grid: &mut Grid, jobs: &[Job], paths: &[Vec<Point>], i: usize) {
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
fn lay_one(
    grid: &mut Grid,
    search: &mut Search,
    jobs: &[Job],
    i: usize,
    care: SearchBudget,
    taken_up: &[Point],
) -> (Vec<Point>, u32) {
    let prices = prices(jobs, i, ALONG);
    let others = Others(&prices);
    let (points, over) = find_one(grid, search, &jobs[i], care, others, taken_up);
    grid.lay_path(&points, mark(i), |there| there == FREE);
    (points, over)
}

/// The same without laying it.
fn find_one(
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
    let gate = |grid: &Grid, stop: &Stop, is_goal: bool| {
        let (node, way) = match stop.facing {
            None => (grid.node(stop.at), None),
            Some(facing) => {
                let node = grid.node(way_out(grid, stop, facing));
                (node, Some(if is_goal { back(facing) } else { facing }))
            }
        };
        Gate { node, way }
    };
    let (start, goal) = (gate(grid, a, false), gate(grid, b, true));
    let least = least_cost(grid, start, goal);
    let known: Vec<Node> = match taken_up {
        [_, corners @ .., _] => {
            let corners = corners.iter().map(|at| grid.node(*at));
            [start.node]
                .into_iter()
                .chain(corners)
                .chain([goal.node])
                .collect()
        }
        _ => Vec::new(),
    };
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
