//! Where projects are kept. Each is at two places: in the browser's small storage (`localStorage`), which
//! has it before the next frame, in two slots; and in its database, which has it on the disk a moment
//! later and holds what the other is too small for. The newest whole one of the three wins.

mod browser;
mod deep;
pub mod earlier;
pub mod index;
pub mod slots;

pub use browser::Browser;
pub use deep::{
    Earlier, earlier_of, earlier_text, index as deep_index, keep_earlier, keep_index, save,
};
pub use index::{Entry, Index};
pub use slots::Kept;

/// Larger projects are left to the database: writing them here would be felt with every edit, and two of
/// them would fill it.
const SLOT_BYTES: usize = 1_500_000;

/// The first saving in two slots. Programs before them kept a project under its bare name.
const FIRST_TURN: u64 = 1;

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

/// The name under which a project's file is kept.
pub fn project_name(id: &str) -> String {
    format!("loomwright.project.{id}")
}

/// Writes a project to the small storage.
///
/// # Errors
/// As the store says; [`StoreError::Full`] for one that is too large for it.
pub fn save_here(id: &str, turn: u64, framed: &str) -> Result<(), StoreError> {
    if framed.len() > SLOT_BYTES {
        return Err(StoreError::Full);
    }
    let name = project_name(id);
    slots::write(&Browser, &name, turn, framed)?;
    if turn == FIRST_TURN {
        Browser.remove(&name);
    }
    Ok(())
}

/// Takes a project that the database has out of the small storage.
pub fn leave_here(id: &str) {
    let name = project_name(id);
    Browser.remove(&name);
    slots::clear(&Browser, &name);
}

/// The newest whole text of a project, from wherever it is.
pub async fn newest(id: &str) -> Option<Kept> {
    let name = project_name(id);
    let before_slots = || {
        let text = Browser.get(&name)?;
        Some(Kept {
            turn: FIRST_TURN - 1,
            text,
        })
    };
    let here = slots::newest(&Browser, &name).or_else(before_slots);
    let deep = deep::load(id).await;
    here.into_iter().chain(deep).max_by_key(|kept| kept.turn)
}

/// Forgets a project and all that it was.
pub fn forget(id: &str) {
    leave_here(id);
    deep::forget(id);
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
