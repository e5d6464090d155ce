//! What a record must hold to, and a list of what does not.

use std::fmt;

use super::path::FieldPath;
use crate::{
    document::{End, limits, others::Others, parts::Bound},
    ids::PlaceId,
    units::Gauge,
};

/// A broken invariant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    /// The field path in the file: `wires.w12.from`.
    pub path: String,
    /// What was found and what was expected.
    pub why: String,
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.path, self.why)
    }
}

/// Thickest and thinnest conductor that a wire may have: 4/0 and AWG 40.
const GAUGES: std::ops::RangeInclusive<i8> = -3..=40;

/// Keeps what is broken in the records that it is shown.
pub(crate) struct Check<'a> {
    /// The records that the one looked at may refer to.
    pub(in crate::document) others: &'a dyn Others,
    pub(super) broken: Vec<Broken>,
}

impl<'a> Check<'a> {
    pub(super) fn new(others: &'a dyn Others) -> Self {
        Self {
            others,
            broken: Vec::new(),
        }
    }

    pub(in crate::document) fn say(&mut self, at: &FieldPath, why: impl Into<String>) {
        self.broken.push(Broken {
            path: at.to_string(),
            why: why.into(),
        });
    }

    pub(super) fn room_for(&mut self, records: usize) {
        if records > limits::MAX_RECORDS {
            let most = limits::MAX_RECORDS;
            self.say(
                &FieldPath::TOP,
                format!("found {records} records, expected at most {most}"),
            );
        }
    }

    /// An id: not empty, short enough, without invisible characters.
    pub(in crate::document) fn id(&mut self, at: &FieldPath, id: &str) {
        if id.is_empty() {
            self.say(at, "the id is empty");
        } else if id.chars().count() > limits::MAX_ID {
            self.say(
                at,
                format!("the id is longer than {} characters", limits::MAX_ID),
            );
        } else if id.chars().any(char::is_control) {
            self.say(at, "the id contains a control character");
        }
    }

    pub(in crate::document) fn text(&mut self, at: &FieldPath, field: &str, text: &str) {
        if !limits::text_fits(text) {
            let most = limits::MAX_TEXT;
            self.say(
                &at.field(field),
                format!("expected a text of at most {most} characters"),
            );
        }
    }

    pub(in crate::document) fn number(
        &mut self,
        at: &FieldPath,
        field: &str,
        value: Option<f64>,
        bound: Bound,
    ) {
        if let Some(value) = value.filter(|value| !bound.holds(*value)) {
            self.say(
                &at.field(field),
                format!("found {value}, expected {}", bound.words()),
            );
        }
    }

    /// A reference to another record.
    pub(in crate::document) fn mention(
        &mut self,
        at: &FieldPath,
        kind: &str,
        id: &str,
        exists: bool,
    ) {
        if !exists {
            self.say(at, format!("there is no {kind} \"{id}\""));
        }
    }

    pub(in crate::document) fn place_mention(&mut self, at: &FieldPath, id: &PlaceId) {
        let exists = self.others.has("place", id.as_str());
        self.mention(at, "place", id.as_str(), exists);
    }

    pub(in crate::document) fn end(&mut self, at: &FieldPath, end: &End) {
        match end {
            End::Terminal(device, _) if !self.others.has("device", device.as_str()) => {
                self.mention(at, "device", device.as_str(), false);
            }
            End::Terminal(device, terminal) => {
                if !self.others.has_terminal(device, terminal) {
                    self.say(
                        at,
                        format!("device \"{device}\" has no terminal \"{terminal}\""),
                    );
                }
            }
            End::Splice(id) => {
                let exists = self.others.has("splice", id.as_str());
                self.mention(at, "splice", id.as_str(), exists);
            }
            End::Structure(id) => self.place_mention(at, id),
            End::Open => {}
        }
    }

    pub(in crate::document) fn gauge(&mut self, at: &FieldPath, field: &str, gauge: Gauge) {
        if !GAUGES.contains(&gauge.0) {
            self.say(
                &at.field(field),
                format!("found {}, expected AWG 40 to -3 (-3 is 4/0)", gauge.0),
            );
        }
    }
}
