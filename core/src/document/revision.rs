//! What the project was at points that a person marked.

use serde::{Deserialize, Serialize};

use super::Extra;
use crate::ids::RevisionId;

/// A state of the whole project, kept with who, when and why. Its key is made of what it holds and of what
/// it came from, so that two files can tell which revisions they have in common.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Revision {
    /// Date, ISO 8601 (YYYY-MM-DD).
    pub date: String,
    /// Who kept it.
    pub who: String,
    /// Why.
    pub reason: String,
    /// What a person calls it; may be given later.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// What it stands for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark: Option<RevisionMark>,
    /// What it came from: one revision, or more where the work of two builders was put together.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parents: Vec<RevisionId>,
    /// The first of its parents that `content` is told against; none if it stands by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub against: Option<RevisionId>,
    /// The project as it was, or what changed `against` another revision: JSON, packed (RFC 1951), as
    /// letters (RFC 4648, section 5), in pieces.
    pub content: Vec<String>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// What a revision stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum RevisionMark {
    /// The aircraft is built so.
    AsBuilt,
    /// It was shown so for inspection.
    Inspected,
}
