//! A place that keeps texts, and its errors.

/// The browser would not keep something.
#[derive(Clone, Debug, thiserror::Error, PartialEq, Eq)]
pub enum StoreError {
    /// No room.
    #[error("{}", crate::strings::STORAGE_FULL)]
    Full,
    /// Storage is switched off, as in a private window.
    #[error("{}", crate::strings::STORAGE_OFF)]
    Refused,
    /// Another window edited the same project.
    #[error("{}", crate::strings::ELSEWHERE)]
    Elsewhere,
    /// What is kept there cannot be read.
    #[error("{0} in the browser's storage cannot be read")]
    Unreadable(String),
}

/// A place where texts are kept under names.
pub trait Store {
    /// The text kept under this name.
    fn get(&self, name: &str) -> Option<String>;
    /// Keeps a text under this name.
    fn set(&self, name: &str, text: &str) -> Result<(), StoreError>;
    /// Forgets what is kept under this name.
    fn remove(&self, name: &str);
}

#[cfg(test)]
pub(crate) mod testing {
    use std::{cell::RefCell, collections::BTreeMap};

    use super::{Store, StoreError};

    /// A store for tests.
    #[derive(Default)]
    pub(crate) struct Memory(RefCell<BTreeMap<String, String>>);

    impl Store for Memory {
        fn get(&self, name: &str) -> Option<String> {
            self.0.borrow().get(name).cloned()
        }
        fn set(&self, name: &str, text: &str) -> Result<(), StoreError> {
            self.0.borrow_mut().insert(name.into(), text.into());
            Ok(())
        }
        fn remove(&self, name: &str) {
            self.0.borrow_mut().remove(name);
        }
    }
}
