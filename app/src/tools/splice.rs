//! Splice into a wire: tap the wire where the splice is to be.

use loomwright_core::edit::Key;

use super::{
    hit::{self, Hit},
    tool::{Input, Reply, Tool, World},
};
use crate::{commands::edits, strings, view::Ghost};

/// The splice tool.
pub struct Splice;

impl Tool for Splice {
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply {
        match input {
            Input::Move(at) if matches!(at.hit, Some(Hit::Wire(_))) => {
                Reply::ghosts(vec![Ghost::SheetPoint(hit::snapped(at.point))])
            }
            Input::Release(at) => {
                let Some(Hit::Wire(wire)) = &at.hit else {
                    return Reply::default();
                };
                let at = hit::snapped(at.point);
                let made = edits::splice_into(world.document, world.scene, world.sheet, wire, at);
                let (change, id) = match made {
                    Ok((change, id)) => (Ok(change), Some(id)),
                    Err(why) => (Err(why), None),
                };
                Reply {
                    commit: Some((strings::SPLICE_WIRE, change)),
                    select: id.map(|id| [Key::Splice(id)].into()),
                    details: true,
                    ..Reply::default()
                }
            }
            Input::Escape => Reply {
                done: true,
                ..Reply::default()
            },
            _ => Reply::default(),
        }
    }
}
