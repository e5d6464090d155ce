//! The plain shapes a wire may have: straight, one corner, two corners, and around the back with
//! four. Trying them costs microseconds; most wires of a drawing need no search.

use super::{
    grid::{Axis, Grid, Node},
    search::{BEND, Gate, Others, STEP, WAYS, least_cost, run_cost},
};
use crate::drawing::geometry::Facing;
use crate::order::InOrder;

/// How many plain shapes are tried.
#[derive(Clone, Copy)]
pub struct Reach {
    /// How far beyond its ends a wire may swing out, in lattice steps.
    swing: u32,
    /// How many lanes next to its ends a wire around the back may use.
    beside: u32,
}

impl Reach {
    /// Hardly any.
    pub const NONE: Self = Self {
        swing: 0,
        beside: 0,
    };
    /// For a sheet at rest.
    pub const FULL: Self = Self {
        swing: 24,
        beside: 3,
    };
    /// For a wire that bends more than any plain shape does.
    pub const WIDE: Self = Self {
        swing: 24,
        beside: 40,
    };
    /// For a wire that a hand drags along.
    pub const SHORT: Self = Self {
        swing: 6,
        beside: 1,
    };
}

/// The best plain path found so far.
pub struct Plain<'a> {
    grid: &'a Grid,
    goal: Gate,
    others: Others<'a>,
    reach: Reach,
    best: Option<(Vec<Node>, u32)>,
}

/// The cheapest plain path, or a known one if that is cheaper, as its corners, and its cost. Stops at the first
/// that costs no more than it must.
pub fn plain(
    grid: &Grid,
    (start, goal): (Gate, Gate),
    others: Others<'_>,
    reach: Reach,
    known: &[Node],
) -> Option<(Vec<Node>, u32)> {
    let least = least_cost(grid, start, goal);
    let mut plain = Plain {
        grid,
        goal,
        others,
        reach,
        best: None,
    };
    plain.offer_known(start, known);
    let ways = |gate: Gate| {
        WAYS.into_iter()
            .filter(move |way| gate.way.is_none_or(|only| only == *way))
    };
    for out in ways(start) {
        for into in ways(goal) {
            let (a, b) = (Axis::of(out), Axis::of(into));
            if a == b {
                plain.same_axis(start.node, out, into, least);
            } else {
                let corner = plain.meet(start.node, goal.node, a);
                plain.offer(&[start.node, corner, goal.node], out, into);
            }
        }
    }
    plain.best
}

/// The cost of a known path as its corners; none if it turns back on itself.
pub fn cost(
    grid: &Grid,
    (start, goal): (Gate, Gate),
    others: Others<'_>,
    known: &[Node],
) -> Option<u32> {
    let mut plain = Plain {
        grid,
        goal,
        others,
        reach: Reach::NONE,
        best: None,
    };
    plain.offer_known(start, known);
    plain.best.map(|best| best.1)
}

impl Plain<'_> {
    /// Keeps a known path if it is cheaper than what there was.
    fn offer_known(&mut self, start: Gate, known: &[Node]) {
        let pieces = || known.windows(2).filter(|pair| pair[0] != pair[1]);
        let way = |pair: Option<&[Node]>| pair.and_then(|pair| self.way(pair[0], pair[1]));
        let out = start.way.or_else(|| way(pieces().next()));
        let into = self.goal.way.or_else(|| way(pieces().next_back()));
        if let (Some(out), Some(into), [_, ..]) = (out, into, known) {
            self.offer(known, out, into);
        }
    }

    /// Leaves and arrives along the same axis: straight, or over one or two lanes across it.
    fn same_axis(&mut self, start: Node, out: Facing, into: Facing, least: u32) {
        let (axis, goal) = (Axis::of(out), self.goal.node);
        self.offer(&[start, goal], out, into);
        let (from, to) = (self.along(start, axis), self.along(goal, axis));
        for lane in self.lanes(axis, from, to) {
            if self.is_done(least) {
                return;
            }
            let (a, b) = (self.moved(start, axis, lane), self.moved(goal, axis, lane));
            self.offer(&[start, a, b, goal], out, into);
        }
        if self
            .best
            .as_ref()
            .is_some_and(|best| best.1 <= least + 2 * BEND)
        {
            return;
        }
        self.around(start, out, into);
    }

    /// Out, over, all the way back, over, in: for ends that face away from each other.
    fn around(&mut self, start: Node, out: Facing, into: Facing) {
        let (other, goal) = (Axis::of(out).other(), self.goal.node);
        let (from, to) = (self.along(start, other), self.along(goal, other));
        let mut lanes = self.lanes(other, from, to);
        let steps = |node, way| -> Vec<Node> {
            let beside = 0..self.reach.beside;
            beside.filter_map(|n| self.steps(node, way, n)).collect()
        };
        let (firsts, lasts) = (steps(start, out), steps(goal, back(into)));
        // Most lanes are blocked on a full sheet: that is found once for all places where a wire may join one.
        let limit = self.best.as_ref().map_or(u32::MAX, |best| best.1);
        lanes.retain(|lane| self.least_along(&firsts, &lasts, (other, *lane), limit) < limit);
        for a in &firsts {
            for b in &lasts {
                for lane in &lanes {
                    let (over, under) =
                        (self.moved(*a, other, *lane), self.moved(*b, other, *lane));
                    self.offer(&[start, *a, over, under, *b, goal], out, into);
                }
            }
        }
    }

    /// No wire that takes a lane from one of these places to one of those pays less for it.
    fn least_along(
        &self,
        firsts: &[Node],
        lasts: &[Node],
        (other, lane): (Axis, u32),
        limit: u32,
    ) -> u32 {
        let axis = other.other();
        let ends = |nodes: &[Node]| {
            let along = || nodes.iter().map(|node| self.along(*node, axis));
            along().min().zip(along().max())
        };
        let (Some(a), Some(b)) = (ends(firsts), ends(lasts)) else {
            return 0;
        };
        let (from, to) = if a.1 < b.0 { (a.1, b.0) } else { (b.1, a.0) };
        if from >= to {
            return 0;
        }
        let node = self.moved(self.moved(firsts[0], axis, from), other, lane);
        let ahead = match axis {
            Axis::Level => Facing::Right,
            Axis::Upright => Facing::Down,
        };
        let run = (ahead, to - from);
        let bends = 2 * BEND;
        let limit = limit.saturating_sub(bends);
        bends
            + run_cost(
                self.grid,
                (node, ahead),
                run,
                self.goal.node,
                self.others,
                limit,
            )
    }

    /// Lines across an axis to try, those between the ends first.
    fn lanes(&self, axis: Axis, from: u32, to: u32) -> Vec<u32> {
        let low = from.min(to).saturating_sub(self.reach.swing);
        let high = (from.max(to) + self.reach.swing).min(self.lines(axis) - 1);
        let mut lanes: Vec<u32> = (low..=high).collect();
        lanes.order_by_key(|lane| (lane.abs_diff(from) + lane.abs_diff(to), lane.abs_diff(from)));
        lanes
    }

    fn is_done(&self, least: u32) -> bool {
        self.best.as_ref().is_some_and(|best| best.1 <= least)
    }

    /// Walks along the corners and keeps them if that is cheaper than what there was.
    fn offer(&mut self, corners: &[Node], out: Facing, into: Facing) {
        let limit = self.best.as_ref().map_or(u32::MAX, |best| best.1);
        let run = |pair: &[Node]| {
            let turn = self.way(pair[0], pair[1])?;
            Some((turn, self.steps_between(pair[0], pair[1])))
        };
        let pieces = || corners.windows(2).filter(|pair| pair[0] != pair[1]);
        // A shape that costs too much on an empty sheet, turns back on itself or arrives in another direction is
        // not tried.
        let (mut way, mut least) = (out, 0);
        for pair in pieces() {
            let Some((turn, steps)) = run(pair) else {
                return;
            };
            if turn != way {
                if Axis::of(turn) == Axis::of(way) {
                    return;
                }
                least += BEND;
            }
            least += STEP * steps;
            way = turn;
        }
        if way != into || least >= limit {
            return;
        }
        let (mut way, mut cost) = (out, 0);
        for pair in pieces() {
            let Some(run) = run(pair) else {
                return;
            };
            let (from, goal) = ((pair[0], way), self.goal.node);
            cost += run_cost(self.grid, from, run, goal, self.others, limit - cost);
            if cost >= limit {
                return;
            }
            way = run.0;
        }
        self.best = Some((corners.to_vec(), cost));
    }

    /// The direction from one node to another of the same row or column.
    fn way(&self, a: Node, b: Node) -> Option<Facing> {
        let ((a_row, a_col), (b_row, b_col)) = (self.grid.row_col(a), self.grid.row_col(b));
        if a_row == b_row {
            Some(if b_col > a_col {
                Facing::Right
            } else {
                Facing::Left
            })
        } else if a_col == b_col {
            Some(if b_row > a_row {
                Facing::Down
            } else {
                Facing::Up
            })
        } else {
            None
        }
    }

    /// Steps between two nodes.
    fn steps_between(&self, a: Node, b: Node) -> u32 {
        let ((a_row, a_col), (b_row, b_col)) = (self.grid.row_col(a), self.grid.row_col(b));
        a_row.abs_diff(b_row) + a_col.abs_diff(b_col)
    }

    /// Where the line along an axis through one node meets the line across it through another.
    fn meet(&self, a: Node, b: Node, axis: Axis) -> Node {
        self.moved(a, axis, self.along(b, axis))
    }

    /// Coordinate along an axis.
    fn along(&self, node: Node, axis: Axis) -> u32 {
        let (row, col) = self.grid.row_col(node);
        match axis {
            Axis::Level => col,
            Axis::Upright => row,
        }
    }

    /// The node with this coordinate along an axis, the other coordinate unchanged.
    fn moved(&self, node: Node, axis: Axis, to: u32) -> Node {
        let (row, col) = self.grid.row_col(node);
        match axis {
            Axis::Level => self.grid.at(row, to),
            Axis::Upright => self.grid.at(to, col),
        }
    }

    /// How many coordinates an axis has.
    fn lines(&self, axis: Axis) -> u32 {
        match axis {
            Axis::Level => self.grid.cols,
            Axis::Upright => self.grid.rows,
        }
    }

    fn steps(&self, node: Node, way: Facing, n: u32) -> Option<Node> {
        (0..n).try_fold(node, |node, _| self.grid.next(node, way))
    }
}

/// The opposite direction.
pub fn back(facing: Facing) -> Facing {
    match facing {
        Facing::Left => Facing::Right,
        Facing::Right => Facing::Left,
        Facing::Up => Facing::Down,
        Facing::Down => Facing::Up,
    }
}
