//! Make a cable: tap the wires that share it, then make it in the details.

use loomwright_core::edit::Key;
use loomwright_core::order::Sorted;

use super::{
    hit::Hit,
    tool::{Input, Reply, Tool, World},
};

/// The cable tool: every tap on a wire takes it in or leaves it out.
pub struct Cable;

impl Tool for Cable {
    fn on(&mut self, input: &Input, world: &World<'_>) -> Reply {
        match input {
            Input::Release(at) => {
                let key = match &at.hit {
                    Some(Hit::Wire(id)) => Key::Wire(id.clone()),
                    Some(Hit::Cable(id)) => return Reply::select([Key::Cable(id.clone())]),
                    _ => return Reply::default(),
                };
                let mut keys: Sorted<_> = world
                    .selection
                    .iter()
                    .filter(|key| matches!(key, Key::Wire(_)))
                    .cloned()
                    .collect();
                if !keys.remove(&key) {
                    keys.insert(key);
                }
                Reply::select(keys)
            }
            Input::Escape => Reply {
                done: true,
                select: Some([].into()),
                ..Reply::default()
            },
            _ => Reply::default(),
        }
    }
}
