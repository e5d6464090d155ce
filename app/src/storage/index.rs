//! The list of projects kept in this browser.

use loomwright_core::{document::read::read_text, exchange::json};
use serde::{Deserialize, Serialize};

use super::store::{Store, StoreError};

const INDEX: &str = "loomwright.index";

/// One project kept in this browser.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Its key.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Day it was last edited, YYYY-MM-DD.
    #[serde(default)]
    pub edited: String,
}

/// The projects kept in this browser, and the one that is open.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Index {
    /// All projects, in the order they were made.
    #[serde(default)]
    pub projects: Vec<Entry>,
    /// The one that was open last.
    #[serde(default)]
    pub open: Option<String>,
}

impl Index {
    /// The list as kept; empty if there is none. An unreadable list is empty as well: the projects
    /// themselves are kept under their own names.
    pub fn load(store: &impl Store) -> Self {
        store
            .get(INDEX)
            .and_then(|text| read_text(&text))
            .unwrap_or_default()
    }

    /// The list as kept, which other windows write as well, or as known here if none is kept.
    pub fn now(&self, store: &impl Store) -> Self {
        match Self::load(store) {
            none if none.projects.is_empty() => self.clone(),
            kept => kept,
        }
    }

    /// This list with those of another that it does not have.
    pub fn with(mut self, other: Self) -> Self {
        let is_new = |entry: &Entry| self.projects.iter().all(|it| it.id != entry.id);
        let new: Vec<Entry> = other.projects.into_iter().filter(is_new).collect();
        self.projects.extend(new);
        self.open = self.open.or(other.open);
        self
    }

    /// Keeps the list.
    pub fn keep(&self, store: &impl Store) -> Result<(), StoreError> {
        store.set(INDEX, &json(self))
    }

    /// Notes that a project was edited, adding it if it is new. True if the list changed.
    pub fn touch(&mut self, id: &str, title: &str, today: &str) -> bool {
        let entry = Entry {
            id: id.into(),
            title: title.into(),
            edited: today.into(),
        };
        let before = self.clone();
        match self.projects.iter_mut().find(|entry| entry.id == id) {
            Some(there) => *there = entry,
            None => self.projects.push(entry),
        }
        self.open = Some(id.into());
        *self != before
    }

    /// Takes a project off the list.
    pub fn forget(&mut self, store: &impl Store, id: &str) -> Result<(), StoreError> {
        self.projects.retain(|entry| entry.id != id);
        if self.open.as_deref() == Some(id) {
            self.open = None;
        }
        self.keep(store)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::store::testing::Memory;

    #[test]
    fn projects_are_listed_once_and_forgotten() {
        let store = Memory::default();
        let mut index = Index::load(&store);
        assert!(index.touch("a", "Kestrel", "2026-01-02"));
        assert!(!index.touch("a", "Kestrel", "2026-01-02"), "nothing new");
        assert!(index.touch("b", "Wren", "2026-01-02"));
        index.keep(&store).expect("memory keeps everything");
        let mut index = Index::load(&store);
        assert_eq!(index.projects.len(), 2);
        assert_eq!(index.open.as_deref(), Some("b"));
        index.forget(&store, "a").expect("memory keeps everything");
        assert_eq!(Index::load(&store).projects.len(), 1);
    }

    #[test]
    fn a_damaged_list_is_an_empty_one() {
        let store = Memory::default();
        store.set(INDEX, "{oops").expect("memory keeps everything");
        assert_eq!(Index::load(&store), Index::default());
    }
}
