//! Two windows on one project: one edits, the others follow live, and may ask to edit.

use std::time::Duration;

use leptos::{prelude::*, task::spawn_local};

use super::{
    file,
    handle::{Role, Session},
    project::OpenProject,
};
use crate::{
    platform::{
        channel, crash,
        locks::{self, Answer, Ask},
    },
    storage::{SavedText, StoreError, project_name},
};

/// What windows say to each other, with the project's key behind it: "tell me" and "let me edit".
const TELL: &str = "tell";
const LET: &str = "let";
/// The project's text as it was saved, behind key.
const TEXT: &str = "text";

/// A window that was asked to let another edit and does not answer is asleep.
const PATIENCE: Duration = Duration::from_secs(3);

impl Session {
    /// Listens to the other windows.
    pub fn listen(self) {
        let line = channel::open(move |words| {
            let mut words = words.into_iter();
            let (Some(what), Some(id)) = (words.next(), words.next()) else {
                return;
            };
            if id != self.id() {
                return;
            }
            match (&*what, self.role.get_untracked()) {
                (TELL, Role::Edits) => {
                    self.windows.is_heard.set_value(true);
                    let framed = self.inner.try_update_value(|inner| {
                        let text = inner.text();
                        SavedText::framed(inner.turn, &text)
                    });
                    self.tell_windows(&id, &framed.unwrap_or_default());
                }
                (LET, Role::Edits) => self.let_go(id),
                (TEXT, Role::Follows) => self.follow(&words.next().unwrap_or_default()),
                _ => {}
            }
        });
        self.windows.line.set_value(line);
    }

    /// Another window wrote this name in the storage. Where no lock says who may, nothing more is saved
    /// from here, so that neither overwrites the other.
    pub fn written_elsewhere(self, name: &str) {
        let is_ours = name.starts_with(&project_name(&self.id()));
        if is_ours && self.role.get_untracked() == Role::Edits {
            self.refused.set(Some(StoreError::Elsewhere));
        }
    }

    /// Tells the windows that follow what was saved.
    pub(super) fn tell_windows(self, id: &str, framed: &str) {
        if self.windows.is_heard.get_value() {
            self.say_to_windows([TEXT, id, framed]);
        }
    }

    fn say_to_windows<const N: usize>(self, words: [&str; N]) {
        self.windows.line.with_value(|line| {
            if let Some(line) = line {
                line.say(&words.map(str::to_owned).to_vec());
            }
        });
    }

    /// Takes a project that no other window can have.
    pub(super) fn claim(self, id: &str) {
        let id = id.to_owned();
        self.windows.begin();
        spawn_local(async move {
            self.ask(&id, Ask::Now).await;
        });
    }

    /// Asks for a project that another window may have; then this one follows, and edits when the other
    /// is closed.
    pub(super) async fn ask_for(self, id: &str) -> Role {
        // Ours already: it is opened again.
        if id == self.id() && self.windows.held.with_value(Option::is_some) {
            return Role::Edits;
        }
        self.windows.begin();
        if self.ask(id, Ask::Now).await {
            return Role::Edits;
        }
        self.wait_for(id.to_owned(), Ask::InTurn);
        self.say_to_windows([TELL, id]);
        Role::Follows
    }

    /// Asks again for the open project, after another project could not be opened.
    pub(super) async fn ask_again(self) {
        let id = self.id();
        self.windows.begin();
        match self.role.get_untracked() {
            Role::Edits => {
                let role = self.ask_for(&id).await;
                self.role.set(role);
            }
            Role::Follows => self.wait_for(id, Ask::InTurn),
            Role::Looks => {}
        }
    }

    /// True if the lock is ours, or there are none. The lock of an earlier request goes back at once.
    async fn ask(self, id: &str, ask: Ask) -> bool {
        let turn = self.windows.asked.get_value() + 1;
        self.windows.asked.set_value(turn);
        let lost = id.to_owned();
        let answer = locks::hold(&project_name(id), ask, move || self.lost(&lost)).await;
        match answer {
            Answer::Taken => false,
            _ if self.windows.asked.get_value() != turn => false,
            Answer::Held(held) => {
                self.windows.held.set_value(Some(held));
                true
            }
            Answer::NoLocks => true,
        }
    }

    /// Waits for the lock; with it, what the other window saved last is read and edited on.
    fn wait_for(self, id: String, ask: Ask) {
        spawn_local(async move {
            if !self.ask(&id, ask).await || self.role.get_untracked() != Role::Follows {
                return;
            }
            match self.load(&id, Role::Edits).await {
                Ok(()) => {
                    // Whoever had it follows now, if it is still open.
                    self.windows.is_heard.set_value(true);
                    self.announce_same();
                }
                Err(why) => self.say(why),
            }
        });
    }

    /// Asks the other window to let this one edit, and takes the project if it does not answer.
    pub fn edit_here(self) {
        let id = self.id();
        self.say_to_windows([LET, &id]);
        set_timeout(
            move || {
                if self.role.get_untracked() == Role::Follows && id == self.id() {
                    self.wait_for(id.clone(), Ask::Anyway);
                }
            },
            PATIENCE,
        );
    }

    /// Lets another window edit, once all is saved.
    fn let_go(self, id: String) {
        if self.underway.with_untracked(Option::is_some) {
            set_timeout(move || self.let_go(id), Duration::from_millis(50));
            return;
        }
        self.lost(&id);
    }

    /// Another window edits now; this one follows until that is closed.
    fn lost(self, id: &str) {
        if id == self.id() && self.role.get_untracked() == Role::Edits {
            self.role.set(Role::Follows);
            self.say_to_windows([TELL, id]);
            self.windows.held.set_value(None);
            self.wait_for(id.to_owned(), Ask::InTurn);
        }
    }

    /// Shows what the editing window saved.
    fn follow(self, framed: &str) {
        let Some(kept) = SavedText::read(framed) else {
            return;
        };
        let Ok(opened) = file::open(kept.text.as_bytes()) else {
            return;
        };
        self.inner.update_value(|inner| {
            let id = std::mem::take(&mut inner.id);
            *inner = OpenProject::of(id, opened.document, kept.turn);
        });
        crash::remember(framed.to_owned());
        self.announce_same();
    }
}
