//! The drawing tools: pure state machines fed with plain input. No browser, no signals.
//!
//! A tool is told of every press, move and release with what is under it, and answers with what it
//! shows, what it selects and what it changes. A draft is shown and taken back; only a commit is
//! kept, as one step of undo. Escape leaves nothing behind.

mod cable;
mod device;
#[cfg(test)]
mod driver;
pub mod hit;
mod magnet;
mod select;
mod splice;
mod wire;

use loomwright_core::order::Sorted;

use loomwright_core::{
    document::Document,
    drawing::{
        geometry::{Point, Rect},
        scene::Scene,
    },
    edit::{Change, EditError, Key},
    ids::SheetId,
};

pub use hit::Hit;

use crate::edits::Addition;

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

    /// The tool with its machine at rest. `addition` is what the device tool adds.
    pub fn machine(self, addition: Option<Addition>) -> Box<dyn Tool> {
        match self {
            Self::Select => Box::new(select::Select::default()),
            Self::Wire => Box::new(wire::Wire::default()),
            Self::Device => Box::new(device::Add { addition }),
            Self::Splice => Box::new(splice::Splice),
            Self::Cable => Box::new(cable::Cable),
        }
    }
}

/// Where a pointer is and what is under it.
#[derive(Clone, Debug, PartialEq)]
pub struct At {
    /// The point of the sheet.
    pub point: Point,
    /// What is under it.
    pub hit: Option<Hit>,
    /// True if the person means more than one thing (shift): adds to the selection, wires several pins.
    pub extend: bool,
    /// True if it is a pen: a stroke that begins on a pin draws a wire.
    pub pen: bool,
    /// How far the pointer may tremble in a tap, mm.
    pub slop_mm: f64,
}

/// What a tool is told.
#[derive(Clone, Debug, PartialEq)]
pub enum Input {
    /// The pointer goes down.
    Press(At),
    /// The pointer moves, down or hovering.
    Move(At),
    /// The pointer goes up.
    Release(At),
    /// Give up what was begun.
    Escape,
}

/// What a tool may look at.
#[derive(Clone, Copy)]
pub struct World<'a> {
    /// The document without drafts.
    pub document: &'a Document,
    /// The open sheet.
    pub sheet: &'a SheetId,
    /// The sheet as drawn.
    pub scene: &'a Scene,
    /// What is selected.
    pub selection: &'a Sorted<Key>,
}

/// Something a tool shows over the drawing.
#[derive(Clone, Debug, PartialEq)]
pub enum Ghost {
    /// A wire in the making.
    Line(Vec<Point>),
    /// The pin or spot that would be taken.
    Spot(Point),
    /// The brush.
    Box(Rect),
}

/// What a tool answers.
#[derive(Debug, Default)]
pub struct Reply {
    /// Shown, not made; `Some(None)` takes the last draft back.
    pub draft: Option<Option<Change>>,
    /// Made, under this name.
    pub commit: Option<(&'static str, Result<Change, EditError>)>,
    /// Selected from now on.
    pub select: Option<Sorted<Key>>,
    /// Shown over the drawing from now on.
    pub ghosts: Vec<Ghost>,
    /// A switch or breaker to operate, as `DEVICE/ELEMENT`.
    pub operate: Option<String>,
    /// True if the person is to see the details of what is selected.
    pub details: bool,
    /// True if the tool is done and the select tool is to be taken in hand.
    pub done: bool,
}

impl Reply {
    fn select(keys: impl IntoIterator<Item = Key>) -> Self {
        Self {
            select: Some(keys.into_iter().collect()),
            details: true,
            ..Self::default()
        }
    }

    fn ghosts(ghosts: Vec<Ghost>) -> Self {
        Self {
            ghosts,
            ..Self::default()
        }
    }
}

/// A tool's machine.
pub trait Tool {
    /// Takes an input and answers it.
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply;

    /// True if a finger that goes down on empty paper is for the tool and not for moving the sheet.
    fn wants_paper(&self) -> bool {
        false
    }
}
