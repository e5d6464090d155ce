//! The document: what the builder drew and typed, as plain records in ordered maps. It holds ids
//! only and derives nothing.

mod cable;
mod device;
mod element;
mod end;
mod find;
pub mod invariants;
pub mod limits;
mod log;
mod named;
mod names;
mod natural;
mod noise;
pub mod parts;
mod place;
mod project;
pub mod read;
mod reading;
mod reserve;
mod revision;
mod sheet;
mod state;
mod wire;

use serde::{Deserialize, Serialize};

pub use self::{
    cable::{Cable, CableKind, Shield, ShieldEnd},
    device::{Connector, Contacts, Device, DeviceKind, Role, Terminal, TerminalForm},
    element::{
        Alternator, Bar, BarUse, Battery, Closed, Coil, Contact, Diode, Element, ElementKind,
        Figure, Jack, JackUse, Load, LoadLaw, LoadSort, Mate, Origin, Protector, ProtectorStyle,
        Pulses, Resistor, Shunt, StructureTie, Switch, SwitchPosition,
    },
    end::{End, ParseEndError},
    find::{Found, find},
    log::{Accepted, LogEntry, LogKind, TestResult},
    named::{EndNames, NoSuchEnd},
    natural::{folded, natural_cmp},
    noise::NoiseFigures,
    place::{Place, Route, Splice},
    project::Project,
    reading::{Reading, Test},
    reserve::Reserve,
    revision::{Revision, RevisionMark},
    sheet::{HeldStretch, Sheet, SheetItem, SheetNote, SheetSize, Shown},
    state::{AfterAlternator, LoadUse, State},
    wire::{BuildStatus, ConductorKind, InlineFuse, Wire, WireEnd},
};
use crate::{
    ids::{
        AcceptedId, CableId, DeviceId, LogId, PlaceId, ReadingId, RevisionId, RouteId, SheetId,
        SpliceId, StateId, WireId,
    },
    order::Map,
};

/// Fields of a newer program, unknown to this one; kept and written back.
pub type Extra = Map<String, serde_json::Value>;

/// A project: the complete wiring data of one aircraft.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Document {
    /// Title, system voltage, targets.
    pub project: Project,
    /// Places in the aircraft, conductive or not.
    #[serde(default)]
    pub places: Map<PlaceId, Place>,
    /// Devices: everything with terminals.
    #[serde(default)]
    pub devices: Map<DeviceId, Device>,
    /// Wires. One record per wire feeds every paper and check.
    #[serde(default)]
    pub wires: Map<WireId, Wire>,
    /// Wires that share a jacket, a twist or a shield.
    #[serde(default)]
    pub cables: Map<CableId, Cable>,
    /// Permanent joints of wires.
    #[serde(default)]
    pub splices: Map<SpliceId, Splice>,
    /// Route sections between places.
    #[serde(default)]
    pub routes: Map<RouteId, Route>,
    /// Phases of flight and of tests.
    #[serde(default)]
    pub states: Map<StateId, State>,
    /// The drawing.
    #[serde(default)]
    pub sheets: Map<SheetId, Sheet>,
    /// The log: who changed or measured what, and why.
    #[serde(default)]
    pub log: Map<LogId, LogEntry>,
    /// Findings accepted with a reason.
    #[serde(default)]
    pub accepted: Map<AcceptedId, Accepted>,
    /// Measured values.
    #[serde(default)]
    pub readings: Map<ReadingId, Reading>,
    /// Saved versions of the project.
    #[serde(default)]
    pub revisions: Map<RevisionId, Revision>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}
