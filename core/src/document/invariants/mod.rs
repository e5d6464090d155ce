//! Invariants of every document, from a file or after an edit. Rules about the *design* are not
//! here: a fault in a drawing is a finding, never a refusal.

mod device;
mod drawing;
mod wiring;

use std::fmt;

use super::{
    Accepted, Cable, Device, Document, End, LogEntry, Place, Reading, Revision, Route, Sheet,
    Splice, State, Wire, limits, parts::Bound,
};
use crate::ids::{
    AcceptedId, CableId, DeviceId, LogId, PlaceId, ReadingId, RevisionId, RouteId, SheetId,
    SpliceId, StateId, WireId,
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

macro_rules! kinds {
    ($($field:ident: $check:ident, $id:ty, $record:ty;)*) => {
        impl Check<'_> {
            fn records(&mut self) {
                let document = self.document;
                $(for (id, record) in &document.$field {
                    let map = FieldPath::TOP.field(stringify!($field));
                    self.one(&map, id.as_str(), |check, at| check.$check(at, id, record));
                })*
            }
        }

        $(
            /// Every broken invariant of one record, checked as if it were in the document.
            pub fn $field(document: &Document, id: &$id, record: &$record) -> Vec<Broken> {
                let mut check = Check { document, broken: Vec::new() };
                let is_new = !document.$field.contains_key(id);
                check.room_for(document.keys_len() + usize::from(is_new));
                let map = FieldPath::TOP.field(stringify!($field));
                check.one(&map, id.as_str(), |check, at| check.$check(at, id, record));
                check.broken
            }
        )*
    };
}

kinds! {
    places: place, PlaceId, Place;
    devices: device, DeviceId, Device;
    wires: wire, WireId, Wire;
    cables: cable, CableId, Cable;
    splices: splice, SpliceId, Splice;
    routes: route, RouteId, Route;
    states: state, StateId, State;
    sheets: sheet, SheetId, Sheet;
    log: log_entry, LogId, LogEntry;
    accepted: accepted, AcceptedId, Accepted;
    readings: reading, ReadingId, Reading;
    revisions: revision, RevisionId, Revision;
}

struct Check<'a> {
    document: &'a Document,
    broken: Vec<Broken>,
}

impl Check<'_> {
    fn say(&mut self, at: &FieldPath, why: impl Into<String>) {
        self.broken.push(Broken {
            path: at.to_string(),
            why: why.into(),
        });
    }

    fn whole(&mut self) {
        self.room_for(self.document.keys_len());
        self.project();
        self.records();
        self.cables_share_no_wire();
    }

    fn one(&mut self, map: &FieldPath, id: &str, check: impl FnOnce(&mut Self, &FieldPath)) {
        let at = map.field(id);
        self.id(&at, id);
        check(self, &at);
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

    fn project(&mut self) {
        let project = &self.document.project;
        let at = FieldPath::TOP.field("project");
        self.text(&at, "title", &project.title);
        self.text(&at, "statement", &project.statement);
        self.number(&at, "nominal_v", Some(project.nominal_v), Bound::Positive);
        self.number(&at, "conductor_c", Some(project.conductor_c), Bound::Finite);
        self.number(&at, "target_min", project.target_min, Bound::Positive);
        let shed = project.shed_after_min;
        self.number(&at, "shed_after_min", shed, Bound::NotNegative);
        self.number(&at, "recharge_h", project.recharge_h, Bound::Positive);
        self.number(&at, "ambient_c", project.ambient_c, Bound::Finite);
        self.number(&at, "altitude_ft", project.altitude_ft, Bound::NotNegative);
        self.number(
            &at,
            "spare_percent",
            project.spare_percent,
            Bound::NotNegative,
        );
        self.number(
            &at,
            "service_loop_m",
            project.service_loop_m,
            Bound::NotNegative,
        );
        self.number(&at, "label_mm", project.label_mm, Bound::Positive);
        self.text(&at, "numbering", &project.numbering);
        for (line, amount) in &project.stock {
            self.text(&at, "stock", line);
            self.number(&at.field("stock"), line, Some(*amount), Bound::NotNegative);
        }
        for (field, figure) in project.noise.clone().unwrap_or_default().each() {
            self.number(&at.field("noise"), field, *figure, Bound::Positive);
        }
    }

    /// An id: not empty, short enough, without invisible characters.
    fn id(&mut self, at: &FieldPath, id: &str) {
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

    fn text(&mut self, at: &FieldPath, field: &str, text: &str) {
        if !limits::text_fits(text) {
            let most = limits::MAX_TEXT;
            self.say(
                &at.field(field),
                format!("expected a text of at most {most} characters"),
            );
        }
    }

    fn number(&mut self, at: &FieldPath, field: &str, value: Option<f64>, bound: Bound) {
        if let Some(value) = value.filter(|value| !bound.holds(*value)) {
            self.say(
                &at.field(field),
                format!("found {value}, expected {}", bound.words()),
            );
        }
    }

    /// A reference to another record.
    fn mention(&mut self, at: &FieldPath, kind: &str, id: &str, exists: bool) {
        if !exists {
            self.say(at, format!("there is no {kind} \"{id}\""));
        }
    }

    fn place_mention(&mut self, at: &FieldPath, id: &PlaceId) {
        self.mention(
            at,
            "place",
            id.as_str(),
            self.document.places.contains_key(id),
        );
    }

    fn end(&mut self, at: &FieldPath, end: &End) {
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
}

impl Document {
    /// Number of records, without the project's own data.
    pub fn keys_len(&self) -> usize {
        self.places.len()
            + self.devices.len()
            + self.wires.len()
            + self.cables.len()
            + self.splices.len()
            + self.routes.len()
            + self.states.len()
            + self.sheets.len()
            + self.log.len()
            + self.accepted.len()
            + self.readings.len()
            + self.revisions.len()
    }
}
