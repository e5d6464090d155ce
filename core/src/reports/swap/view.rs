//! A swap, and what its preview reads.

use crate::{
    document::{Device, Document},
    ids::{DeviceId, TerminalId, WireId},
    order::Map,
    reports::effects::Side,
};

/// A swap to preview.
#[derive(Clone, Copy, Debug)]
pub struct Swap<'d> {
    /// The project as it is.
    pub before: &'d Document,
    /// The project with the new unit and its pins as mapped.
    pub after: &'d Document,
    /// The project with the new unit and the old plug connected unchanged.
    pub as_it_is: &'d Document,
    /// The device.
    pub device: &'d DeviceId,
    /// How each terminal of the old unit was matched; [`GUESSED`] must be checked by a person.
    pub found: &'d Map<TerminalId, &'static str>,
}

/// The match of a pin with the same function and another name.
pub const GUESSED: &str = "same function, other name";

/// A swap, with the device and the circuits before and after.
pub(super) struct View<'a, 'd> {
    pub swap: &'a Swap<'d>,
    pub old: &'d Device,
    pub new: &'d Device,
    pub sides: [&'a Side<'d>; 2],
    pub wires: Vec<&'d WireId>,
}
