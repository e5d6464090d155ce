//! A pen over the current tool: a stroke that begins on a pin draws a wire, whichever tool is chosen. It ends on a
//! pin, on a wire (with a splice), on a device (the person is asked which pin), or on empty paper: then the far end
//! of the wire is open. A tap, a finger and a mouse go to the tool.

use loomwright_core::{
    document::{Document, End},
    drawing::{geometry::Point, scene::Scene},
    edit,
    ids::ItemId,
};

use super::{
    hit::Hit,
    tool::{At, Input, Reply, Tool, World},
    wire::Wire,
};
use crate::{commands::edits, strings};

/// A tool that a pen may work.
pub struct Pen {
    tool: Box<dyn Tool>,
    stroke: Stroke,
}

/// What the pen has begun on a pin.
enum Stroke {
    /// Nothing: the tool gets the input.
    None,
    /// A tap or the beginning of a wire.
    Pressed(At, End),
    /// A wire from this end.
    Wiring(Wire, End),
}

impl Pen {
    /// Over a tool.
    pub fn over(tool: Box<dyn Tool>) -> Self {
        let stroke = Stroke::None;
        Self { tool, stroke }
    }
}

impl Tool for Pen {
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply {
        let stroke = std::mem::replace(&mut self.stroke, Stroke::None);
        match (stroke, input) {
            (Stroke::None, Input::Press(at)) if at.pen && !at.extend => match &at.hit {
                Some(Hit::Pin { end, .. }) => {
                    self.stroke = Stroke::Pressed(at.clone(), end.clone());
                    Reply::default()
                }
                _ => self.tool.on(input, world),
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
            (Stroke::Pressed(from, _), Input::Release(_)) => {
                let pressed = self.tool.on(&Input::Press(from), world);
                if pressed.commit.is_some() {
                    return pressed;
                }
                self.tool.on(input, world)
            }
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
