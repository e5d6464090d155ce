//! How papers are made, on screen and in print.

use std::sync::Arc;

use leptos::prelude::*;
use loomwright_core::{document::Document, reports::wires};

/// How papers are made. The paper itself is [`super::View::paper`].
#[derive(Clone, Copy)]
pub struct PaperChoice {
    /// Rows with this text alone.
    pub only: RwSignal<String>,
    /// How the wire list is grouped; none if it is not.
    pub group: RwSignal<Option<wires::Group>>,
    /// How many steps of a long paper are made, while it is being made.
    pub under_way: RwSignal<Option<usize>>,
    /// The column that the wire list is sorted by; by number if it is empty.
    pub sorted_by: RwSignal<String>,
    /// The earlier state to compare with: the key of a revision, [`FILE`], or nothing.
    pub before: RwSignal<String>,
    /// The file that was chosen for it.
    pub file: RwSignal<Option<Arc<Document>>>,
}

/// The file in place of a revision; no key of a revision is so short.
pub const FILE: &str = "file";

impl PaperChoice {
    /// Everything, by number, compared with nothing.
    pub(super) fn new() -> Self {
        Self {
            only: RwSignal::new(String::new()),
            group: RwSignal::new(None),
            under_way: RwSignal::new(None),
            sorted_by: RwSignal::new(String::new()),
            before: RwSignal::new(String::new()),
            file: RwSignal::new(None),
        }
    }

    /// Follows every choice.
    pub fn track(self) {
        self.only.track();
        self.group.track();
        self.sorted_by.track();
        self.before.track();
        self.file.track();
    }
}
