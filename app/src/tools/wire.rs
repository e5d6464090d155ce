//! Draw a wire: drag from pin to pin, or tap one and then the other. Ending it on a wire splices
//! into that wire. For several wires (Shift, or the button next to the hint), a drag along pins of one device
//! begins a wire at each; they end at the pins of another device that the drag goes along,
//! or at the one tapped and those after it, in order.

use loomwright_core::{
    document::{Document, End},
    drawing::geometry::Point,
    edit::{self, Key},
    ids::WireId,
};

use super::{
    hit::{self, Hit},
    tool::{At, Input, Reply, Tool, World},
};
use crate::{commands::edits, view::Ghost};

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
    /// Pins of the device it began at that the drag went along after the first, in order.
    more: Vec<(End, Point)>,
    /// Pins of another device that it went along then.
    ends: Vec<(End, Point)>,
}

impl Tool for Wire {
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply {
        match input {
            Input::Press(at) => self.press(at, world),
            Input::Move(at) => {
                self.sweep(at);
                self.show(at)
            }
            Input::Release(at) => self.release(at, world),
            Input::Escape => {
                let begun = std::mem::take(self).start.is_some();
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
            (Some(_), Some(Start::End(end, at))) if !self.more.is_empty() => {
                self.ends = vec![(end, at)];
                self.finish_all(world)
            }
            (Some(start), Some(target)) if *start != target => self.finish(&target, world),
            _ => self.show(at),
        }
    }

    /// Takes note of the pin that a drag goes over.
    fn sweep(&mut self, at: &At) {
        let (true, Some(Start::End(first, _)), Some(Start::End(end, point))) =
            (self.fresh && at.extend, &self.start, target(at))
        else {
            return;
        };
        let along = |pins: &[(End, Point)]| pins.iter().any(|(pin, _)| *pin == end);
        if end == *first || along(&self.more) || along(&self.ends) {
            return;
        }
        match end.device() == first.device() {
            true if self.ends.is_empty() => self.more.push((end, point)),
            true => {}
            false => self.ends.push((end, point)),
        }
    }

    /// Draws a wire from each pin it began at.
    fn finish_all(&mut self, world: &World<'_>) -> Reply {
        let it = std::mem::take(self);
        let Some(Start::End(first, _)) = it.start else {
            return Reply::default();
        };
        let from = std::iter::once(first).chain(it.more.into_iter().map(|(end, _)| end));
        let from: Vec<End> = from.collect();
        let mut to: Vec<End> = it.ends.into_iter().map(|(end, _)| end).collect();
        fill_up(world.document, &mut to, from.len());
        let pairs: Vec<(End, End)> = from.into_iter().zip(to).collect();
        let change = edit::connect_all(world.document, &pairs);
        let drawn = change.as_ref().ok().map(|change| change.added().cloned());
        Reply {
            select: drawn.map(Iterator::collect),
            commit: Some((crate::strings::DRAW_WIRES, change)),
            ..Reply::default()
        }
    }

    fn release(&mut self, at: &At, world: &World<'_>) -> Reply {
        let was_fresh = std::mem::take(&mut self.fresh);
        if was_fresh && !self.more.is_empty() {
            // Along pins of one device alone: a tap on another says where they end.
            return match self.ends.is_empty() {
                true => self.show(at),
                false => self.finish_all(world),
            };
        }
        self.ends.clear();
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
        let mut ghosts: Vec<Ghost> = target.map(Ghost::SheetPoint).into_iter().collect();
        if let Some(start) = &self.start {
            ghosts.push(Ghost::SheetPoint(start.point()));
            ghosts.extend(self.more.iter().map(|(_, at)| Ghost::SheetPoint(*at)));
            ghosts.extend(self.ends.iter().map(|(_, at)| Ghost::SheetPoint(*at)));
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

/// Adds the pins that follow the last one, up to so many.
fn fill_up(document: &Document, pins: &mut Vec<End>, count: usize) {
    while pins.len() < count
        && let Some(next) = pins.last().and_then(|last| edit::next_pin(document, last))
    {
        pins.push(next);
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
