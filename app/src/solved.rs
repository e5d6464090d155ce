//! Volts and amps of the chosen state, for whoever shows them.

use loomwright_core::{
    document::End,
    ids::{DeviceId, ElementId, WireId},
};

/// The operating point of the chosen state.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Solved;

impl Solved {
    /// Volts at an end.
    pub fn volts(&self, _end: &End) -> Option<f64> {
        None
    }

    /// Amps in a wire, positive from its `from` to its `to`.
    pub fn wire_amps(&self, _wire: &WireId) -> Option<f64> {
        None
    }

    /// Amps in an element.
    pub fn element_amps(&self, _device: &DeviceId, _element: &ElementId) -> Option<f64> {
        None
    }
}
