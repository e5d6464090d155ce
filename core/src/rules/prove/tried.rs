//! What the laws of a fix read: the project before it and after it.

use crate::{
    edit::Change,
    rules::{Facts, Finding, Verdict},
};

/// A document with its verdict.
pub(in crate::rules) struct Side<'d> {
    pub facts: Facts<'d>,
    pub verdict: Verdict,
}

/// A fix that was made on a copy.
pub(super) struct Tried<'t, 'b, 'a> {
    pub finding: &'t Finding,
    pub change: &'t Change,
    pub before: &'t Side<'b>,
    pub after: &'t Side<'a>,
}
