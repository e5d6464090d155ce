//! How items look, one file an outline. Graphics of IEEE 315 / IEC 60617 where there is one for
//! the part; plain boxes of our own for everything else.

mod boxed;
mod bus;
mod connector_pair;
mod glyphs;
mod ground_block;
mod jack;
pub(super) mod legend;
mod rows;
mod splice;
mod structure;
mod switch;
mod view;

use self::view::View;
use super::{pen::Outline, phase::Phase};
use crate::{
    document::{DeviceKind, Document, SheetItem, Shown, Terminal},
    ids::{DeviceId, TerminalId},
    order::InOrder,
};

/// The outline of an item, at the origin, not mirrored. `None` if its record does not exist.
pub(super) fn outline(
    document: &Document,
    item: &SheetItem,
    phase: Option<&Phase>,
) -> Option<Outline> {
    match &item.shows {
        Shown::Device {
            device, terminals, ..
        } => {
            let record = document.devices.get(device)?;
            let mut shown: Vec<&Terminal> = record
                .terminals
                .iter()
                .filter(|terminal| terminals.is_empty() || terminals.contains(&terminal.id))
                .collect();
            // A sheet that shows some terminals shows them in its own order.
            let of = |it: &&Terminal| terminals.iter().position(|id| *id == it.id);
            shown.order_by_key(of);
            let view = View {
                device: record,
                id: device,
                hidden: record.terminals.len() - shown.len(),
                elsewhere: elsewhere(document, device, &shown, record.terminals.len()),
                shown,
                phase,
            };
            Some(device_outline(&view))
        }
        Shown::Splice(splice) => Some(splice::draw(document.splices.get(splice)?)),
        Shown::Structure(place) => Some(structure::draw(document.places.get(place)?)),
    }
}

/// The numbers of the sheets that show terminals of a device other than these, which are some of so many.
fn elsewhere(document: &Document, device: &DeviceId, shown: &[&Terminal], all: usize) -> Vec<u32> {
    if shown.len() == all {
        return Vec::new();
    }
    let is_other = |item: &SheetItem| match &item.shows {
        Shown::Device {
            device: it,
            terminals,
            ..
        } if it == device => {
            let is_shown = |id: &TerminalId| shown.iter().any(|terminal| terminal.id == *id);
            terminals.is_empty() || !terminals.iter().all(is_shown)
        }
        _ => false,
    };
    let sheets = document.sheets.values();
    let sheets = sheets.filter(|sheet| sheet.items.values().any(is_other));
    let mut numbers: Vec<u32> = sheets.map(|sheet| sheet.number).collect();
    numbers.order();
    numbers.dedup();
    numbers
}

fn device_outline(view: &View) -> Outline {
    let special = match view.device.kind {
        DeviceKind::Bus => bus::draw(view),
        DeviceKind::GroundBlock => ground_block::draw(view),
        DeviceKind::Switch => switch::draw(view),
        DeviceKind::Jack => jack::draw(view),
        DeviceKind::InlineConnector => connector_pair::draw(view),
        DeviceKind::Battery
        | DeviceKind::Alternator
        | DeviceKind::Motor
        | DeviceKind::Breaker
        | DeviceKind::Fuse
        | DeviceKind::Relay
        | DeviceKind::Diode
        | DeviceKind::Resistor
        | DeviceKind::Lamp => rows::draw(view),
        DeviceKind::Sensor | DeviceKind::Antenna | DeviceKind::Unit => None,
    };
    special.unwrap_or_else(|| boxed::draw(view))
}
