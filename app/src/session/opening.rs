//! Opening another project, and forgetting one.

use leptos::prelude::*;
use loomwright_core::document::Document;

use super::{
    file::{self, Opened},
    handle::{Role, Session},
    project::OpenProject,
};
use crate::{
    platform::{clock, crash},
    storage::{self, Browser, SavedText, StoreError},
};

impl Session {
    /// Puts another document in place of the open one, as a project of its own.
    pub fn open_new(self, document: Document) {
        let id = clock::fresh_key();
        self.claim(&id);
        self.place(id, document);
        self.keep();
        self.announce();
    }

    /// Shows a document without keeping it until its first edit.
    pub fn show_unkept(self, document: Document) {
        let id = clock::fresh_key();
        self.claim(&id);
        self.place(id, document);
        self.announce();
    }

    /// Opens a file as a project of its own; one of a newer program is only shown.
    pub fn open_file(self, opened: Opened) {
        match opened.newer {
            None => self.open_new(opened.document),
            newer => {
                self.show_unkept(opened.document);
                self.only_look(newer);
            }
        }
    }

    /// Opens a project kept in this browser.
    ///
    /// # Errors
    /// A sentence, if it cannot be read.
    pub async fn open_kept(self, id: String) -> Result<(), String> {
        let role = self.ask_for(&id).await;
        let loaded = self.load(&id, role).await;
        if loaded.is_err() {
            self.ask_again().await;
        }
        loaded?;
        self.index.update(|index| index.open = Some(id.clone()));
        // The list is kept again with the next edit if the storage refuses now.
        let _ = self.index.with_untracked(|index| index.keep(&Browser));
        self.announce();
        Ok(())
    }

    /// Reads a project from wherever its newest text is. What a newer program kept is only looked at,
    /// whatever the role.
    pub(super) async fn load(self, id: &str, role: Role) -> Result<(), String> {
        let unreadable = || StoreError::Unreadable(id.into()).to_string();
        let kept = storage::newest(id).await.ok_or_else(unreadable)?;
        let opened = file::open(kept.text.as_bytes())?;
        self.place(id.to_owned(), opened.document);
        self.inner.update_value(|inner| inner.turn = kept.turn);
        crash::remember(SavedText::framed(kept.turn, &kept.text));
        self.role.set(role);
        self.only_look(opened.newer);
        Ok(())
    }

    /// Leaves a file of a newer program as it came.
    fn only_look(self, newer: Option<Vec<u8>>) {
        if newer.is_some() {
            self.inner.update_value(|inner| inner.newer = newer);
            self.role.set(Role::Looks);
        }
    }

    fn place(self, id: String, document: Document) {
        if id != self.id() {
            // What was chosen to compare with is of the project before.
            self.view.papers.before.set(String::new());
        }
        self.inner.set_value(OpenProject::of(id, document, 0));
        self.said.set(None);
        self.refused.set(None);
        self.underway.set(None);
        self.role.set(Role::Edits);
    }

    fn announce(self) {
        self.peek(|document| self.view.reset(document));
        self.opened.update(|n| *n += 1);
        self.announce_same();
    }

    /// Tells that the open project is another state of itself.
    pub(super) fn announce_same(self) {
        self.peek(|document| self.view.leave_lost_sheet(document));
        self.revision.update(|n| *n += 1);
        self.redraw();
    }

    /// Forgets a project kept in this browser.
    pub fn forget(self, id: &str) {
        storage::forget(id);
        self.index.update(|index| {
            *index = index.now(&Browser);
            // Off the list even if the storage refuses: its file is gone.
            let _ = index.forget(&Browser, id);
            storage::keep_index(index);
        });
    }
}
