//! Paths of wires: horizontal and vertical segments on the lattice, around devices, no two circuits on one line.

mod cross;
pub mod grid;
mod job;
mod lanes;
mod one;
mod plain;
mod search;
mod uncross;

pub use self::{
    cross::crossings,
    job::{Job, Stop},
    one::{corners, reserve},
};

use crate::order::InOrder;
use std::{cmp::Reverse, sync::Arc};

use self::{
    grid::Grid,
    job::mark,
    one::{SearchBudget, lay_one, take_up},
    plain::Reach,
    search::{ALONG, BEND, CROSS, FULL_SHEET, STEP, Search},
};
use super::geometry::{LATTICE_MM, Point, Rect};

/// How often, for all wires that run on another or on a device together, the complete sheet may be searched.
const SPARE: usize = 12;
/// How often the complete sheet may be searched for all wires that are routed again.
const AGAIN: usize = 40;
/// Fewer wires than this that run on another or on a device are always routed again: that takes moments.
const MANY: usize = 6;
/// Nodes that may be visited for all wires that a drag moves, before the next frame.
const FRAME: usize = 5_000;

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
            cross: cross_cost(grid, jobs).min(CROSS[2]),
        };
        for i in moved {
            paths[i] = lay_one(grid, &mut search, jobs, i, care, &[]).0;
        }
        paths
    }
}

/// The cost of crossing a wire, by how much of the sheet the wires would take if each ran straight to its end.
fn cross_cost(grid: &Grid, jobs: &[Job]) -> u32 {
    if jobs.len() > FULL_SHEET {
        return CROSS[3];
    }
    let percent = 100 * jobs.iter().map(steps).sum::<usize>() / grid.nodes().max(1);
    match percent {
        0..6 => CROSS[0],
        6..9 => CROSS[1],
        _ => CROSS[2],
    }
}

/// Steps between the ends of a wire.
fn steps(job: &Job) -> usize {
    let [a, b] = &job.ends;
    let mm = (a.at.x - b.at.x).abs() + (a.at.y - b.at.y).abs();
    (mm / LATTICE_MM).round() as usize
}

/// The cost of plain paths, each laid once and then swapped with others, and how often they and these stubs cross.
pub fn rough(grid: &mut Grid, jobs: &[Job], stubs: Vec<Vec<Point>>) -> (u64, u64) {
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    order.order_by_key(|i| (Reverse(steps(&jobs[*i])), *i));
    let care = SearchBudget {
        reach: Reach::FULL,
        nodes: 0,
        cross: CROSS[0],
    };
    let mut search = Search::default();
    let mut paths = vec![Vec::new(); jobs.len()];
    let mut cost = 0;
    for i in order {
        let (path, over) = lay_one(grid, &mut search, jobs, i, care, &[]);
        // Through a device or along another wire.
        cost += u64::from(over.min(10_000)) / u64::from(ALONG) * u64::from(ALONG);
        paths[i] = path;
    }
    lanes::swap(grid, jobs, &mut paths, care);
    for path in &paths {
        let steps: f64 = path.windows(2).map(|it| it[0].distance(it[1])).sum();
        let bends = path.len().saturating_sub(2) as u64 * u64::from(BEND);
        cost += bends + (steps / LATTICE_MM).round() as u64 * u64::from(STEP);
    }
    paths.extend(stubs);
    let pairs = paths.iter().enumerate();
    let pairs = pairs.flat_map(|(n, one)| paths[n + 1..].iter().map(move |other| (one, other)));
    let crossed: usize = pairs.map(|(one, other)| crossings(one, other)).sum();
    (cost, crossed as u64)
}

/// A path for each job, in the order given. Long wires are routed first: straight lines across a sheet are rare,
/// and a short wire finds a path between them without more bends.
///
/// Time grows with wires times nodes searched. A path that is not found within its effort becomes the simplest one
/// with two bends, whatever it runs over.
fn lay(grid: &mut Grid, jobs: &[Job]) -> Vec<Vec<Point>> {
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    // What a person put somewhere comes first.
    order.order_by_key(|i| (jobs[*i].by.is_none(), Reverse(steps(&jobs[*i])), *i));
    let mut search = Search::default();
    search.spare = SPARE * grid.nodes();
    let care = SearchBudget {
        reach: Reach::FULL,
        // A sheet's worth of effort, shared by its wires.
        nodes: (600_000 / jobs.len().max(1)).clamp(1_000, 15_000),
        cross: cross_cost(grid, jobs).min(CROSS[2]),
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
    // Only now: while wires are laid one by one, a crossing that a later exchange takes away is no reason to move.
    let care = SearchBudget {
        cross: cross_cost(grid, jobs),
        ..care
    };
    uncross::uncross(grid, &mut search, jobs, &mut paths, care);
    if care.cross >= CROSS[1] {
        lanes::swap(grid, jobs, &mut paths, care);
    }
    paths
}
