//! Undo and redo.

use std::collections::VecDeque;

use super::{Change, change::ApplyError};
use crate::document::Document;

/// One thing done, that can be undone.
#[derive(Clone, Debug, PartialEq)]
struct Done {
    label: String,
    change: Change,
}

/// The undo history of one document. Every change of the document must go through it.
///
/// Between [`mark`](Self::mark) and [`keep`](Self::keep) any number of changes count as one step; so a drag is one
/// step. [`bail`](Self::bail) reverts them without a trace.
#[derive(Clone, Debug)]
pub struct History {
    done: VecDeque<Done>,
    undone: Vec<Done>,
    open: Option<Done>,
    most: usize,
}

impl Default for History {
    fn default() -> Self {
        Self::new(1000)
    }
}

impl History {
    /// An empty history that keeps at most this many steps.
    pub fn new(most: usize) -> Self {
        Self {
            done: VecDeque::new(),
            undone: Vec::new(),
            open: None,
            most,
        }
    }

    /// Makes a change: a separate step, or part of the open step. An empty change is not a step.
    ///
    /// # Errors
    /// [`ApplyError`] if the change does not fit the document; then nothing changes.
    pub fn run(
        &mut self,
        document: &mut Document,
        label: &str,
        change: Change,
    ) -> Result<(), ApplyError> {
        change.apply(document)?;
        if let Some(open) = &mut self.open {
            open.change = std::mem::take(&mut open.change).then(&change);
        } else {
            self.push(Done {
                label: label.into(),
                change,
            });
        }
        Ok(())
    }

    fn push(&mut self, done: Done) {
        if done.change.is_empty() {
            return;
        }
        self.undone.clear();
        self.done.push_back(done);
        while self.done.len() > self.most {
            self.done.pop_front();
        }
    }

    /// Opens a step. A step already open is closed and kept first.
    pub fn mark(&mut self, label: &str) {
        self.keep();
        self.open = Some(Done {
            label: label.into(),
            change: Change::default(),
        });
    }

    /// Closes the open step as one thing done.
    pub fn keep(&mut self) {
        if let Some(open) = self.open.take() {
            self.push(open);
        }
    }

    /// Takes back everything since [`mark`](Self::mark), as if it had never been. What was undone
    /// before can still be redone.
    ///
    /// # Errors
    /// [`ApplyError`] if the document was changed by something else meanwhile.
    pub fn bail(&mut self, document: &mut Document) -> Result<(), ApplyError> {
        match self.open.take() {
            Some(open) => open.change.invert().apply(document),
            None => Ok(()),
        }
    }

    /// Shows a change in place of the one shown before, in an open step: each move of a drag.
    ///
    /// # Errors
    /// [`ApplyError`] if the change does not fit the document as it was before the step.
    pub fn show(
        &mut self,
        document: &mut Document,
        label: &str,
        change: Change,
    ) -> Result<(), ApplyError> {
        self.bail(document)?;
        self.mark(label);
        self.run(document, label, change)
    }

    /// Undoes the last step and returns its label. An open step is taken back instead.
    ///
    /// # Errors
    /// [`ApplyError`] if the document was changed by something else meanwhile.
    pub fn undo(&mut self, document: &mut Document) -> Result<Option<String>, ApplyError> {
        if let Some(open) = &self.open {
            let label = open.label.clone();
            return self.bail(document).map(|()| Some(label));
        }
        let Some(done) = self.done.pop_back() else {
            return Ok(None);
        };
        if let Err(error) = done.change.invert().apply(document) {
            self.done.push_back(done);
            return Err(error);
        }
        let label = done.label.clone();
        self.undone.push(done);
        Ok(Some(label))
    }

    /// Redoes the last undone step, and returns its label. An open step is closed and kept first.
    ///
    /// # Errors
    /// [`ApplyError`] if the document was changed by something else meanwhile.
    pub fn redo(&mut self, document: &mut Document) -> Result<Option<String>, ApplyError> {
        self.keep();
        let Some(done) = self.undone.pop() else {
            return Ok(None);
        };
        if let Err(error) = done.change.apply(document) {
            self.undone.push(done);
            return Err(error);
        }
        let label = done.label.clone();
        self.done.push_back(done);
        Ok(Some(label))
    }

    /// What undo would change now.
    pub fn undo_change(&self) -> Option<Change> {
        let done = self.open.as_ref().or(self.done.back());
        done.map(|done| done.change.invert())
    }

    /// What redo would change now.
    pub fn redo_change(&self) -> Option<Change> {
        self.undone.last().map(|done| done.change.clone())
    }

    /// What undo would undo.
    pub fn undo_label(&self) -> Option<&str> {
        let done = self.open.as_ref().or(self.done.back());
        done.map(|done| done.label.as_str())
    }

    /// What redo would do again.
    pub fn redo_label(&self) -> Option<&str> {
        self.undone.last().map(|done| done.label.as_str())
    }
}
