//! Deletes records, with everything that depends on them.

use super::{
    Change, EditError, Key,
    copy::{let_go, on_copy},
};
use crate::document::Document;

/// Deletes records. Wires that ended at a deleted device or splice stay, with an open end there; a
/// deleted wire leaves its cable; what showed a deleted record leaves its sheets; states forget it.
pub fn delete(document: &Document, keys: &[Key]) -> Result<Change, EditError> {
    on_copy(document, |copy| {
        for key in keys {
            if *key == Key::Project {
                return Err(EditError::cannot(
                    "the project's own facts cannot be deleted",
                    "change them instead",
                ));
            }
            if copy.record(key).is_none() {
                return Err(EditError::not_there(key.kind(), key.id()));
            }
            copy.put(key, None);
        }
        let_go(copy);
        Ok(())
    })
}
