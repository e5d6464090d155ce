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
