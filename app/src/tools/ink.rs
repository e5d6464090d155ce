//! Ink: a pen writes on empty paper; its eraser end, or a hand that erases, takes strokes away; a hand that moves
//! takes along what was written together.

use loomwright_core::{
    document::{InkPoint, InkStroke},
    drawing::geometry::{Point, pt},
    edit::{self, Change, EditError},
    ids::InkId,
};

use super::tool::{At, Reply, World};
use crate::{
    strings,
    view::{Ghost, InkHand},
};

/// Width of a pen at full pressure, mm.
const WIDTH_MM: f64 = 0.7;
/// How far from a stroke an eraser, or a hand that moves, takes it, mm.
const REACH_MM: f64 = 2.0;
/// Strokes closer than this were written together, mm.
const TOGETHER_MM: f64 = 4.0;
/// Points closer than this are one, mm.
const STEP_MM: f64 = 0.3;
/// Most points of one stroke; a longer one is cut.
const MOST_POINTS: usize = 500;
/// A tap this close to the end of the last stroke is a dot of the same writing, mm.
const DOT_MM: f64 = 20.0;

/// What the hand does with ink.
pub enum Inking {
    /// A stroke grows.
    Writing(Vec<InkPoint>, f64),
    /// Strokes under the hand go.
    Erasing(Vec<InkId>),
    /// Strokes follow the hand.
    Moving(Point, Vec<InkId>),
}

impl Inking {
    /// What a press begins. None: it is for the tool.
    pub fn begun(at: &At, world: &World<'_>) -> Option<Self> {
        let under = || {
            edit::ink_at(
                world.document,
                world.sheet,
                (at.point.x, at.point.y),
                REACH_MM,
            )
        };
        match at.ink? {
            InkHand::Write if !at.pen || at.hit.is_some() => None,
            InkHand::Write => Some(Self::Writing(vec![point(at)], at.slop_mm)),
            InkHand::Erase => Some(Self::Erasing(under())),
            InkHand::Move => {
                let found = under();
                let all = edit::ink_together(world.document, world.sheet, found, TOGETHER_MM);
                (!all.is_empty()).then_some(Self::Moving(at.point, all))
            }
        }
    }

    /// The hand moves.
    pub fn moved(&mut self, at: &At, world: &World<'_>) -> Reply {
        match self {
            Self::Writing(points, _) => {
                let next = point(at);
                let last = points.last().copied().unwrap_or(next);
                if points.len() < MOST_POINTS && off(last, next) >= STEP_MM {
                    points.push(next);
                }
                let line = points.iter().map(|p| pt(p.x_mm, p.y_mm)).collect();
                Reply::ghosts(vec![Ghost::Line(line)])
            }
            Self::Erasing(ids) => {
                let at = (at.point.x, at.point.y);
                let found = edit::ink_at(world.document, world.sheet, at, REACH_MM);
                ids.extend(
                    found
                        .into_iter()
                        .filter(|id| !ids.contains(id))
                        .collect::<Vec<_>>(),
                );
                draft(edit::erase_ink(world.document, world.sheet, ids))
            }
            Self::Moving(from, ids) => {
                let by = (at.point.x - from.x, at.point.y - from.y);
                draft(edit::move_ink(world.document, world.sheet, ids, by))
            }
        }
    }

    /// The hand goes up. `last` is where the last stroke of this hand ended. None: it was a tap, for the tool.
    pub fn ended(self, at: &At, world: &World<'_>, last: &mut Option<Point>) -> Option<Reply> {
        let (document, sheet) = (world.document, world.sheet);
        let made = match self {
            Self::Writing(points, slop_mm) => {
                let begun = *points.first()?;
                let here = pt(begun.x_mm, begun.y_mm);
                let is_tap = points.iter().all(|p| off(begun, *p) < slop_mm);
                if is_tap && last.is_none_or(|last| last.distance(here) > DOT_MM) {
                    return None;
                }
                *last = Some(at.point);
                let points = if is_tap { vec![begun] } else { points };
                let stroke = InkStroke::new(WIDTH_MM, &points);
                (strings::INK_WRITTEN, edit::add_ink(document, sheet, stroke))
            }
            Self::Erasing(ids) if ids.is_empty() => return Some(Reply::default()),
            Self::Erasing(ids) => (strings::ERASE_INK, edit::erase_ink(document, sheet, &ids)),
            Self::Moving(from, ids) => {
                let by = (at.point.x - from.x, at.point.y - from.y);
                (strings::MOVE_INK, edit::move_ink(document, sheet, &ids, by))
            }
        };
        Some(Reply {
            commit: Some(made),
            ..Reply::default()
        })
    }
}

fn point(at: &At) -> InkPoint {
    InkPoint {
        x_mm: at.point.x,
        y_mm: at.point.y,
        pressure: at.pressure.clamp(0.0, 1.0),
    }
}

fn off(a: InkPoint, b: InkPoint) -> f64 {
    (a.x_mm - b.x_mm).hypot(a.y_mm - b.y_mm)
}

fn draft(change: Result<Change, EditError>) -> Reply {
    Reply {
        draft: Some(change.ok()),
        ..Reply::default()
    }
}
