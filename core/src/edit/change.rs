//! A change: records added, updated and removed. Undo is the inverted change; compare, merge and fixes use the same
//! type.

use serde::{Deserialize, Serialize};

use crate::{
    document::{Document, Key, Record},
    order::Map,
};

/// A change cannot be applied to this document.
#[derive(Clone, Debug, thiserror::Error, PartialEq, Eq)]
pub enum ApplyError {
    /// The record the change starts from is not the one that is there.
    #[error("{0} was edited meanwhile; this change no longer fits it")]
    Moved(Key),
}

/// What one record was and what it becomes. `None` means "not there".
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Before.
    pub before: Option<Record>,
    /// After.
    pub after: Option<Record>,
}

/// Records added, updated and removed, at most one step a record.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Change {
    steps: Map<Key, Step>,
}

impl Change {
    /// The change that makes this one record become `after` in `document`.
    pub fn set(document: &Document, key: Key, after: Option<Record>) -> Self {
        let mut change = Self::default();
        change.and_set(document, key, after);
        change
    }

    /// The change that makes one document of another.
    pub fn between(before: &Document, after: &Document) -> Self {
        let mut change = Self::default();
        for key in before.differing(after) {
            let step = Step {
                before: before.record(&key),
                after: after.record(&key),
            };
            change.steps.insert(key, step);
        }
        change
    }

    /// The keys of records that this change adds.
    pub fn added(&self) -> impl Iterator<Item = &Key> {
        (self.steps.iter()).filter_map(|(key, step)| step.before.is_none().then_some(key))
    }

    /// Adds to this change that a record becomes `after`. If the record is set again, its first state before is
    /// kept.
    pub fn and_set(&mut self, document: &Document, key: Key, after: Option<Record>) {
        let before = match self.steps.remove(&key) {
            Some(step) => step.before,
            None => document.record(&key),
        };
        if before != after {
            self.steps.insert(key, Step { before, after });
        }
    }

    /// A record after this change, or as in `document` if this change does not touch it.
    pub fn after(&self, document: &Document, key: &Key) -> Option<Record> {
        match self.steps.get(key) {
            Some(step) => step.after.clone(),
            None => document.record(key),
        }
    }

    /// True if nothing changes.
    pub fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }

    /// The steps, by key.
    pub fn steps(&self) -> &Map<Key, Step> {
        &self.steps
    }

    /// Makes the change.
    ///
    /// # Errors
    /// [`ApplyError::Moved`] if a record is not as it was when the change was made; then nothing
    /// is changed.
    pub fn apply(&self, document: &mut Document) -> Result<(), ApplyError> {
        if let Some((key, _)) = self
            .steps
            .iter()
            .find(|(key, step)| document.get(key) != step.before.as_ref().map(Record::as_ref))
        {
            return Err(ApplyError::Moved(key.clone()));
        }
        for (key, step) in &self.steps {
            document.put(key, step.after.clone());
        }
        Ok(())
    }

    /// The document that the change makes of another.
    ///
    /// # Errors
    /// As [`Change::apply`].
    pub fn applied(&self, document: &Document) -> Result<Document, ApplyError> {
        let mut after = document.clone();
        self.apply(&mut after)?;
        Ok(after)
    }

    /// The change that undoes this one.
    #[must_use]
    pub fn invert(&self) -> Self {
        let turn = |step: &Step| Step {
            before: step.after.clone(),
            after: step.before.clone(),
        };
        Self {
            steps: self
                .steps
                .iter()
                .map(|(key, step)| (key.clone(), turn(step)))
                .collect(),
        }
    }

    /// This change followed by another, as one.
    #[must_use]
    pub fn then(mut self, next: &Self) -> Self {
        for (key, step) in &next.steps {
            let before = match self.steps.remove(key) {
                Some(first) => first.before,
                None => step.before.clone(),
            };
            if before != step.after {
                self.steps.insert(
                    key.clone(),
                    Step {
                        before,
                        after: step.after.clone(),
                    },
                );
            }
        }
        self
    }
}
