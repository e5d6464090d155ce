//! Where projects are kept: the browser's own storage, one text a project and an index of them.

mod browser;
pub mod index;

pub use browser::Browser;
pub use index::{Entry, Index};

/// The browser would not keep something.
#[derive(Clone, Debug, thiserror::Error, PartialEq, Eq)]
pub enum StoreError {
    /// No room, or storage is switched off.
    #[error("{}", crate::strings::STORAGE_FULL)]
    Full,
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

/// The name under which a project's file is kept.
pub fn project_name(id: &str) -> String {
    format!("loomwright.project.{id}")
}
