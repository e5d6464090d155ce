//! The one owner of the document and its history. Every edit goes through [`Session::run`]: it is
//! applied, put on the history and saved before anything is derived from it.

use leptos::prelude::*;
use loomwright_core::{
    document::Document,
    edit::{Change, History, change::ApplyError},
    exchange::Texts,
};

use crate::{
    file::{self, Opened},
    platform::{clock, crash, page},
    storage::{self, Browser, Index, Kept, StoreError, earlier},
    strings,
};

mod windows;

#[derive(Default)]
struct Inner {
    document: Document,
    history: History,
    /// A change that is shown but not made: a drag under way.
    draft: Option<Change>,
    id: String,
    /// What was changed since the last check; none if all of it is to be checked.
    unchecked: Option<Change>,
    /// The texts of its records as they were saved last; none before the first saving.
    texts: Option<Texts>,
    /// Which saving the last one was.
    turn: u64,
    /// When an earlier state was kept last, ms.
    earlier_ms: Option<f64>,
    /// The file itself, if a newer program wrote it: it is given back as it came.
    newer: Option<Vec<u8>>,
}

impl Inner {
    /// A project just opened.
    fn of(id: String, document: Document, turn: u64) -> Self {
        Self {
            document,
            id,
            turn,
            ..Self::default()
        }
    }

    /// Takes note of a change that was made.
    fn follow(&mut self, change: &Change) {
        self.unchecked = self.unchecked.take().map(|before| before.then(change));
        if let Some(texts) = &mut self.texts {
            texts.follow(&self.document, change);
        }
    }

    /// Makes an edit.
    fn run(&mut self, label: &str, change: Change) -> Result<(), ApplyError> {
        let made = change.clone();
        self.history.run(&mut self.document, label, change)?;
        self.follow(&made);
        Ok(())
    }

    /// Takes a step back or makes it again; gives its label.
    fn step(&mut self, step: Step) -> Result<Option<String>, ApplyError> {
        let (history, document) = (&mut self.history, &mut self.document);
        let (change, label) = match step {
            Step::Undo => (history.undo_change(), history.undo(document)?),
            Step::Redo => (history.redo_change(), history.redo(document)?),
        };
        if let (Some(change), Some(_)) = (change, &label) {
            self.follow(&change);
        }
        Ok(label)
    }

    fn text(&mut self) -> String {
        let texts = self.texts.get_or_insert_with(|| Texts::new(&self.document));
        texts.file(&self.document)
    }
}

#[derive(Clone, Copy)]
enum Step {
    Undo,
    Redo,
}

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
    inner: StoredValue<Inner>,
    /// Goes up with every edit that is made.
    revision: RwSignal<u64>,
    /// Goes up with every edit, made or only shown while dragging.
    drawn: RwSignal<u64>,
    /// Goes up when another project is opened.
    opened: RwSignal<u64>,
    /// The projects in this browser.
    pub index: RwSignal<Index>,
    /// What the storage said last, if it refused.
    pub refused: RwSignal<Option<StoreError>>,
    /// What this window may do with the project.
    pub role: RwSignal<Role>,
    /// Why the small storage would not have the last edit, until the database has it.
    underway: RwSignal<Option<StoreError>>,
    /// What holds the project for this window, and what other windows are told through.
    windows: windows::Windows,
    /// Whether the browser promises to keep what is kept here; none until it was asked, or if it cannot say.
    pub stays: RwSignal<Option<bool>>,
    /// The last thing that was done, undone or could not be done, for the strip.
    pub said: RwSignal<Option<String>>,
}

impl Session {
    /// A session with an empty project that is not kept anywhere yet.
    pub fn new() -> Self {
        Self {
            inner: StoredValue::new(Inner::default()),
            revision: RwSignal::new(0),
            drawn: RwSignal::new(0),
            opened: RwSignal::new(0),
            index: RwSignal::new(Index::load(&Browser)),
            refused: RwSignal::new(None),
            role: RwSignal::new(Role::Edits),
            underway: RwSignal::new(None),
            windows: windows::Windows::new(),
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

    /// What was changed since this was asked last, with the document as it is now; none if that may be
    /// anything.
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
        self.inner.update_value(|inner| {
            if change.apply(&mut inner.document).is_ok() {
                inner.draft = Some(change);
            }
        });
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
            .try_update_value(|inner| {
                let draft = inner.draft.take()?;
                draft.invert().apply(&mut inner.document).ok()?;
                Some(draft)
            })
            .flatten()
    }

    fn redraw(self) {
        self.drawn.update(|n| *n += 1);
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
        self.revision.update(|n| *n += 1);
        self.redraw();
        self.say(said);
    }

    /// Says one line in the strip.
    pub fn say(self, text: String) {
        self.said.set(Some(text));
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
        let framed = Kept::framed(turn, &text);
        let here = storage::save_here(&id, turn, &framed);
        // What is not here yet is on its way to the database, which says if it will not have it.
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

    /// What the database said of a saving.
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

    /// True if the last edit may be lost with this window.
    pub fn is_unsaved(self) -> bool {
        self.underway.with(Option::is_some) || self.refused.with(Option::is_some)
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
    async fn load(self, id: &str, role: Role) -> Result<(), String> {
        let unreadable = || StoreError::Unreadable(id.into()).to_string();
        let kept = storage::newest(id).await.ok_or_else(unreadable)?;
        let opened = file::open(kept.text.as_bytes())?;
        self.place(id.to_owned(), opened.document);
        self.inner.update_value(|inner| inner.turn = kept.turn);
        crash::remember(Kept::framed(kept.turn, &kept.text));
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
        self.inner.set_value(Inner::of(id, document, 0));
        self.said.set(None);
        self.refused.set(None);
        self.underway.set(None);
        self.role.set(Role::Edits);
    }

    fn announce(self) {
        self.opened.update(|n| *n += 1);
        self.announce_same();
    }

    /// Tells that the open project is another state of itself.
    fn announce_same(self) {
        self.revision.update(|n| *n += 1);
        self.redraw();
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

fn unless_same<T: PartialEq + Send + Sync + 'static>(signal: RwSignal<T>, value: T) {
    if signal.with_untracked(|it| *it != value) {
        signal.set(value);
    }
}
