//! Why an edit cannot be made.

use super::change::ApplyError;
use crate::document::invariants::Broken;

/// An edit cannot be made; nothing was changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The record to change does not exist.
    #[error("{kind} \"{id}\" no longer exists; select again")]
    NotThere {
        /// The record that is missing.
        kind: &'static str,
        /// Its key.
        id: String,
    },
    /// The edit cannot be made.
    #[error("{what}; {remedy}")]
    Cannot {
        /// Why it cannot.
        what: String,
        /// What to do instead.
        remedy: &'static str,
    },
    /// The result would be no sound document.
    #[error("{} is invalid: {}; correct it", .0.path, .0.why)]
    Breaks(Broken),
    /// The document changed since the edit was prepared.
    #[error("{0}; try again")]
    Meanwhile(#[from] ApplyError),
}

impl EditError {
    pub(crate) fn not_there(kind: &'static str, id: &(impl ToString + ?Sized)) -> Self {
        Self::NotThere {
            kind,
            id: id.to_string(),
        }
    }

    pub(crate) fn cannot(what: impl Into<String>, remedy: &'static str) -> Self {
        Self::Cannot {
            what: what.into(),
            remedy,
        }
    }
}
