//! What a person can do, whether with a key, a menu or a button.

mod edit;
pub mod edits;
pub mod operate;
mod selection;
mod show;
pub mod sight;
mod take;

pub use edit::{edit, edit_device, edit_project, edit_wire};
pub use selection::{again, delete, discard, duplicate, make_cable, remove_here, tidy};
pub use show::{go_to, show, toggle_wires};
pub use take::{drop_begun, take, take_to_add};
