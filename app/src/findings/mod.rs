//! Findings as they are read: the list, and each opened.

mod finding;
mod list;

pub use list::{Findings, list};
