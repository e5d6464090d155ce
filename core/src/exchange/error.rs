//! Why a file could not be opened.

use super::{FORMAT, VERSION};
use crate::document::{limits::MAX_BYTES, read::Fault};

/// A file could not be opened. Nothing was loaded.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum OpenError {
    /// Too large.
    #[error("the file is too large: {bytes} bytes, expected at most {MAX_BYTES}")]
    TooLarge {
        /// Its size.
        bytes: usize,
    },
    /// Not JSON, or incomplete.
    #[error("line {line}, column {column}: the file is damaged: {why}")]
    Damaged {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What was found or expected.
        why: String,
    },
    /// JSON, but not a Loomwright project.
    #[error(
        "line {line}, format: {found}, expected \"{FORMAT}\"; this is not a Loomwright project"
    )]
    NotOurs {
        /// Line, from 1.
        line: usize,
        /// What was found.
        found: String,
    },
    /// Written by a newer program, in a form that this one cannot even show.
    #[error(
        "line {line}, version: the file has format version {version}, this program reads up to \
         {VERSION}; open it with a newer Loomwright ({why})"
    )]
    Newer {
        /// Line, from 1.
        line: usize,
        /// The file's version.
        version: u64,
        /// What this program does not understand of it.
        why: String,
    },
    /// A field with a wrong value.
    #[error("line {line}, {path}: {why}{}", more_words(.more))]
    Field {
        /// Line, from 1.
        line: usize,
        /// The field: `wires.w12.gauge_awg`.
        path: String,
        /// What was found and what was expected.
        why: String,
        /// How many more such places there are.
        more: usize,
    },
}

fn more_words(more: &usize) -> String {
    match more {
        0 => String::new(),
        1 => " (and 1 more place)".into(),
        n => format!(" (and {n} more places)"),
    }
}

impl OpenError {
    /// The error of a field at this line. (For a missing field the parser's own line would be the
    /// end of the object.)
    pub(super) fn from_fault(fault: Fault, line: usize) -> Self {
        Self::Field {
            line,
            path: fault.path,
            why: plain(&fault.why),
            more: 0,
        }
    }

    pub(super) fn from_json(error: &serde_json::Error, path: String) -> Self {
        let (line, column) = (error.line(), error.column());
        let why = message(error);
        match error.classify() {
            serde_json::error::Category::Data => Self::Field {
                line,
                path,
                why,
                more: 0,
            },
            _ => Self::Damaged { line, column, why },
        }
    }
}

/// The message without its position, which is shown separately.
fn message(error: &serde_json::Error) -> String {
    let text = error.to_string();
    match text.rfind(" at line ") {
        Some(end) => text[..end].to_owned(),
        None => text,
    }
}

/// A message in plain words instead of a programming language's.
fn plain(message: &str) -> String {
    let mut text = message.to_owned();
    for (from, to) in [
        ("invalid type: ", "found "),
        ("invalid value: ", "found "),
        ("unknown variant ", "found "),
        ("floating point ", "the number "),
        ("integer ", "the number "),
        ("string ", "the text "),
        ("boolean ", ""),
        ("found map", "found an object"),
        ("found sequence", "found a list"),
        ("expected a string", "expected a text"),
        ("expected a map", "expected an object"),
        ("expected a sequence", "expected a list"),
        ("expected a boolean", "expected true or false"),
        ("expected f64", "expected a number"),
        ("expected i8", "expected a whole number"),
        ("expected i64", "expected a whole number"),
        ("expected u32", "expected a whole number, 0 or more"),
        ("expected usize", "expected a whole number, 0 or more"),
    ] {
        text = text.replace(from, to);
    }
    match text.strip_prefix("missing field ") {
        Some(field) => format!("the field {field} is missing"),
        None => text,
    }
}
