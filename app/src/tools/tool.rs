//! What all tools share: the input they get, what they may read, what they answer.

use loomwright_core::{
    document::{Document, End},
    drawing::{geometry::Point, scene::Scene},
    edit::{Change, EditError, Key},
    ids::{ItemId, SheetId},
    order::Sorted,
};

use super::hit::Hit;
use crate::view::{Ghost, InkHand};

/// Where a pointer is and what is under it.
#[derive(Clone, Debug, PartialEq)]
pub struct At {
    /// The point of the sheet.
    pub point: Point,
    /// What is under it.
    pub hit: Option<Hit>,
    /// True if the person means more than one thing (shift): adds to the selection, wires several pins.
    pub extend: bool,
    /// True if it is a pen.
    pub pen: bool,
    /// How hard it presses, 0 to 1.
    pub pressure: f64,
    /// What the hand does with ink; none with tools that leave ink alone.
    pub ink: Option<InkHand>,
    /// How far the pointer may tremble in a tap, mm.
    pub slop_mm: f64,
}

/// The input that a tool gets.
#[derive(Clone, Debug, PartialEq)]
pub enum Input {
    /// The pointer goes down.
    Press(At),
    /// The pointer moves, down or hovering.
    Move(At),
    /// The pointer goes up.
    Release(At),
    /// Cancel what was begun.
    Escape,
}

/// What a tool may read.
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
    /// A wire from this end to a pin of this item; the person is asked which.
    pub ask_pin: Option<(End, ItemId, Point)>,
    /// A switch or breaker to operate, as `DEVICE/ELEMENT`.
    pub operate: Option<String>,
    /// True if the person is to see the details of what is selected.
    pub details: bool,
    /// True if the tool is done and the select tool becomes the current one.
    pub done: bool,
}

impl Reply {
    /// Selects these, and shows their details.
    pub fn select(keys: impl IntoIterator<Item = Key>) -> Self {
        Self {
            select: Some(keys.into_iter().collect()),
            details: true,
            ..Self::default()
        }
    }

    /// Shows something over the drawing.
    pub fn ghosts(ghosts: Vec<Ghost>) -> Self {
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
