//! The rules: facts in; findings, or "not checked, because…", out. One rule, one file.

pub mod finding;

pub use finding::{At, Counts, Finding, Level, Mend, MendKind, NotChecked, Source, Verdict};
