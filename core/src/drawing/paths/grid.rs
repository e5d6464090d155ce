//! The lattice that wires run on: which nodes are covered, and which wire passes each node in which direction.

use std::ops::Range;

use crate::drawing::geometry::{Facing, LATTICE_MM, Point, Rect, pt};

/// A node of the lattice.
pub type Node = u32;

/// No wire.
pub const FREE: u32 = 0;

/// Lattice lines a sheet may have in each direction. A sheet is at most 432 mm; devices may extend beyond it.
const LINES_MAX: u32 = 1200;

/// The lattice of a sheet.
#[derive(Clone, PartialEq)]
pub struct Grid {
    /// Nodes in a row.
    pub cols: u32,
    /// Rows.
    pub rows: u32,
    /// A row begins at every multiple of a power of two, so that rows and columns need no division.
    shift: u32,
    /// What a search needs of each node at every step, in one byte: whether a wire runs across it, by axis, what
    /// covers it, and whether it is at the edge.
    cells: Vec<u8>,
    /// Wire (its index and one) that runs across each node, left to right and up and down.
    across: [Vec<u32>; 2],
    /// Cells (right and below of a node) that hold text.
    text: Vec<bool>,
}

/// The bit of a wire along an axis in a cell: 1 or 2.
const fn wire_bit(axis: Axis) -> u8 {
    1 << axis as u8
}
/// Where a cell keeps its ground.
const GROUND_SHIFT: u8 = 2;
const GROUND_MASK: u8 = 3 << GROUND_SHIFT;
/// A cell in the first or last row or column.
const EDGE: u8 = 16;

/// The content of a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Ground {
    /// Nothing.
    Open,
    /// Nothing, but close to a device.
    Near,
    /// Text; a wire may pass if it must.
    Text,
    /// A device, or outside the frame.
    Built,
}

impl std::fmt::Debug for Grid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Grid {} x {}", self.cols, self.rows)
    }
}

impl Grid {
    /// The lattice of a sheet of this size, open within the frame.
    pub fn new(width_mm: f64, height_mm: f64, frame: Rect) -> Self {
        let lines = |mm: f64| ((mm / LATTICE_MM).ceil() as u32 + 1).min(LINES_MAX);
        let (cols, rows) = (lines(width_mm), lines(height_mm));
        let shift = cols.next_power_of_two().trailing_zeros();
        let n = (rows << shift) as usize;
        let mut grid = Self {
            cols,
            rows,
            shift,
            cells: vec![(Ground::Built as u8) << GROUND_SHIFT; n],
            across: [vec![FREE; n], vec![FREE; n]],
            text: vec![false; n],
        };
        let level = (0..cols).flat_map(|col| [(0, col), (rows - 1, col)]);
        let upright = (0..rows).flat_map(|row| [(row, 0), (row, cols - 1)]);
        for (row, col) in level.chain(upright) {
            let node = grid.at(row, col) as usize;
            grid.cells[node] |= EDGE;
        }
        grid.each(frame, |grid, node| grid.cover(node, Ground::Open));
        grid
    }

    /// Rows and columns of the nodes in a box.
    fn within(&self, rect: Rect) -> (Range<u32>, Range<u32>) {
        let low = |mm: f64| ((mm / LATTICE_MM - 1e-6).ceil().max(0.0)) as u32;
        let high = |mm: f64, n: u32| {
            let line = (mm / LATTICE_MM + 1e-6).floor();
            if line < 0.0 {
                0
            } else {
                (line as u32 + 1).min(n)
            }
        };
        (
            low(rect.y)..high(rect.bottom(), self.rows),
            low(rect.x)..high(rect.right(), self.cols),
        )
    }

    /// Calls for every node in a box.
    fn each(&mut self, rect: Rect, mut call: impl FnMut(&mut Self, Node)) {
        let (rows, cols) = self.within(rect);
        for row in rows {
            for col in cols.clone() {
                call(self, self.at(row, col));
            }
        }
    }

    /// Builds over a box, and marks the nodes around it as near.
    pub fn build(&mut self, rect: Rect) {
        self.each(rect.grown(LATTICE_MM), |grid, node| {
            if grid.ground(node) == Ground::Open {
                grid.cover(node, Ground::Near);
            }
        });
        self.each(rect, |grid, node| grid.cover(node, Ground::Built));
        // A text between two lattice lines would meet no node of it.
        self.cells(rect, |taken| {
            *taken = true;
            true
        });
    }

    /// Marks a text: other texts keep off it, wires avoid it.
    pub fn write(&mut self, rect: Rect) {
        self.shade(rect);
        self.cells(rect, |taken| {
            *taken = true;
            true
        });
    }

    /// Marks what wires should not cross, though a text may be close to it.
    pub fn shade(&mut self, rect: Rect) {
        self.each(rect, |grid, node| {
            if grid.ground(node) != Ground::Built {
                grid.cover(node, Ground::Text);
            }
        });
    }

    /// Keeps everybody off a node but the wires that end there.
    pub fn occupy(&mut self, at: Point) {
        self.cover(self.node(at), Ground::Built);
    }

    /// True if a text may be placed in this box: no device, no other text, no wire through it.
    pub fn is_clear(&mut self, rect: Rect) -> bool {
        self.cells(rect, |taken| !*taken) && self.is_free_of_wires(rect)
    }

    /// True if no wire runs through a box, and no device is in it.
    pub fn is_free_of_wires(&self, rect: Rect) -> bool {
        let any_wire = wire_bit(Axis::Level) | wire_bit(Axis::Upright);
        let is_free = |node: Node| {
            self.cells[node as usize] & any_wire == 0 && self.ground(node) != Ground::Built
        };
        let (mut rows, cols) = self.within(rect);
        rows.all(|row| cols.clone().all(|col| is_free(self.at(row, col)))) && self.crossings(rect)
    }

    /// True if no wire runs through a box between lattice lines.
    fn crossings(&self, rect: Rect) -> bool {
        let (c0, c1) = (rect.x / LATTICE_MM, rect.right() / LATTICE_MM);
        let (r0, r1) = (rect.y / LATTICE_MM, rect.bottom() / LATTICE_MM);
        let wire = |axis: usize, col: f64, row: f64| {
            let inside = col >= 0.0
                && row >= 0.0
                && col < f64::from(self.cols)
                && row < f64::from(self.rows);
            if inside {
                self.across[axis][self.at(row as u32, col as u32) as usize]
            } else {
                FREE
            }
        };
        // Vertical wires between the rows above and below, horizontal ones between columns.
        let columns = c0.ceil() as i64..=c1.floor() as i64;
        let rows = r0.ceil() as i64..=r1.floor() as i64;
        let upright = columns.into_iter().any(|col| {
            let above = wire(1, col as f64, r0.floor());
            above != FREE && above == wire(1, col as f64, r1.ceil())
        });
        let level = rows.into_iter().any(|row| {
            let before = wire(0, c0.floor(), row as f64);
            before != FREE && before == wire(0, c1.ceil(), row as f64)
        });
        !upright && !level
    }

    /// Visits the cells that a box touches; false as soon as one returns false, or is outside.
    fn cells(&mut self, rect: Rect, mut call: impl FnMut(&mut bool) -> bool) -> bool {
        let cell = |mm: f64| (mm / LATTICE_MM).floor();
        let (c0, c1) = (cell(rect.x), cell(rect.right() - 0.05));
        let (r0, r1) = (cell(rect.y + 0.3), cell(rect.bottom() - 0.3));
        if c0 < 0.0 || r0 < 0.0 || c1 >= f64::from(self.cols) || r1 >= f64::from(self.rows) {
            return false;
        }
        for row in r0 as u32..=r1 as u32 {
            for col in c0 as u32..=c1 as u32 {
                let cell = self.at(row, col) as usize;
                if !call(&mut self.text[cell]) {
                    return false;
                }
            }
        }
        true
    }

    /// The node in a row and column.
    pub fn at(&self, row: u32, col: u32) -> Node {
        (row << self.shift) + col
    }

    /// Row and column of a node.
    #[inline]
    pub fn row_col(&self, node: Node) -> (u32, u32) {
        (node >> self.shift, node & ((1 << self.shift) - 1))
    }

    /// One more than the highest node.
    pub fn nodes(&self) -> usize {
        self.cells.len()
    }

    /// The node at a point of the lattice.
    pub fn node(&self, at: Point) -> Node {
        let line = |mm: f64, n: u32| ((mm / LATTICE_MM).round().max(0.0) as u32).min(n - 1);
        self.at(line(at.y, self.rows), line(at.x, self.cols))
    }

    /// The point of a node.
    pub fn point(&self, node: Node) -> Point {
        let (row, col) = self.row_col(node);
        pt(f64::from(col) * LATTICE_MM, f64::from(row) * LATTICE_MM)
    }

    /// The next node in this direction, if there is one.
    #[inline]
    pub fn next(&self, node: Node, facing: Facing) -> Option<Node> {
        let is_inside = self.cells[node as usize] & EDGE == 0 || self.goes_on(node, facing);
        is_inside.then(|| node.wrapping_add_signed(self.stride(facing)))
    }

    /// True if there is a node in this direction; needed at the edge.
    fn goes_on(&self, node: Node, facing: Facing) -> bool {
        let (row, col) = self.row_col(node);
        match facing {
            Facing::Left => col > 0,
            Facing::Right => col + 1 < self.cols,
            Facing::Up => row > 0,
            Facing::Down => row + 1 < self.rows,
        }
    }

    /// From a node to the next one in this direction.
    pub fn stride(&self, facing: Facing) -> i32 {
        match facing {
            Facing::Left => -1,
            Facing::Right => 1,
            Facing::Up => -(1 << self.shift),
            Facing::Down => 1 << self.shift,
        }
    }

    /// The content of a node.
    #[inline]
    pub fn ground(&self, node: Node) -> Ground {
        match (self.cells[node as usize] & GROUND_MASK) >> GROUND_SHIFT {
            0 => Ground::Open,
            1 => Ground::Near,
            2 => Ground::Text,
            _ => Ground::Built,
        }
    }

    fn cover(&mut self, node: Node, ground: Ground) {
        let cell = &mut self.cells[node as usize];
        *cell = *cell & !GROUND_MASK | ((ground as u8) << GROUND_SHIFT);
    }

    /// True if any wire passes a node along an axis.
    #[inline]
    pub fn is_passed(&self, node: Node, axis: Axis) -> bool {
        self.cells[node as usize] & wire_bit(axis) != 0
    }

    /// The wire that passes a node along an axis.
    #[inline]
    pub fn wire(&self, node: Node, axis: Axis) -> u32 {
        self.across[axis as usize][node as usize]
    }

    /// Lets a wire pass a node along an axis.
    pub fn lay(&mut self, node: Node, axis: Axis, wire: u32) {
        self.across[axis as usize][node as usize] = wire;
        let cell = &mut self.cells[node as usize];
        match wire {
            FREE => *cell &= !wire_bit(axis),
            _ => *cell |= wire_bit(axis),
        }
    }

    /// A box around every node whose content differs from that in another grid of the sheet. It has no size if
    /// there are none, and covers everything if the nodes are numbered differently.
    pub fn changed_ground(&self, other: &Self) -> Rect {
        if self.shift != other.shift {
            return Rect::around([Point::default(), self.point(self.nodes() as Node)]);
        }
        let both = self.cells.iter().zip(&other.cells);
        let nodes = (0..).zip(both);
        let changed = nodes.filter(|(_, (a, b))| (**a ^ **b) & GROUND_MASK != 0);
        Rect::around(changed.map(|(node, _)| self.point(node)))
    }

    /// How many nodes of a path are built over.
    pub fn built_on(&self, path: &[Point]) -> usize {
        let nodes = self.nodes_on(path).into_iter();
        nodes
            .filter(|(node, _)| self.ground(*node) == Ground::Built)
            .count()
    }

    /// Lets a wire pass all along a path, or takes it away.
    pub fn lay_path(&mut self, path: &[Point], wire: u32, over: impl Fn(u32) -> bool) {
        for (node, axis) in self.nodes_on(path) {
            if over(self.wire(node, axis)) {
                self.lay(node, axis, wire);
            }
        }
    }

    /// Every node along a path with the axis on which it is passed; a corner appears once for each axis.
    pub fn nodes_on(&self, path: &[Point]) -> Vec<(Node, Axis)> {
        let mut nodes = Vec::new();
        for piece in path.windows(2) {
            let (a, b) = (self.node(piece[0]), self.node(piece[1]));
            let facing = way(piece[0], piece[1]);
            let (mut node, axis) = (a, Axis::of(facing));
            loop {
                nodes.push((node, axis));
                match self.next(node, facing) {
                    Some(next) if node != b => node = next,
                    _ => break,
                }
            }
        }
        nodes
    }
}

/// Left to right, or up and down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// Left to right.
    Level,
    /// Up and down.
    Upright,
}

impl Axis {
    /// The axis of a direction.
    pub fn of(facing: Facing) -> Self {
        match facing {
            Facing::Left | Facing::Right => Self::Level,
            Facing::Up | Facing::Down => Self::Upright,
        }
    }

    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Self::Level => Self::Upright,
            Self::Upright => Self::Level,
        }
    }
}

/// The direction from one point to another on the same line.
pub fn way(from: Point, to: Point) -> Facing {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    if dx.abs() >= dy.abs() {
        if dx < 0.0 {
            Facing::Left
        } else {
            Facing::Right
        }
    } else if dy < 0.0 {
        Facing::Up
    } else {
        Facing::Down
    }
}
