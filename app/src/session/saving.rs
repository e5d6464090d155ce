//! Saving: at once to the small storage, a moment later to the database.

use leptos::prelude::*;

use super::handle::{Role, Session, unless_same};
use crate::{
    platform::{clock, crash, page},
    storage::{self, Browser, SavedText, StoreError, earlier},
};

impl Session {
    /// Saves the open project to the browser's storage.
    pub fn keep(self) {
        let is_lost = self.refused.get_untracked() == Some(StoreError::Elsewhere);
        if is_lost || self.role.get_untracked() != Role::Edits {
            return;
        }
        let kept = self.inner.try_update_value(|inner| {
            inner.turn += 1;
            let text = inner.text();
            let title = inner.document.project.title.clone();
            (inner.id.clone(), title, inner.turn, text)
        });
        let Some((id, title, turn, text)) = kept else {
            return;
        };
        let framed = SavedText::framed(turn, &text);
        let here = storage::save_here(&id, turn, &framed);
        // What the small storage does not hold is on its way to the database, which reports if it refuses it.
        unless_same(self.underway, here.clone().err());
        if here.is_ok() {
            unless_same(self.refused, None);
        }
        storage::save(&id, turn, framed.clone(), move |id, turn, is_kept| {
            self.heard(id, turn, is_kept);
        });
        self.tell_windows(&id, &framed);
        crash::remember(framed);
        self.list(&id, &title);
        self.keep_earlier(&id, turn, &text);
    }

    /// The answer of the database to a saving.
    fn heard(self, id: &str, turn: u64, is_kept: bool) {
        if is_kept && id == self.id() {
            // For whoever looks from outside: this saving outlives the machine.
            page::set_root("kept", &turn.to_string());
        }
        let is_newest = id == self.id() && self.inner.with_value(|inner| inner.turn == turn);
        if !is_newest || self.underway.with_untracked(Option::is_none) {
            return;
        }
        if is_kept {
            storage::leave_here(id);
        }
        let why = self.underway.get_untracked().filter(|_| !is_kept);
        self.underway.set(None);
        unless_same(self.refused, why);
    }

    /// Puts the project on the list.
    fn list(self, id: &str, title: &str) {
        let today = clock::today();
        if !self
            .index
            .with_untracked(|index| index.clone().touch(id, title, &today))
        {
            return;
        }
        // The other windows' projects as well.
        let mut index = self.index.with_untracked(|index| index.now(&Browser));
        if index.touch(id, title, &today) {
            // Without a list the projects are still there, and the newest of them is opened.
            let _ = index.keep(&Browser);
            storage::keep_index(&index);
            self.index.set(index);
        }
    }

    /// Keeps what the project is, now and then.
    fn keep_earlier(self, id: &str, turn: u64, text: &str) {
        let now_ms = clock::now_ms();
        let is_due = self.inner.try_update_value(|inner| {
            // A clock that went back is no reason to wait for it.
            let since_ms = inner.earlier_ms.map(|it| (now_ms - it).abs());
            let is_due = since_ms.is_none_or(|it| it > earlier::EVERY_MIN * 60_000.0);
            if is_due {
                inner.earlier_ms = Some(now_ms);
            }
            is_due
        });
        if is_due == Some(true) {
            leptos::task::spawn_local(async move {
                let stays = page::ask_to_stay().await;
                self.stays.set(stays);
            });
            storage::keep_earlier(id, turn, text);
        }
    }
}
