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

/// What was done and undone to one document. Every change of the document must go through it; one that is
/// only shown, as in a drag, is taken back before.
#[derive(Clone, Debug)]
pub struct History {
    done: VecDeque<Done>,
    undone: Vec<Done>,
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
            most,
        }
    }

    /// Makes a change as one step. A change of nothing is no step.
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
        if change.is_empty() {
            return Ok(());
        }
        self.undone.clear();
        self.done.push_back(Done {
            label: label.into(),
            change,
        });
        while self.done.len() > self.most {
            self.done.pop_front();
        }
        Ok(())
    }

    /// Undoes the last step and returns its label.
    ///
    /// # Errors
    /// [`ApplyError`] if the document was changed by something else meanwhile.
    pub fn undo(&mut self, document: &mut Document) -> Result<Option<String>, ApplyError> {
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

    /// Does again what was undone last, and returns its label.
    ///
    /// # Errors
    /// [`ApplyError`] if the document was changed by something else meanwhile.
    pub fn redo(&mut self, document: &mut Document) -> Result<Option<String>, ApplyError> {
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
        self.done.back().map(|done| done.change.invert())
    }

    /// What redo would change now.
    pub fn redo_change(&self) -> Option<Change> {
        self.undone.last().map(|done| done.change.clone())
    }

    /// What undo would undo.
    pub fn undo_label(&self) -> Option<&str> {
        self.done.back().map(|done| done.label.as_str())
    }

    /// What redo would do again.
    pub fn redo_label(&self) -> Option<&str> {
        self.undone.last().map(|done| done.label.as_str())
    }
}
