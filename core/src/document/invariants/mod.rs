//! Invariants of every document, from a file or after an edit. Rules about the *design* are not
//! here: a fault in a drawing is a finding, never a refusal.

mod device;

use std::fmt;

use super::{Document, End, Key, Record, limits, parts::Bound, registry::RecordRef};
use crate::{ids::PlaceId, order::Map, units::Gauge};

/// Thickest and thinnest conductor that a wire may have: 4/0 and AWG 40.
const GAUGES: std::ops::RangeInclusive<i8> = -3..=40;

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

/// Every broken invariant of the document; empty for a valid one.
pub fn broken(document: &Document) -> Vec<Broken> {
    let mut check = Check {
        document,
        broken: Vec::new(),
    };
    check.whole();
    check.broken
}

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

/// Every broken invariant of one record, checked as if it were in the document.
pub(crate) fn broken_record(document: &Document, key: &Key, record: &Record) -> Vec<Broken> {
    let mut check = Check {
        document,
        broken: Vec::new(),
    };
    check.room_for(document.keys_len() + usize::from(document.get(key).is_none()));
    check.one(key.field(), key.id(), record.as_ref());
    check.broken
}

/// Looks through a document, and keeps what is broken.
pub(crate) struct Check<'a> {
    /// The document that is checked.
    pub(in crate::document) document: &'a Document,
    broken: Vec<Broken>,
}

impl Check<'_> {
    pub(in crate::document) fn say(&mut self, at: &FieldPath, why: impl Into<String>) {
        self.broken.push(Broken {
            path: at.to_string(),
            why: why.into(),
        });
    }

    fn whole(&mut self) {
        self.room_for(self.document.keys_len());
        self.document
            .each(&mut |[_, field], id, record| self.one(field, id, record));
        self.cables_share_no_wire();
    }

    fn one(&mut self, field: &str, id: &str, record: RecordRef<'_>) {
        let at = FieldPath::TOP.field(field);
        if matches!(record, RecordRef::Project(_)) {
            return record.kind().check(self, &at, id);
        }
        let at = at.field(id);
        self.id(&at, id);
        record.kind().check(self, &at, id);
    }

    fn room_for(&mut self, records: usize) {
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
        self.mention(
            at,
            "place",
            id.as_str(),
            self.document.places.contains_key(id),
        );
    }

    pub(in crate::document) fn end(&mut self, at: &FieldPath, end: &End) {
        match end {
            End::Terminal(device, terminal) => match self.document.devices.get(device) {
                None => self.mention(at, "device", device.as_str(), false),
                Some(found) if found.terminal(terminal).is_none() => self.say(
                    at,
                    format!("device \"{device}\" has no terminal \"{terminal}\""),
                ),
                Some(_) => {}
            },
            End::Splice(id) => {
                let exists = self.document.splices.contains_key(id);
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

    /// A wire is in at most one cable, and only once.
    pub(in crate::document) fn cables_share_no_wire(&mut self) {
        let mut held_by = Map::new();
        let cables = FieldPath::TOP.field("cables");
        for (id, cable) in &self.document.cables {
            let at = cables.field(id.as_str());
            let wires = at.field("wires");
            for (index, wire) in cable.wires.iter().enumerate() {
                if let Some(other) = held_by.insert(wire, id) {
                    self.say(
                        &wires.index(index),
                        format!("wire \"{wire}\" is already in cable \"{other}\""),
                    );
                }
            }
        }
    }
}
