//! What the document asks of a record of any kind.

use super::{
    invariants::{Check, FieldPath},
    others::Others,
};

/// What every kind of record says of itself, in the file of the record.
pub(crate) trait Kind {
    /// The first key that a new record tries, such as "w1"; none if its key is made from its name.
    fn first_key(&self) -> Option<&'static str> {
        None
    }

    /// What a person calls it, to change it; none if it has no name.
    fn name_mut(&mut self) -> Option<&mut String>;

    /// Its label for a person; may be empty.
    fn label(&self, others: &dyn Others) -> String;

    /// Calls `tell` with each label by which a person can find it, and what else is known there. A kind that
    /// no search leads to tells nothing.
    fn search(&self, others: &dyn Others, tell: &mut dyn FnMut(&str, String)) {
        tell(&self.label(others), String::new());
    }

    /// Says what in it breaks an invariant.
    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, id: &str);
}

/// Texts that are not empty, with commas between.
pub(super) fn joined<const N: usize>(texts: [&str; N]) -> String {
    let texts: Vec<&str> = texts.into_iter().filter(|text| !text.is_empty()).collect();
    texts.join(", ")
}
