//! Saved versions of the project.

use serde::{Deserialize, Serialize};

use super::{
    Extra,
    invariants::{Check, FieldPath},
    kind::Kind,
    others::Others,
};
use crate::ids::RevisionId;

/// A saved version of the whole project, with who, when and why. Its key is a digest of its content
/// and its parents, so two files can find their common versions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Revision {
    /// Date, ISO 8601 (YYYY-MM-DD).
    pub date: String,
    /// Who saved it.
    pub who: String,
    /// Why.
    pub reason: String,
    /// Its name; may be set later.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// What it marks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark: Option<RevisionMark>,
    /// Its parents: one version, or more where the work of two builders was merged.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub parents: Vec<RevisionId>,
    /// The version that `content` is a difference to; not set if `content` is complete.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub against: Option<RevisionId>,
    /// The project, or its difference to `against`: JSON, compressed (RFC 1951), as letters (RFC
    /// 4648, section 5), in pieces.
    pub content: Vec<String>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// What a version marks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum RevisionMark {
    /// The aircraft as built.
    AsBuilt,
    /// As presented for inspection.
    Inspected,
}

impl Kind for Revision {
    fn first_key(&self) -> Option<&'static str> {
        Some("v1")
    }

    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.name)
    }

    fn label(&self, _: &dyn Others) -> String {
        match self.name.is_empty() {
            true => format!("of {}, {}", self.date, self.reason),
            false => self.name.clone(),
        }
    }

    // Nothing on screen to lead to.
    fn search(&self, _: &dyn Others, _: &mut dyn FnMut(&str, String)) {}

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "date", &self.date);
        check.text(at, "who", &self.who);
        check.text(at, "reason", &self.reason);
        check.text(at, "name", &self.name);
        let content = at.field("content");
        for (index, piece) in self.content.iter().enumerate() {
            check.text(&content, &index.to_string(), piece);
        }
    }
}
