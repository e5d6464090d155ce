//! A change: records added, updated and removed. Undo is the inverted change; compare, merge and fixes use the same
//! type.

use serde::{Deserialize, Serialize};

use crate::{
    document::{
        Accepted, Cable, Device, Document, LogEntry, Place, Project, Reading, Revision, Route,
        Sheet, Splice, State, Wire, invariants,
    },
    ids::{
        AcceptedId, CableId, DeviceId, LogId, PlaceId, ReadingId, RevisionId, RouteId, SheetId,
        SpliceId, StateId, WireId,
    },
    order::{self, Map},
};

/// A change cannot be applied to this document.
#[derive(Clone, Debug, thiserror::Error, PartialEq, Eq)]
pub enum ApplyError {
    /// The record the change starts from is not the one that is there.
    #[error("{0} was edited meanwhile; this change no longer fits it")]
    Moved(Key),
}

macro_rules! records {
    ($($kind:ident, $id:ty, $record:ty, $field:ident, $word:literal;)*) => {
        /// The key of one record, of any kind.
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Key {
            /// The project's own facts.
            Project,
            $(#[doc = concat!("A ", $word, ".")] $kind($id),)*
        }

        /// One record, of any kind.
        #[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        #[allow(clippy::large_enum_variant, reason = "records live in maps, one at a time here")]
        pub enum Record {
            /// The project's own facts.
            Project(Project),
            $(#[doc = concat!("A ", $word, ".")] $kind($record),)*
        }

        impl Key {
            /// The kind of record in one word, as used in files and findings.
            pub fn kind(&self) -> &'static str {
                match self { Self::Project => "project", $(Self::$kind(_) => $word,)* }
            }

            /// The key's text.
            pub fn id(&self) -> &str {
                match self { Self::Project => "project", $(Self::$kind(id) => id.as_str(),)* }
            }

            /// The key of this kind and text, if there is such a kind.
            pub fn parse(kind: &str, id: &str) -> Option<Self> {
                match kind {
                    "project" => Some(Self::Project),
                    $($word => Some(Self::$kind(id.into())),)*
                    _ => None,
                }
            }
        }

        impl Record {
            /// What in this record breaks an invariant, were it in the document with this key.
            pub(super) fn broken(&self, document: &Document, key: &Key) -> Vec<invariants::Broken> {
                match (self, key) {
                    $((Self::$kind(record), Key::$kind(id)) => invariants::$field(document, id, record),)*
                    _ => Vec::new(),
                }
            }
        }

        impl Document {
            /// The record with this key.
            pub fn record(&self, key: &Key) -> Option<Record> {
                match key {
                    Key::Project => Some(Record::Project(self.project.clone())),
                    $(Key::$kind(id) => self.$field.get(id).cloned().map(Record::$kind),)*
                }
            }

            /// Replaces a record. `None` removes it; the project's own facts are never removed.
            pub(super) fn put(&mut self, key: &Key, record: Option<Record>) {
                match (key, record) {
                    (Key::Project, Some(Record::Project(project))) => self.project = project,
                    $((Key::$kind(id), Some(Record::$kind(record))) => {
                        self.$field.insert(id.clone(), record);
                    })*
                    $((Key::$kind(id), None) => { self.$field.remove(id); })*
                    (key, record) => debug_assert!(false, "{key:?} does not hold {record:?}"),
                }
            }

            /// Adds to a change how this document becomes another.
            fn compare(&self, after: &Self, change: &mut Change) {
                if self.project != after.project {
                    let (before, after) = (self.project.clone(), after.project.clone());
                    let (before, after) = (Some(Record::Project(before)), Some(Record::Project(after)));
                    change.steps.insert(Key::Project, Step { before, after });
                }
                $(
                    // As texts, so that all kinds of records share the code of one set.
                    let mut ids: Vec<&str> = self.$field.keys().map(|id| id.as_str()).collect();
                    ids.extend(after.$field.keys().map(|id| id.as_str()));
                    order::sort(&mut ids);
                    ids.dedup();
                    for id in ids {
                        let (before, after) = (self.$field.get(id), after.$field.get(id));
                        if before != after {
                            let record = |it: Option<&$record>| it.cloned().map(Record::$kind);
                            let step = Step { before: record(before), after: record(after) };
                            change.steps.insert(Key::$kind(id.into()), step);
                        }
                    }
                )*
            }

            /// Every key, in the order of the file.
            pub fn keys(&self) -> Vec<Key> {
                let mut keys = vec![Key::Project];
                $(keys.extend(self.$field.keys().cloned().map(Key::$kind));)*
                keys
            }
        }
    };
}

records! {
    Place, PlaceId, Place, places, "place";
    Device, DeviceId, Device, devices, "device";
    Wire, WireId, Wire, wires, "wire";
    Cable, CableId, Cable, cables, "cable";
    Splice, SpliceId, Splice, splices, "splice";
    Route, RouteId, Route, routes, "route";
    State, StateId, State, states, "state";
    Sheet, SheetId, Sheet, sheets, "sheet";
    Log, LogId, LogEntry, log, "log";
    Accepted, AcceptedId, Accepted, accepted, "accepted";
    Reading, ReadingId, Reading, readings, "reading";
    Revision, RevisionId, Revision, revisions, "revision";
}

impl Document {
    /// A record as a person names it.
    pub fn key_label(&self, key: &Key) -> String {
        self.record_label(key.kind(), key.id())
    }
}

impl std::fmt::Display for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}", self.kind(), self.id())
    }
}

/// One record before and after. `None` means it does not exist.
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
        before.compare(after, &mut change);
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
            .find(|(key, step)| document.record(key) != step.before)
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
