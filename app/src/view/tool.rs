//! The current tool: which one, what it adds, and what it shows over the drawing.

use loomwright_core::{
    document::Device,
    drawing::geometry::{Point, Rect},
    ids::{DeviceId, PlaceId},
};

/// The five tools of the thumb rail.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ToolKind {
    /// Select, move, operate.
    #[default]
    Select,
    /// Draw a wire.
    Wire,
    /// Add a device.
    Device,
    /// Splice into a wire.
    Splice,
    /// Make a cable of wires.
    Cable,
}

impl ToolKind {
    /// In the order of the rail.
    pub const ALL: [Self; 5] = [
        Self::Select,
        Self::Wire,
        Self::Device,
        Self::Splice,
        Self::Cable,
    ];

    /// The key that chooses this tool, as the keyboard names it. Esc puts any other tool down.
    pub fn key(self) -> &'static str {
        match self {
            Self::Select => "Esc",
            Self::Wire => "W",
            Self::Device => "D",
            Self::Splice => "S",
            Self::Cable => "C",
        }
    }
}

/// What a hand does with the ink of a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum InkHand {
    /// A pen writes on empty paper.
    #[default]
    Write,
    /// Strokes are erased.
    Erase,
    /// Strokes are moved.
    Move,
}

/// Something that can be put on a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Addition {
    /// A device that is new in the aircraft.
    New(Box<Device>),
    /// A device that is already in the aircraft.
    Known(DeviceId),
    /// A point on the metal of a place.
    Structure(PlaceId),
}

/// Something a tool shows over the drawing.
#[derive(Clone, Debug, PartialEq)]
pub enum Ghost {
    /// A wire in the making.
    Line(Vec<Point>),
    /// The pin or spot that would be taken.
    SheetPoint(Point),
    /// The brush.
    Box(Rect),
}
