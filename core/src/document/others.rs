//! What a record asks of the rest of its document: the document answers, and no record names it.

use super::{Element, End};
use crate::ids::{DeviceId, PlaceId, TerminalId};

/// The records that a record refers to.
pub(crate) trait Others {
    /// True if there is a record of this kind, in one word as in findings, with this key.
    fn has(&self, kind: &str, id: &str) -> bool;

    /// True if there is a device with this key that has this terminal.
    fn has_terminal(&self, device: &DeviceId, terminal: &TerminalId) -> bool;

    /// The element that a key of a state, `DEVICE/ELEMENT`, names.
    fn element(&self, key: &str) -> Option<&Element>;

    /// The title of a place; empty if there is no such place.
    fn place_title(&self, id: &PlaceId) -> &str;

    /// The label of an end.
    fn end_label(&self, end: &End) -> String;
}
