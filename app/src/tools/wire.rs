//! Draw a wire: drag from pin to pin, or tap one and then the other. Ending it on a wire splices
//! into that wire.

use loomwright_core::{document::End, drawing::geometry::Point, edit::Key, ids::WireId};

use super::{At, Ghost, Hit, Input, Reply, Tool, World, hit};
use crate::edits;

/// Where a wire begins.
#[derive(Clone, Debug, PartialEq)]
enum Start {
    End(End, Point),
    /// On a wire: it will be spliced there.
    Wire(WireId, Point),
}

impl Start {
    fn point(&self) -> Point {
        match self {
            Self::End(_, at) | Self::Wire(_, at) => *at,
        }
    }
}

/// The wire tool.
#[derive(Default)]
pub struct Wire {
    start: Option<Start>,
    /// True while the pointer that set the start is still down where it went down.
    fresh: bool,
}

impl Tool for Wire {
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply {
        match input {
            Input::Press(at) => self.press(at, world),
            Input::Move(at) => self.show(at),
            Input::Release(at) => self.release(at, world),
            Input::Escape => {
                let begun = self.start.take().is_some();
                Reply {
                    done: !begun,
                    ..Reply::default()
                }
            }
        }
    }
}

impl Wire {
    fn press(&mut self, at: &At, world: &World<'_>) -> Reply {
        match (&self.start, target(at)) {
            (None, Some(start)) => {
                self.start = Some(start);
                self.fresh = true;
                self.show(at)
            }
            (Some(start), Some(target)) if *start != target => self.finish(&target, world),
            _ => self.show(at),
        }
    }

    fn release(&mut self, at: &At, world: &World<'_>) -> Reply {
        let was_fresh = std::mem::take(&mut self.fresh);
        match (&self.start, target(at)) {
            // A drag that ends on another pin; a tap leaves the start for the second tap.
            (Some(start), Some(target))
                if was_fresh
                    && start.point().distance(at.point) > at.slop_mm
                    && *start != target =>
            {
                self.finish(&target, world)
            }
            _ => self.show(at),
        }
    }

    fn show(&self, at: &At) -> Reply {
        let target = target(at).map(|target| target.point());
        let mut ghosts: Vec<Ghost> = target.map(Ghost::Spot).into_iter().collect();
        if let Some(start) = &self.start {
            ghosts.push(Ghost::Spot(start.point()));
            ghosts.push(Ghost::Line(elbow(
                start.point(),
                target.unwrap_or(at.point),
            )));
        }
        Reply::ghosts(ghosts)
    }

    fn finish(&mut self, target: &Start, world: &World<'_>) -> Reply {
        let Some(start) = self.start.take() else {
            return Reply::default();
        };
        let made = match (&start, target) {
            (Start::End(from, _), Start::End(to, _)) => edits::connect(world.document, from, to),
            (Start::End(end, _), Start::Wire(wire, at))
            | (Start::Wire(wire, at), Start::End(end, _)) => {
                edits::tap_wire(world.document, world.scene, world.sheet, wire, (*at, end))
            }
            (Start::Wire(first, from), Start::Wire(second, to)) => edits::bridge(
                world.document,
                world.scene,
                world.sheet,
                (first, *from),
                (second, *to),
            ),
        };
        let (change, wire) = match made {
            Ok((change, wire)) => (Ok(change), Some(wire)),
            Err(why) => (Err(why), None),
        };
        Reply {
            select: wire.map(|wire| [Key::Wire(wire)].into()),
            commit: Some((crate::strings::DRAW_WIRE, change)),
            ..Reply::default()
        }
    }
}

fn target(at: &At) -> Option<Start> {
    match at.hit.as_ref()? {
        Hit::Pin { end, at, .. } => Some(Start::End(end.clone(), *at)),
        Hit::Wire(wire) => Some(Start::Wire(wire.clone(), hit::snapped(at.point))),
        Hit::Item(_) | Hit::Cable(_) => None,
    }
}

/// Two straight pieces, as a wire will run.
fn elbow(from: Point, to: Point) -> Vec<Point> {
    vec![
        from,
        Point {
            x: f64::midpoint(from.x, to.x),
            y: from.y,
        },
        Point {
            x: f64::midpoint(from.x, to.x),
            y: to.y,
        },
        to,
    ]
}
