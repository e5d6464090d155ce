//! The handle to the open project: reading it, and what is known of it.

use leptos::prelude::*;
use loomwright_core::{document::Document, edit::Change};

use super::{file, project::OpenProject, window_line::WindowLine};
use crate::{
    storage::{Browser, Index, StoreError},
    view::View,
};

/// What a window may do with the open project.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Edit it.
    Edits,
    /// See what another window makes of it.
    Follows,
    /// Look at it: a newer program wrote it.
    Looks,
}

/// Handle to the open project. Copy it freely.
#[derive(Clone, Copy)]
pub struct Session {
    pub(super) inner: StoredValue<OpenProject>,
    /// What is shown of it.
    pub(super) view: View,
    /// Goes up with every edit that is made.
    pub(super) revision: RwSignal<u64>,
    /// Goes up with every edit, made or only shown while dragging.
    pub(super) drawn: RwSignal<u64>,
    /// Goes up when another project is opened.
    pub(super) opened: RwSignal<u64>,
    /// The projects in this browser.
    pub index: RwSignal<Index>,
    /// What the storage said last, if it refused.
    pub refused: RwSignal<Option<StoreError>>,
    /// What this window may do with the project.
    pub role: RwSignal<Role>,
    /// Why the small storage refused the last edit, until the database has it.
    pub(super) underway: RwSignal<Option<StoreError>>,
    /// What holds the project for this window, and the line to the other windows.
    pub(super) windows: WindowLine,
    /// Whether the browser promises to keep what is kept here; none until it was asked, or if it cannot say.
    pub stays: RwSignal<Option<bool>>,
    /// The last thing that was done, undone or could not be done, for the strip.
    pub said: RwSignal<Option<String>>,
}

impl Session {
    /// A session with an empty project that is not kept anywhere yet.
    pub fn new(view: View) -> Self {
        Self {
            view,
            inner: StoredValue::new(OpenProject::default()),
            revision: RwSignal::new(0),
            drawn: RwSignal::new(0),
            opened: RwSignal::new(0),
            index: RwSignal::new(Index::load(&Browser)),
            refused: RwSignal::new(None),
            role: RwSignal::new(Role::Edits),
            underway: RwSignal::new(None),
            windows: WindowLine::new(),
            stays: RwSignal::new(None),
            said: RwSignal::new(None),
        }
    }

    /// Reads the document, following edits that are made.
    pub fn with<T>(self, read: impl FnOnce(&Document) -> T) -> T {
        self.revision.track();
        self.peek(read)
    }

    /// Reads the document, following drafts as well.
    pub fn with_drawn<T>(self, read: impl FnOnce(&Document) -> T) -> T {
        self.drawn.track();
        self.peek(read)
    }

    /// Reads the document without following it.
    pub fn peek<T>(self, read: impl FnOnce(&Document) -> T) -> T {
        let (mut read, mut answer) = (Some(read), None);
        self.look(&mut |document| answer = read.take().map(|read| read(document)));
        answer.expect("looked once, just now")
    }

    /// Apart from what is read, so that it is compiled once.
    fn look(self, look: &mut dyn FnMut(&Document)) {
        self.inner.with_value(|inner| look(&inner.document));
    }

    /// What changed since the last call, with the document as it is now; none if anything may have changed.
    pub fn take_changes<T>(self, read: impl FnOnce(&Document, Option<Change>) -> T) -> Option<T> {
        self.inner.try_update_value(|inner| {
            let changes = inner.unchecked.take();
            // What is only shown is not checked; what is checked with it must be checked again.
            let sound = inner.draft.is_none();
            inner.unchecked = sound.then(Change::default);
            read(&inner.document, changes.filter(|_| sound))
        })
    }

    /// Follows the opening of another project.
    pub fn track_opened(self) {
        self.opened.track();
    }

    /// Which opening of a project this is, followed.
    pub fn opening(self) -> u64 {
        self.opened.get()
    }

    /// The revision, followed.
    pub fn revision(self) -> u64 {
        self.revision.get()
    }

    /// The revision as it is, not followed.
    pub fn revision_now(self) -> u64 {
        self.revision.get_untracked()
    }

    /// Says one line in the strip.
    pub fn say(self, text: String) {
        self.said.set(Some(text));
    }

    /// True if this is the last thing that was said.
    pub fn said_last(self, text: &str) -> bool {
        self.said
            .with_untracked(|said| said.as_deref() == Some(text))
    }

    /// True if the last edit may be lost with this window.
    pub fn is_unsaved(self) -> bool {
        self.underway.with(Option::is_some) || self.refused.with(Option::is_some)
    }

    /// The open project's key.
    pub fn id(self) -> String {
        self.inner.with_value(|inner| inner.id.clone())
    }

    /// The file of the open project.
    pub fn bytes(self) -> Vec<u8> {
        let newer = self.inner.with_value(|inner| inner.newer.clone());
        newer.unwrap_or_else(|| self.peek(file::save))
    }

    /// Says that what is drawn is another one.
    pub(super) fn redraw(self) {
        self.drawn.update(|n| *n += 1);
    }
}

/// Sets a signal, unless it has that value.
pub(super) fn unless_same<T: PartialEq + Send + Sync + 'static>(signal: RwSignal<T>, value: T) {
    if signal.with_untracked(|it| *it != value) {
        signal.set(value);
    }
}
