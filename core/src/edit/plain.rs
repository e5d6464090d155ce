//! Connectors and pins of a device by what they are called.

use super::free;
use crate::{
    document::{Connector, Device, Terminal, folded},
    ids::{ConnectorId, TerminalId},
};

/// The connector of a device with this label, made if it is not there.
pub fn connector_called(device: &mut Device, label: &str) -> ConnectorId {
    let same = |it: &&Connector| folded(&it.label) == folded(label);
    if let Some(there) = device.connectors.iter().find(same) {
        return there.id.clone();
    }
    let taken = |id: &str| device.connectors.iter().any(|it| it.id.as_str() == id);
    let id: ConnectorId = free::free(&free::slug(label), taken);
    device.connectors.push(Connector::called(id.clone(), label));
    id
}

/// The pin of a device with this label in that connector, or loose; made if it is not there.
pub fn pin_called(device: &mut Device, connector: Option<&ConnectorId>, label: &str) -> TerminalId {
    let same =
        |it: &&Terminal| it.connector.as_ref() == connector && folded(&it.label) == folded(label);
    if let Some(there) = device.terminals.iter().find(same) {
        return there.id.clone();
    }
    // Words for what no key can hold.
    let sign = match label {
        "+" => "plus",
        "-" | "–" => "minus",
        label => label,
    };
    let of = connector.map_or("", ConnectorId::as_str);
    let taken = |id: &str| device.terminals.iter().any(|it| it.id.as_str() == id);
    let id: TerminalId = free::free(&free::slug(&format!("{of} {sign}")), taken);
    device.terminals.push(Terminal {
        connector: connector.cloned(),
        ..Terminal::plain(id.clone(), label)
    });
    id
}
