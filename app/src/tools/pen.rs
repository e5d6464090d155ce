//! A pen over the current tool: a stroke that begins on a pin draws a wire, whichever tool is chosen. It ends on a
//! pin, on a wire (with a splice), on a device (the person is asked which pin), or on empty paper: then the far end
//! of the wire is open. On empty paper it leaves ink where the tool lets it. A tap, a finger and a mouse go to the tool.

use loomwright_core::{
    document::{Document, End},
    drawing::{geometry::Point, scene::Scene},
    edit,
    ids::ItemId,
};

use super::{
    hit::Hit,
    ink::Inking,
    tool::{At, Input, Reply, Tool, World},
    wire::Wire,
};
use crate::{commands::edits, strings};

/// A tool that a pen may work.
pub struct Pen {
    tool: Box<dyn Tool>,
    stroke: Stroke,
    /// Where the last stroke of ink ended.
    written: Option<Point>,
}

/// What the pen has begun on a pin.
enum Stroke {
    /// Nothing: the tool gets the input.
    None,
    /// A tap or the beginning of a wire.
    Pressed(At, End),
    /// A wire from this end.
    Wiring(Wire, End),
    /// Ink, and the press it began with.
    Inking(At, Inking),
}

impl Pen {
    /// Over a tool.
    pub fn over(tool: Box<dyn Tool>) -> Self {
        Self {
            tool,
            stroke: Stroke::None,
            written: None,
        }
    }

    /// A tap, told to the tool.
    fn tapped(&mut self, from: At, release: &Input, world: &World<'_>) -> Reply {
        let pressed = self.tool.on(&Input::Press(from), world);
        if pressed.commit.is_some() {
            return pressed;
        }
        self.tool.on(release, world)
    }
}

impl Tool for Pen {
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply {
        let stroke = std::mem::replace(&mut self.stroke, Stroke::None);
        match (stroke, input) {
            (Stroke::None, Input::Press(at)) => match (&at.hit, Inking::begun(at, world)) {
                (_, Some(inking)) => {
                    self.stroke = Stroke::Inking(at.clone(), inking);
                    Reply::default()
                }
                (Some(Hit::Pin { end, .. }), None) if at.pen && !at.extend => {
                    self.stroke = Stroke::Pressed(at.clone(), end.clone());
                    Reply::default()
                }
                _ => self.tool.on(input, world),
            },
            (Stroke::Inking(from, mut inking), Input::Move(at)) => {
                let reply = inking.moved(at, world);
                self.stroke = Stroke::Inking(from, inking);
                reply
            }
            (Stroke::Inking(from, inking), Input::Release(at)) => {
                let written = inking.ended(at, world, &mut self.written);
                written.unwrap_or_else(|| self.tapped(from, input, world))
            }
            (Stroke::Inking(..), Input::Escape) => Reply {
                draft: Some(None),
                ..Reply::default()
            },
            (Stroke::Pressed(from, end), Input::Move(at)) => {
                if from.point.distance(at.point) < from.slop_mm {
                    self.stroke = Stroke::Pressed(from, end);
                    return Reply::default();
                }
                // What the tool had begun is dropped.
                self.tool.on(&Input::Escape, world);
                let mut wire = Wire::default();
                wire.on(&Input::Press(from), world);
                let reply = wire.on(input, world);
                self.stroke = Stroke::Wiring(wire, end);
                reply
            }
            (Stroke::Pressed(from, _), Input::Release(_)) => self.tapped(from, input, world),
            (Stroke::Wiring(mut wire, end), Input::Move(_)) => {
                let reply = wire.on(input, world);
                self.stroke = Stroke::Wiring(wire, end);
                reply
            }
            (Stroke::Wiring(mut wire, end), Input::Release(at)) => ended(end, at, world)
                .unwrap_or_else(|| Reply {
                    ghosts: Vec::new(),
                    ..wire.on(input, world)
                }),
            (Stroke::Pressed(..) | Stroke::Wiring(..), Input::Escape) => Reply::default(),
            _ => self.tool.on(input, world),
        }
    }

    fn wants_paper(&self) -> bool {
        self.tool.wants_paper()
    }
}

/// A wire that ends on a device or on nothing. None where the wire tool knows what to do.
fn ended(from: End, at: &At, world: &World<'_>) -> Option<Reply> {
    let to = match &at.hit {
        Some(Hit::Pin { .. } | Hit::Wire(_)) => return None,
        Some(Hit::Item(item)) => match pins_of(world.scene, item, at.point).as_slice() {
            [only] => only.clone(),
            _ => {
                let ask_pin = Some((from, item.clone(), at.point));
                let reply = Reply::default();
                return Some(Reply { ask_pin, ..reply });
            }
        },
        Some(Hit::Cable(_)) | None => End::Open,
    };
    Some(drawn(world.document, &from, &to))
}

/// The reply that draws a wire between two ends.
fn drawn(document: &Document, from: &End, to: &End) -> Reply {
    let made = edits::connect(document, from, to);
    let select = made
        .as_ref()
        .ok()
        .map(|(_, id)| [edit::Key::Wire(id.clone())].into());
    Reply {
        select,
        commit: Some((strings::DRAW_WIRE, made.map(|(change, _)| change))),
        ..Reply::default()
    }
}

/// The pins of an item, the nearest to a point first.
pub fn pins_of(scene: &Scene, item: &ItemId, near: Point) -> Vec<End> {
    let pins = scene.pins.iter().filter(|((owner, _), _)| owner == item);
    let mut pins: Vec<(f64, &End)> = pins
        .map(|(_, spot)| (spot.at.distance(near), &spot.end))
        .collect();
    pins.sort_by(|a, b| a.0.total_cmp(&b.0));
    pins.into_iter().map(|(_, end)| end.clone()).collect()
}
