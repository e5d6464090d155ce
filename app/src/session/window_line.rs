//! The lock that holds a project for this window, and the line to the other windows.

use leptos::prelude::*;

use crate::platform::{channel::Channel, locks::Held};

/// What holds the open project for this window.
#[derive(Clone, Copy)]
pub(super) struct WindowLine {
    pub(super) held: StoredValue<Option<Held>, LocalStorage>,
    pub(super) line: StoredValue<Option<Channel>, LocalStorage>,
    /// True once another window asked to hear of changes.
    pub(super) is_heard: StoredValue<bool>,
    /// Rises with every request for a lock: an earlier request is no longer wanted.
    pub(super) asked: StoredValue<u64>,
}

impl WindowLine {
    pub(super) fn new() -> Self {
        Self {
            held: StoredValue::new_local(None),
            line: StoredValue::new_local(None),
            is_heard: StoredValue::new(false),
            asked: StoredValue::new(0),
        }
    }

    /// Lets go of what is held, to ask for another.
    pub(super) fn begin(self) {
        self.held.set_value(None);
        self.is_heard.set_value(false);
    }
}
