//! A project in both places: written, read and forgotten.

use super::{
    browser::Browser,
    deep,
    slots::{self, SavedText},
    store::{Store, StoreError},
};

/// Larger projects are left to the database: writing them here would be felt with every edit, and two of
/// them would fill it.
const SLOT_BYTES: usize = 1_500_000;

/// The first saving in two slots. Programs before them kept a project under its bare name.
const FIRST_TURN: u64 = 1;

/// The name under which a project's file is kept.
pub fn project_name(id: &str) -> String {
    format!("loomwright.project.{id}")
}

/// Writes a project to the small storage.
///
/// # Errors
/// Errors of the store; [`StoreError::Full`] for a project that is too large for it.
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

/// The newest undamaged text of a project, wherever it is kept.
pub async fn newest(id: &str) -> Option<SavedText> {
    let name = project_name(id);
    let before_slots = || {
        let text = Browser.get(&name)?;
        Some(SavedText {
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
