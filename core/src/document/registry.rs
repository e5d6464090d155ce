//! The kinds of records: one line each. From these lines come the document, the keys, and every list of kinds.

use serde::{Deserialize, Serialize};

use super::{
    Accepted, Cable, Device, Extra, LogEntry, Place, Project, Reading, Revision, Route, Sheet,
    Splice, State, Wire, kind::Kind,
};
use crate::{
    ids::{
        AcceptedId, CableId, DeviceId, LogId, PlaceId, ReadingId, RevisionId, RouteId, SheetId,
        SpliceId, StateId, WireId,
    },
    order::Map,
};

macro_rules! records {
    ($($(#[doc = $about:literal])+ $field:ident: $kind:ident($id:ty, $record:ty) = $word:literal;)*) => {
        /// A project: the complete wiring data of one aircraft.
        #[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
        #[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
        pub struct Document {
            /// Title, system voltage, targets.
            pub project: Project,
            $(
                $(#[doc = $about])+
                #[serde(default)]
                pub $field: Map<$id, $record>,
            )*
            /// Unknown fields.
            #[serde(flatten)]
            pub extra: Extra,
        }

        /// The key of one record, of any kind.
        #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Key {
            /// The project's own facts.
            Project,
            $(#[doc = concat!("A ", $word, ".")] $kind($id),)*
        }

        /// One record, of any kind.
        #[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        #[allow(clippy::large_enum_variant, reason = "records live in maps, one at a time here")]
        pub enum Record {
            /// The project's own facts.
            Project(Project),
            $(#[doc = concat!("A ", $word, ".")] $kind($record),)*
        }

        /// One record of a document, of any kind, to read it. As text it is the record alone.
        #[derive(Clone, Copy, Debug, PartialEq, Serialize)]
        #[serde(untagged)]
        pub enum RecordRef<'d> {
            /// The project's own facts.
            Project(&'d Project),
            $(#[doc = concat!("A ", $word, ".")] $kind(&'d $record),)*
        }

        impl Key {
            /// The kind of record in one word, as used in files and findings.
            pub fn kind(&self) -> &'static str {
                match self { Self::Project => "project", $(Self::$kind(_) => $word,)* }
            }

            /// The field of the file that holds records of this kind.
            pub fn field(&self) -> &'static str {
                match self { Self::Project => "project", $(Self::$kind(_) => stringify!($field),)* }
            }

            /// The key's text.
            pub fn id(&self) -> &str {
                match self { Self::Project => "project", $(Self::$kind(id) => id.as_str(),)* }
            }

            /// The key of this kind and text, if there is such a kind.
            pub fn parse(kind: &str, id: &str) -> Option<Self> {
                match kind {
                    "project" => Some(Self::Project),
                    $($word => Some(Self::$kind(id.into())),)*
                    _ => None,
                }
            }
        }

        impl Record {
            /// The record, to read it.
            pub fn as_ref(&self) -> RecordRef<'_> {
                match self {
                    Self::Project(it) => RecordRef::Project(it),
                    $(Self::$kind(it) => RecordRef::$kind(it),)*
                }
            }

            /// What its kind says of it.
            pub(crate) fn kind_mut(&mut self) -> &mut dyn Kind {
                match self { Self::Project(it) => it, $(Self::$kind(it) => it,)* }
            }

            /// The key of this text for a record of this kind.
            pub fn key(&self, id: &str) -> Key {
                match self { Self::Project(_) => Key::Project, $(Self::$kind(_) => Key::$kind(id.into()),)* }
            }
        }

        impl<'d> RecordRef<'d> {
            /// What its kind says of it.
            pub(crate) fn kind(self) -> &'d dyn Kind {
                match self { Self::Project(it) => it, $(Self::$kind(it) => it,)* }
            }

            /// A copy of the record.
            pub fn cloned(self) -> Record {
                match self {
                    Self::Project(it) => Record::Project(it.clone()),
                    $(Self::$kind(it) => Record::$kind(it.clone()),)*
                }
            }
        }

        impl Document {
            /// The record with this key.
            pub fn get(&self, key: &Key) -> Option<RecordRef<'_>> {
                match key {
                    Key::Project => Some(RecordRef::Project(&self.project)),
                    $(Key::$kind(id) => self.$field.get(id).map(RecordRef::$kind),)*
                }
            }

            /// Puts a record in place of what is there. `None` removes it; the project's own facts
            /// are never removed.
            pub(crate) fn put(&mut self, key: &Key, record: Option<Record>) {
                match (key, record) {
                    (Key::Project, Some(Record::Project(project))) => self.project = project,
                    $((Key::$kind(id), Some(Record::$kind(record))) => {
                        self.$field.insert(id.clone(), record);
                    })*
                    $((Key::$kind(id), None) => { self.$field.remove(id); })*
                    (key, record) => debug_assert!(false, "{key:?} does not hold {record:?}"),
                }
            }

            /// Every key, in the order of the file.
            pub fn keys(&self) -> Vec<Key> {
                let mut keys = vec![Key::Project];
                $(keys.extend(self.$field.keys().cloned().map(Key::$kind));)*
                keys
            }

            /// Calls `tell` with every record, in the order of the file: its kind and its field in words, its key's
            /// text, and itself.
            pub(crate) fn each<'d>(&'d self, tell: &mut dyn FnMut([&'static str; 2], &'d str, RecordRef<'d>)) {
                tell(["project"; 2], "project", RecordRef::Project(&self.project));
                $(for (id, record) in &self.$field {
                    tell([$word, stringify!($field)], id.as_str(), RecordRef::$kind(record));
                })*
            }

            /// The keys of records that are in one document only, or not the same in both.
            pub fn differing(&self, other: &Self) -> Vec<Key> {
                let mut keys = Vec::new();
                if self.project != other.project {
                    keys.push(Key::Project);
                }
                $(
                    for (id, record) in &self.$field {
                        if other.$field.get(id) != Some(record) {
                            keys.push(Key::$kind(id.clone()));
                        }
                    }
                    for id in other.$field.keys().filter(|id| !self.$field.contains_key(*id)) {
                        keys.push(Key::$kind(id.clone()));
                    }
                )*
                keys
            }

            /// Number of records, without the project's own data.
            pub fn keys_len(&self) -> usize {
                [$(self.$field.len()),*].into_iter().sum()
            }
        }
    };
}

records! {
    /// Places in the aircraft, conductive or not.
    places: Place(PlaceId, Place) = "place";
    /// Devices: everything with terminals.
    devices: Device(DeviceId, Device) = "device";
    /// Wires. One record per wire feeds every paper and check.
    wires: Wire(WireId, Wire) = "wire";
    /// Wires that share a jacket, a twist or a shield.
    cables: Cable(CableId, Cable) = "cable";
    /// Permanent joints of wires.
    splices: Splice(SpliceId, Splice) = "splice";
    /// Route sections between places.
    routes: Route(RouteId, Route) = "route";
    /// Phases of flight and of tests.
    states: State(StateId, State) = "state";
    /// The drawing.
    sheets: Sheet(SheetId, Sheet) = "sheet";
    /// The log: who changed or measured what, and why.
    log: Log(LogId, LogEntry) = "log";
    /// Findings accepted with a reason.
    accepted: Accepted(AcceptedId, Accepted) = "accepted";
    /// Measured values.
    readings: Reading(ReadingId, Reading) = "reading";
    /// Saved versions of the project.
    revisions: Revision(RevisionId, Revision) = "revision";
}

impl Document {
    /// A copy of the record with this key.
    pub fn record(&self, key: &Key) -> Option<Record> {
        self.get(key).map(RecordRef::cloned)
    }

    /// A record as a person names it.
    pub fn key_label(&self, key: &Key) -> String {
        let label = self.get(key).map(|it| it.kind().label(self));
        let label = label.filter(|it| !it.is_empty());
        label.unwrap_or_else(|| key.id().to_owned())
    }
}

impl std::fmt::Display for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}", self.kind(), self.id())
    }
}
