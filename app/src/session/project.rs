//! The open project: document, history, what is shown of an edit under way.

use loomwright_core::{
    document::Document,
    edit::{Change, History, change::ApplyError},
    exchange::Texts,
};

/// The open project.
#[derive(Default)]
pub(super) struct OpenProject {
    pub(super) document: Document,
    pub(super) history: History,
    /// A change that is shown but not made: a drag under way.
    pub(super) draft: Option<Change>,
    pub(super) id: String,
    /// What was changed since the last check; none if all of it is to be checked.
    pub(super) unchecked: Option<Change>,
    /// The texts of its records as they were saved last; none before the first saving.
    pub(super) texts: Option<Texts>,
    /// Which saving the last one was.
    pub(super) turn: u64,
    /// When an earlier state was kept last, ms.
    pub(super) earlier_ms: Option<f64>,
    /// The file itself, if a newer program wrote it: it is given back as it came.
    pub(super) newer: Option<Vec<u8>>,
}

impl OpenProject {
    /// A project just opened.
    pub(super) fn of(id: String, document: Document, turn: u64) -> Self {
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
    pub(super) fn run(&mut self, label: &str, change: Change) -> Result<(), ApplyError> {
        let made = change.clone();
        self.history.run(&mut self.document, label, change)?;
        self.follow(&made);
        Ok(())
    }

    /// Takes a step back or makes it again; gives its label.
    pub(super) fn step(&mut self, step: Step) -> Result<Option<String>, ApplyError> {
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

    /// Its file.
    pub(super) fn text(&mut self) -> String {
        let texts = self.texts.get_or_insert_with(|| Texts::new(&self.document));
        texts.file(&self.document)
    }
}

/// A step through the history.
#[derive(Clone, Copy)]
pub(super) enum Step {
    /// Back.
    Undo,
    /// Forward again.
    Redo,
}
