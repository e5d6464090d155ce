//! Add a device: tap to place it.

use super::tool::{Input, Reply, Tool, World};
use crate::{
    commands::edits,
    strings,
    view::{Addition, Ghost},
};

/// The device tool.
pub struct Add {
    /// What was chosen from the list.
    pub addition: Option<Addition>,
}

impl Tool for Add {
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply {
        match (input, &self.addition) {
            (Input::Move(at), Some(_)) => Reply::ghosts(vec![Ghost::SheetPoint(at.point)]),
            (Input::Release(at), Some(addition)) => {
                let made = edits::add(world.document, world.sheet, addition, at.point);
                let (change, key) = match made {
                    Ok((change, key)) => (Ok(change), Some(key)),
                    Err(why) => (Err(why), None),
                };
                Reply {
                    commit: Some((strings::ADD_DEVICE, change)),
                    select: key.map(|key| [key].into()),
                    details: true,
                    done: true,
                    ..Reply::default()
                }
            }
            (Input::Escape, _) => Reply {
                done: true,
                ..Reply::default()
            },
            _ => Reply::default(),
        }
    }
}
