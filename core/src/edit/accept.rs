//! Findings accepted with a reason, and opened again.

use super::{Change, EditError, Key, Record};
use crate::{
    document::{Accepted, Document},
    ids::AcceptedId,
};

/// Accepts a finding, as its records are drawn now.
pub fn accept(document: &Document, mut accepted: Accepted) -> Result<Change, EditError> {
    if accepted.reason.trim().is_empty() {
        return Err(EditError::cannot(
            "an acceptance needs a reason",
            "type why it may stay",
        ));
    }
    let drawn = accepted
        .at
        .iter()
        .map(|key| (key.clone(), document.as_drawn(key)));
    accepted.drawn = drawn.filter(|(_, values)| !values.is_empty()).collect();
    super::add_record(document, Record::Accepted(accepted))
}

/// Takes an acceptance back: the finding is open again.
pub fn reopen(document: &Document, id: &AcceptedId) -> Result<Change, EditError> {
    super::delete(document, &[Key::Accepted(id.clone())])
}
