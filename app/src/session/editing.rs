//! Edits: each is applied, put on the history and saved before anything is derived from it.

use leptos::prelude::*;
use loomwright_core::edit::Change;

use super::{
    handle::{Role, Session},
    project::{OpenProject, Step},
};
use crate::strings;

impl Session {
    /// Makes an edit: one step of undo.
    pub fn run(self, label: &str, change: Change) {
        self.drop_draft();
        if change.is_empty() || !self.may_edit() {
            self.redraw();
            return;
        }
        let made = self
            .inner
            .try_update_value(|inner| inner.run(label, change));
        match made {
            Some(Ok(())) => self.after_edit(label.to_owned()),
            Some(Err(error)) => self.say(error.to_string()),
            None => {}
        }
    }

    /// Makes an edit, or says why it cannot be made.
    pub fn try_run<E: std::fmt::Display>(self, label: &str, change: Result<Change, E>) -> bool {
        match change {
            Ok(change) => {
                self.run(label, change);
                true
            }
            Err(error) => {
                self.drop_draft();
                self.redraw();
                self.say(error.to_string());
                false
            }
        }
    }

    /// Shows a change without making it, in place of the one shown before.
    pub fn show_draft(self, change: Option<Change>) {
        let had = self.drop_draft();
        let Some(change) = change.filter(|_| self.role.get_untracked() == Role::Edits) else {
            if had {
                self.redraw();
            }
            return;
        };
        self.inner.update_value(|inner| inner.show(change));
        self.redraw();
    }

    /// True while a change is shown but not made.
    pub fn has_draft(self) -> bool {
        self.inner.with_value(|inner| inner.draft.is_some())
    }

    fn drop_draft(self) -> bool {
        self.lay_draft_aside().is_some()
    }

    /// Takes the draft back without drawing that, so that the document can be read as it is kept.
    pub fn lay_draft_aside(self) -> Option<Change> {
        self.inner
            .try_update_value(OpenProject::take_back)
            .flatten()
    }

    /// Takes the last edit back.
    pub fn undo(self) {
        self.step(Step::Undo, strings::UNDONE);
    }

    /// Makes the last undone edit again.
    pub fn redo(self) {
        self.step(Step::Redo, strings::REDONE);
    }

    fn step(self, step: Step, word: &str) {
        self.drop_draft();
        if !self.may_edit() {
            return;
        }
        match self.inner.try_update_value(|inner| inner.step(step)) {
            Some(Ok(Some(label))) => self.after_edit(format!("{word}: {label}")),
            Some(Err(error)) => self.say(error.to_string()),
            Some(Ok(None)) | None => {}
        }
    }

    /// What undo and redo would act on.
    pub fn steps(self) -> (Option<String>, Option<String>) {
        self.revision.track();
        self.inner.with_value(|inner| {
            let owned = |label: Option<&str>| label.map(str::to_owned);
            (
                owned(inner.history.undo_label()),
                owned(inner.history.redo_label()),
            )
        })
    }

    fn after_edit(self, said: String) {
        self.keep();
        // The open sheet may have gone with an undo.
        self.peek(|document| self.view.leave_lost_sheet(document));
        self.revision.update(|n| *n += 1);
        self.redraw();
        self.say(said);
    }

    /// True if this window may edit the project; says why if not.
    fn may_edit(self) -> bool {
        let why = match self.role.get_untracked() {
            Role::Edits => return true,
            Role::Follows => strings::FOLLOWS,
            Role::Looks => strings::NEWER_FILE,
        };
        self.say(why.into());
        false
    }
}
