//! Points and boxes of a sheet. Millimeters, x to the right, y down.

/// The lattice of a sheet: corners of devices, pins and bends of wires are on it. Adjacent wires are one step
/// apart, pins of a device two steps.
pub const LATTICE_MM: f64 = 2.5;

/// Distance between neighbouring pins.
pub const PITCH_MM: f64 = 2.0 * LATTICE_MM;

/// A point of the sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Millimeters from the left edge.
    pub x: f64,
    /// Millimeters from the top edge.
    pub y: f64,
}

/// The point (x, y).
pub const fn pt(x: f64, y: f64) -> Point {
    Point { x, y }
}

impl Point {
    /// This point moved by (dx, dy).
    #[must_use]
    pub fn moved(self, dx: f64, dy: f64) -> Self {
        pt(self.x + dx, self.y + dy)
    }

    /// This point moved by a distance in a direction.
    #[must_use]
    pub fn ahead(self, facing: Facing, mm: f64) -> Self {
        let (dx, dy) = facing.step();
        self.moved(dx * mm, dy * mm)
    }

    /// Straight distance to another point, mm.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// Distance to the straight line between two points, mm.
    pub fn distance_to_line(self, a: Self, b: Self) -> f64 {
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let square = dx * dx + dy * dy;
        if square == 0.0 {
            return self.distance(a);
        }
        let along = ((self.x - a.x) * dx + (self.y - a.y) * dy) / square;
        let along = along.clamp(0.0, 1.0);
        self.distance(a.moved(along * dx, along * dy))
    }
}

/// The direction that a pin faces: a wire leaves it in this direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Facing {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// Up.
    Up,
    /// Down.
    Down,
}

impl Facing {
    /// One step in this direction.
    pub fn step(self) -> (f64, f64) {
        match self {
            Self::Left => (-1.0, 0.0),
            Self::Right => (1.0, 0.0),
            Self::Up => (0.0, -1.0),
            Self::Down => (0.0, 1.0),
        }
    }

    /// With left and right swapped.
    #[must_use]
    pub fn mirrored(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
            other => other,
        }
    }
}

/// An axis-aligned box.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rect {
    /// Left edge, mm.
    pub x: f64,
    /// Top edge, mm.
    pub y: f64,
    /// Width, mm.
    pub w: f64,
    /// Height, mm.
    pub h: f64,
}

impl Rect {
    /// The box with these edges.
    pub const fn new(x: f64, y: f64, w: f64, h: f64) -> Self {
        Self { x, y, w, h }
    }

    /// The smallest box around these points; empty at the origin if there are none.
    pub fn around(points: impl IntoIterator<Item = Point>) -> Self {
        points
            .into_iter()
            .map(|p| Self::new(p.x, p.y, 0.0, 0.0))
            .reduce(Self::union)
            .unwrap_or_default()
    }

    /// The smallest box around both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        let (x, y) = (self.x.min(other.x), self.y.min(other.y));
        let (r, b) = (
            self.right().max(other.right()),
            self.bottom().max(other.bottom()),
        );
        Self::new(x, y, r - x, b - y)
    }

    /// This box with a margin all around.
    #[must_use]
    pub fn grown(self, by_mm: f64) -> Self {
        Self::new(
            self.x - by_mm,
            self.y - by_mm,
            self.w + 2.0 * by_mm,
            self.h + 2.0 * by_mm,
        )
    }

    /// This box moved by (dx, dy).
    #[must_use]
    pub fn moved(self, dx: f64, dy: f64) -> Self {
        Self::new(self.x + dx, self.y + dy, self.w, self.h)
    }

    /// Right edge, mm.
    pub fn right(self) -> f64 {
        self.x + self.w
    }

    /// Bottom edge, mm.
    pub fn bottom(self) -> f64 {
        self.y + self.h
    }

    /// The middle.
    pub fn centre(self) -> Point {
        pt(self.x + self.w / 2.0, self.y + self.h / 2.0)
    }

    /// True if the point is inside or on the edge.
    pub fn contains(self, p: Point) -> bool {
        p.x >= self.x && p.x <= self.right() && p.y >= self.y && p.y <= self.bottom()
    }

    /// True if the insides overlap; boxes that only touch do not.
    pub fn overlaps(self, other: Self) -> bool {
        self.x < other.right()
            && other.x < self.right()
            && self.y < other.bottom()
            && other.y < self.bottom()
    }
}

/// The nearest lattice line, mm.
pub fn snap(mm: f64) -> f64 {
    (mm / LATTICE_MM).round() * LATTICE_MM
}

/// The lattice line at or above, mm.
pub fn snap_up(mm: f64) -> f64 {
    (mm / LATTICE_MM - 1e-9).ceil() * LATTICE_MM
}
