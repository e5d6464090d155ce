//! A path to a field of the file, as messages name it.

use std::fmt;

/// A path in the file: a chain of fields and indices up to the top.
#[derive(Clone, Copy)]
pub(crate) struct FieldPath<'a> {
    up: Option<&'a FieldPath<'a>>,
    step: Step<'a>,
}

#[derive(Clone, Copy)]
enum Step<'a> {
    Top,
    Field(&'a str),
    Index(usize),
}

impl<'a> FieldPath<'a> {
    pub(crate) const TOP: FieldPath<'static> = FieldPath {
        up: None,
        step: Step::Top,
    };

    pub(crate) fn field<'b>(&'b self, name: &'b str) -> FieldPath<'b> {
        FieldPath {
            up: Some(self),
            step: Step::Field(name),
        }
    }

    pub(crate) fn index(&self, index: usize) -> FieldPath<'_> {
        FieldPath {
            up: Some(self),
            step: Step::Index(index),
        }
    }

    /// The name of this field, if it is one.
    pub(crate) fn name(&self) -> Option<&'a str> {
        match self.step {
            Step::Field(name) => Some(name),
            _ => None,
        }
    }

    /// Its depth below the top.
    pub(crate) fn depth(&self) -> usize {
        self.up.map_or(0, |up| up.depth() + 1)
    }
}

/// Fields joined by dots, indices in brackets; `.` for the top.
impl fmt::Display for FieldPath<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Some(up) = self.up else {
            return f.write_str(".");
        };
        if up.up.is_some() {
            write!(f, "{up}")?;
        }
        match self.step {
            Step::Top => Ok(()),
            Step::Field(name) if up.up.is_some() => write!(f, ".{name}"),
            Step::Field(name) => f.write_str(name),
            Step::Index(index) => write!(f, "[{index}]"),
        }
    }
}
