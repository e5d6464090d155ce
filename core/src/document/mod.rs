//! The document: what the builder drew and typed, as plain records in ordered maps. It holds ids
//! only and derives nothing.

mod as_drawn;
mod cable;
mod device;
mod element;
mod end;
mod find;
mod ink;
pub mod invariants;
mod kind;
mod known;
mod length;
pub mod limits;
mod log;
mod named;
mod names;
mod natural;
mod noise;
mod origins;
mod others;
pub mod parts;
mod place;
mod project;
pub mod read;
mod reading;
mod registry;
mod reserve;
mod revision;
mod sheet;
mod state;
mod wire;

pub use self::{
    cable::{Cable, CableKind, CableStep, Shield, ShieldEnd},
    device::{Connector, Contacts, Device, DeviceKind, Role, Terminal, TerminalForm},
    element::{
        Alternator, Bar, BarUse, Battery, Chemistry, Closed, Coil, Contact, Diode, Element,
        ElementKind, Figure, Jack, JackUse, Load, LoadLaw, LoadSort, Mate, Origin, OverVoltage,
        Protector, ProtectorStyle, Pulses, Resistor, Shunt, StructureTie, Switch, SwitchPosition,
        rating,
    },
    end::{End, ParseEndError},
    find::{Found, find},
    ink::{InkPoint, InkStroke, SheetInk},
    known::Known,
    log::{Accepted, LogEntry, LogKind, TestResult},
    named::{EndNames, NoSuchEnd},
    natural::{folded, natural_cmp},
    noise::NoiseFigures,
    origins::{Origins, ValueOrigin},
    place::{Place, Route, Splice},
    project::{Marking, Project},
    reading::{Reading, Test},
    registry::{Document, Key, Record, RecordRef},
    reserve::Reserve,
    revision::{Revision, RevisionMark},
    sheet::{HeldStretch, Sheet, SheetItem, SheetNote, SheetSize, Shown},
    state::{AfterAlternator, LoadUse, State},
    wire::{BuildStatus, ConductorKind, InlineFuse, Wire, WireEnd},
};
use crate::order::Map;

/// Fields of a newer program, unknown to this one; kept and written back.
pub type Extra = Map<String, serde_json::Value>;
