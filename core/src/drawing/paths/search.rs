//! The cheapest path of one wire over the lattice: A* (Hart, Nilsson, Raphael 1968) over nodes and directions,
//! costs in integers so that the result is the same on every machine.
//!
//! A wire may cross another at a right angle, at a price. Running along another wire's line, or through a device,
//! costs so much that it happens only where no other path exists.

use super::grid::{Axis, Grid, Ground, Node};
use crate::drawing::geometry::Facing;

/// One lattice step.
pub const STEP: u32 = 2;
/// A bend.
pub const BEND: u32 = 100;
/// Crossing another wire on a sheet with room, on one where half the lanes are taken, and on one so full that every
/// long wire must, and might bend instead.
pub const CROSS: [u32; 4] = [40, 12, 4, 2];
/// Wires from which on a sheet is full.
pub const FULL_SHEET: usize = 200;
/// A step close to a device.
const NEAR: u32 = 1;
/// A step over text.
const TEXT: u32 = 80;
/// A step along the line of a wire from the same end.
pub const SHARED: u32 = 50;
/// A step along the line of another wire: not if it can be helped.
pub const ALONG: u32 = 600;
/// A step through a device: hardly ever.
const THROUGH: u32 = 1000;

/// From this cost on, the order of the search is no longer exact: only paths along other wires or through devices
/// cost as much.
const BUCKETS: usize = 16384;

/// Every direction.
pub const WAYS: [Facing; 4] = [Facing::Left, Facing::Right, Facing::Up, Facing::Down];
/// By direction of travel, where a wire may go on: never straight back.
const AHEAD: [[u32; 3]; 4] = [[0, 2, 3], [1, 2, 3], [0, 1, 2], [0, 1, 3]];

/// One end of a search: a node and the direction of travel there; any direction if none.
#[derive(Clone, Copy)]
pub struct Gate {
    /// The node.
    pub node: Node,
    /// Direction of travel: away from the start, into the goal.
    pub way: Option<Facing>,
}

/// What meeting the other wires on the sheet costs the wire being routed.
#[derive(Clone, Copy)]
pub struct Others<'a> {
    /// The cost of a step along each, by their index in the grid.
    pub along: &'a [u32],
    /// The cost of crossing one.
    pub cross: u32,
}

impl Others<'_> {
    /// The cost of a step along a wire.
    pub fn along(self, wire: u32) -> u32 {
        self.along.get(wire as usize).copied().unwrap_or(ALONG)
    }

    /// What crossing a wire costs: one from the same end as much as a step along it.
    fn across(self, wire: u32) -> u32 {
        match self.along(wire) {
            SHARED => SHARED,
            _ => self.cross,
        }
    }
}

/// How hard to look for a path.
#[derive(Clone, Copy)]
pub struct Effort {
    /// Nodes visited before the search stops; bounds the time on a crowded sheet.
    pub nodes: usize,
    /// Only paths cheaper than this are of use.
    pub under: u32,
    /// Counts the remaining distance double: far fewer nodes are visited, for a path that may have a bend or
    /// crossing more than the cheapest.
    pub is_eager: bool,
}

/// How a state was reached.
#[derive(Clone, Copy, Default)]
struct Reached {
    cost: u32,
    /// The state before.
    from: u32,
    /// The search that reached it.
    stamp: u32,
}

/// Working memory of searches, reused.
#[derive(Default)]
pub struct Search {
    /// By state of the search. Data of one state is adjacent in memory, because a search jumps around.
    reached: Vec<Reached>,
    now: u32,
    /// States to look at, by the least their paths can cost.
    open: Vec<Vec<u32>>,
    /// How many nodes the last search visited.
    pub looked: usize,
    /// How many more may be visited for wires that the usual effort leaves on others.
    pub spare: usize,
}

impl Search {
    /// The nodes of a cheap path, start and goal included, and its cost; none if no path is under the cost limit,
    /// or the effort ran out.
    pub fn path(
        &mut self,
        grid: &Grid,
        (start, goal): (Gate, Gate),
        effort: Effort,
        others: Others<'_>,
    ) -> Option<(Vec<Node>, u32)> {
        self.begin(grid);
        for (i, way) in WAYS.into_iter().enumerate() {
            if start.way.is_none_or(|only| only == way) {
                self.offer(grid, start.node * 4 + i as u32, (0, u32::MAX), goal, effort);
            }
        }
        self.looked = 0;
        let mut least = 0;
        while least < self.open.len() {
            let Some(state) = self.open[least].pop() else {
                least += 1;
                continue;
            };
            let (node, way) = (state / 4, WAYS[(state % 4) as usize]);
            let cost = self.reached[state as usize].cost;
            if node == goal.node && goal.way.is_none_or(|only| only == way) {
                return Some((self.trace(state), cost & !DONE));
            }
            if cost & DONE != 0 {
                continue;
            }
            self.looked += 1;
            if self.looked > effort.nodes {
                return None;
            }
            self.reached[state as usize].cost |= DONE;
            let (straight, corner) = leave_cost(grid, (node, way), others);
            for i in AHEAD[(state % 4) as usize] {
                let turn = WAYS[i as usize];
                let Some(next) = grid.next(node, turn) else {
                    continue;
                };
                let leave = if turn == way { straight } else { corner };
                let step = leave + enter_cost(grid, (next, Axis::of(turn)), goal.node, others);
                let f = self.offer(grid, next * 4 + i, (cost + step, state), goal, effort);
                least = least.min(f);
            }
        }
        None
    }

    fn begin(&mut self, grid: &Grid) {
        let states = grid.nodes() * 4;
        if self.reached.len() != states {
            *self = Self {
                reached: vec![Reached::default(); states],
                now: 0,
                open: vec![Vec::new(); BUCKETS],
                ..*self
            };
        }
        self.now += 1;
        self.open.iter_mut().for_each(Vec::clear);
    }

    /// Puts a state on the list if it is reached more cheaply than before; returns its bucket.
    fn offer(
        &mut self,
        grid: &Grid,
        state: u32,
        (cost, from): (u32, u32),
        goal: Gate,
        effort: Effort,
    ) -> usize {
        let there = &mut self.reached[state as usize];
        if there.stamp == self.now && there.cost & !DONE <= cost {
            return BUCKETS;
        }
        let ahead = at_least(grid, state, goal);
        if cost.saturating_add(ahead) >= effort.under {
            return BUCKETS;
        }
        *there = Reached {
            cost,
            from,
            stamp: self.now,
        };
        let ahead = if effort.is_eager { 2 * ahead } else { ahead };
        let bucket = ((cost + ahead) as usize).min(BUCKETS - 1);
        self.open[bucket].push(state);
        bucket
    }

    fn trace(&self, mut state: u32) -> Vec<Node> {
        let mut nodes = vec![state / 4];
        while self.reached[state as usize].from != u32::MAX {
            state = self.reached[state as usize].from;
            nodes.push(state / 4);
        }
        nodes.reverse();
        nodes
    }
}

/// Marks a cost as final.
const DONE: u32 = 1 << 31;

/// No path from one gate to another costs less.
pub fn least_cost(grid: &Grid, start: Gate, goal: Gate) -> u32 {
    let ways = WAYS
        .into_iter()
        .zip(0..)
        .filter(|(way, _)| start.way.is_none_or(|only| only == *way));
    ways.map(|(_, i)| at_least(grid, start.node * 4 + i, goal))
        .min()
        .unwrap_or(0)
}

/// No path from here costs less: straight distance, and the bends it takes at least.
fn at_least(grid: &Grid, state: u32, goal: Gate) -> u32 {
    let (node, way) = (state / 4, WAYS[(state % 4) as usize]);
    let (row, col) = grid.row_col(node);
    let (goal_row, goal_col) = grid.row_col(goal.node);
    let (dx, dy) = (goal_col.abs_diff(col), goal_row.abs_diff(row));
    let is_ahead = match way {
        Facing::Left => dy == 0 && goal_col <= col,
        Facing::Right => dy == 0 && goal_col >= col,
        Facing::Up => dx == 0 && goal_row <= row,
        Facing::Down => dx == 0 && goal_row >= row,
    };
    let bends = match (is_ahead, goal.way) {
        (true, None) => 0,
        (true, Some(wanted)) if wanted == way => 0,
        // Arriving along the axis of travel but off its line takes two bends.
        (false, Some(wanted)) if wanted == way => 2,
        _ => 1,
    };
    STEP * (dx + dy) + BEND * bends
}

/// Cost of a number of steps straight on from a node, all of them on the grid. A cost at or above the limit may be
/// reported too low.
pub fn run_cost(
    grid: &Grid,
    (mut node, way): (Node, Facing),
    (turn, steps): (Facing, u32),
    goal: Node,
    others: Others<'_>,
    limit: u32,
) -> u32 {
    let (straight, corner) = leave_cost(grid, (node, way), others);
    let mut cost = if turn == way { straight } else { corner };
    let (axis, step) = (Axis::of(turn), grid.stride(turn));
    for left in (0..steps).rev() {
        node = node.wrapping_add_signed(step);
        cost += enter_cost(grid, (node, axis), goal, others);
        if left == 0 || cost >= limit {
            break;
        }
        cost += leave_cost(grid, (node, turn), others).0;
    }
    cost
}

/// The cost of leaving a node from one direction: straight on, and around a corner.
#[inline]
fn leave_cost(grid: &Grid, (node, way): (Node, Facing), others: Others<'_>) -> (u32, u32) {
    let side = Axis::of(way).other();
    if !grid.is_passed(node, side) {
        return (STEP, STEP + BEND);
    }
    let wire = grid.wire(node, side);
    // A corner is on both lines of its node.
    (STEP + others.across(wire), STEP + BEND + others.along(wire))
}

/// The cost of reaching a node along an axis.
#[inline]
fn enter_cost(grid: &Grid, (node, axis): (Node, Axis), goal: Node, others: Others<'_>) -> u32 {
    let along = match grid.is_passed(node, axis) {
        true => others.along(grid.wire(node, axis)),
        false => 0,
    };
    along
        + match grid.ground(node) {
            Ground::Open => 0,
            Ground::Near => NEAR,
            Ground::Text => TEXT,
            Ground::Built if node == goal => 0,
            Ground::Built => THROUGH,
        }
}
