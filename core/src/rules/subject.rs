//! Places that rules report on.

use crate::ids::{
    AcceptedId, CableId, DeviceId, ElementId, PlaceId, SpliceId, StateId, TerminalId, WireId,
};

/// A place a rule can report on, by its keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject<'a> {
    /// A device.
    Device(&'a DeviceId),
    /// A terminal of a device.
    Terminal(&'a DeviceId, &'a TerminalId),
    /// An element of a device.
    Element(&'a DeviceId, &'a ElementId),
    /// A wire.
    Wire(&'a WireId),
    /// A cable.
    Cable(&'a CableId),
    /// A splice.
    Splice(&'a SpliceId),
    /// A place in the aircraft.
    Place(&'a PlaceId),
    /// A phase.
    State(&'a StateId),
    /// An acceptance.
    Accepted(&'a AcceptedId),
}

impl Subject<'_> {
    /// Its kind and its id, as locations carry them.
    pub fn place(self) -> (&'static str, String) {
        match self {
            Self::Device(id) => ("device", id.to_string()),
            Self::Terminal(device, terminal) => ("terminal", format!("{device}/{terminal}")),
            Self::Element(device, element) => ("element", format!("{device}/{element}")),
            Self::Wire(id) => ("wire", id.to_string()),
            Self::Cable(id) => ("cable", id.to_string()),
            Self::Splice(id) => ("splice", id.to_string()),
            Self::Place(id) => ("place", id.to_string()),
            Self::State(id) => ("state", id.to_string()),
            Self::Accepted(id) => ("accepted", id.to_string()),
        }
    }

    /// Both in one: `wire:w12`.
    pub fn key(self) -> String {
        let (kind, id) = self.place();
        format!("{kind}:{id}")
    }
}

macro_rules! subject_from {
    ($($id:ident $subject:ident),* $(,)?) => {$(
        impl<'a> From<&'a $id> for Subject<'a> {
            fn from(id: &'a $id) -> Self {
                Self::$subject(id)
            }
        }
    )*};
}

subject_from!(
    DeviceId Device, WireId Wire, CableId Cable, SpliceId Splice, PlaceId Place, StateId State,
    AcceptedId Accepted,
);

impl<'a> From<(&'a DeviceId, &'a TerminalId)> for Subject<'a> {
    fn from((device, terminal): (&'a DeviceId, &'a TerminalId)) -> Self {
        Self::Terminal(device, terminal)
    }
}

impl<'a> From<(&'a DeviceId, &'a ElementId)> for Subject<'a> {
    fn from((device, element): (&'a DeviceId, &'a ElementId)) -> Self {
        Self::Element(device, element)
    }
}
