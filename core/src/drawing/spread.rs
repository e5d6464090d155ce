//! New sheets for devices that are on none: which devices share a sheet, and their positions.

use super::{
    frame, item_size,
    tidy::{GAP_MM, LANES_MM, placed},
};
use crate::{
    document::{DeviceKind, Document, End, Extra, SheetItem, SheetSize, Shown, Wire},
    ids::{DeviceId, TerminalId},
};

/// Share of a new sheet that items may take with the room around them.
const FULL: f64 = 0.45;

/// New sheets of this paper that show these devices, those wired to each other together. A bus or a
/// ground block is on every sheet, with the terminals used there; a device too high for the paper is
/// shown in parts.
pub fn sheets(document: &Document, devices: &[DeviceId], size: SheetSize) -> Vec<Vec<SheetItem>> {
    let shared = |id: &DeviceId| {
        let device = document.devices.get(id);
        device.is_some_and(|it| matches!(it.kind, DeviceKind::Bus | DeviceKind::GroundBlock))
    };
    let (w, h) = size.size_mm();
    let inside = frame::inside(w, h);
    let mut left: Vec<&DeviceId> = devices.iter().filter(|id| !shared(id)).collect();
    let hubs: Vec<&DeviceId> = devices.iter().filter(|id| shared(id)).collect();
    let mut sheets = Vec::new();
    while !left.is_empty() {
        let mut on: Vec<&DeviceId> = Vec::new();
        let mut items = Vec::new();
        loop {
            // The one with most wires to those that are on the sheet; the first of the list if none.
            let ties = |id: &DeviceId| {
                let joins = |wire: &&Wire| {
                    let ends = [wire.from.device(), wire.to.device()];
                    ends.contains(&Some(id)) && ends.iter().flatten().any(|it| on.contains(it))
                };
                document.wires.values().filter(joins).count()
            };
            let best = (0..left.len()).max_by_key(|&n| (ties(left[n]), left.len() - n));
            let Some(best) = best else { break };
            let mut tried = on.clone();
            tried.push(left[best]);
            let with: Vec<SheetItem> = items_for(document, &tried, &hubs, inside.h);
            let area: f64 = with.iter().map(|item| room_mm2(document, item)).sum();
            let stands = placed(document, &with, size, false);
            let fits = area <= FULL * inside.w * inside.h && stands.is_some();
            if !fits && !on.is_empty() {
                break;
            }
            on = tried;
            items = stands.unwrap_or(with);
            left.remove(best);
            if !fits {
                break;
            }
        }
        let stands = placed(document, &items, size, true);
        sheets.push(stands.unwrap_or(items));
    }
    // Circuits between hubs get their own sheet.
    let between = items_for(document, &hubs, &hubs, inside.h);
    if !between.is_empty() {
        sheets.push(placed(document, &between, size, true).unwrap_or(between));
    }
    sheets
}

/// The area of an item and the wires next to it, mm².
fn room_mm2(document: &Document, item: &SheetItem) -> f64 {
    let (w, h) = item_size(document, item);
    (w + LANES_MM[0]) * (h + GAP_MM[0])
}

/// Items for devices that are no hubs, and for the terminals of hubs that any of the devices is wired to.
fn items_for(
    document: &Document,
    devices: &[&DeviceId],
    hubs: &[&DeviceId],
    high: f64,
) -> Vec<SheetItem> {
    let mut items = Vec::new();
    for id in devices.iter().filter(|id| !hubs.contains(id)) {
        let whole = device_item(id, Vec::new());
        let (_, h) = item_size(document, &whole);
        let Some(device) = document.devices.get(*id) else {
            continue;
        };
        let pins: Vec<TerminalId> = device.terminals.iter().map(|it| it.id.clone()).collect();
        if h <= high || pins.len() < 2 {
            items.push(whole);
            continue;
        }
        let parts = (h / (high - 4.0 * GAP_MM[0])).ceil() as usize;
        let each = pins.len().div_ceil(parts);
        items.extend(pins.chunks(each).map(|part| device_item(id, part.to_vec())));
    }
    // Splices and metal that they are wired to.
    let is_device = |end: &End| end.device().is_some_and(|id| devices.contains(&id));
    let near = |end: &End| far_ends(document, end).any(is_device);
    let splices = document.splices.keys().map(|id| End::Splice(id.clone()));
    let metal = document.places.keys().map(|id| End::Structure(id.clone()));
    let joints: Vec<End> = splices.chain(metal).filter(near).collect();
    items.extend(joints.iter().filter_map(|end| match end {
        End::Splice(id) => Some(item(Shown::Splice(id.clone()))),
        End::Structure(id) => Some(item(Shown::Structure(id.clone()))),
        _ => None,
    }));
    for hub in hubs {
        let Some(device) = document.devices.get(*hub) else {
            continue;
        };
        let used = |terminal: &TerminalId| {
            let end = End::Terminal((*hub).clone(), terminal.clone());
            far_ends(document, &end).any(|far| joints.contains(far) || is_device(far))
        };
        let pins = device.terminals.iter().map(|it| it.id.clone());
        let pins: Vec<TerminalId> = pins.filter(used).collect();
        if !pins.is_empty() {
            items.push(device_item(hub, pins));
        }
    }
    items
}

/// The other ends of the wires that end here.
fn far_ends<'d>(document: &'d Document, end: &End) -> impl Iterator<Item = &'d End> {
    let far = move |wire: &'d Wire| match (wire.from == *end, wire.to == *end) {
        (true, _) => Some(&wire.to),
        (_, true) => Some(&wire.from),
        _ => None,
    };
    document.wires.values().filter_map(far)
}

fn device_item(device: &DeviceId, terminals: Vec<TerminalId>) -> SheetItem {
    item(Shown::Device {
        device: device.clone(),
        terminals,
        extra: Extra::new(),
    })
}

fn item(shows: Shown) -> SheetItem {
    SheetItem {
        shows,
        x_mm: 0.0,
        y_mm: 0.0,
        mirrored: false,
        extra: Extra::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{document::Sheet, exchange};

    fn sorrel() -> Document {
        let file = include_bytes!("../../../public/samples/sorrel.json");
        exchange::open(file).expect("the sample opens").document
    }

    #[test]
    fn new_sheets_show_every_device_and_every_wire_between_them() {
        let document = sorrel();
        let devices: Vec<DeviceId> = document.devices.keys().cloned().collect();
        let sheets = sheets(&document, &devices, SheetSize::A3);
        assert!(sheets.len() < 20, "{} sheets", sheets.len());
        let shown = |end: &End| {
            let on = |items: &Vec<SheetItem>| {
                let items = items.iter().enumerate();
                let items = items.map(|(n, item)| (n.to_string().as_str().into(), item.clone()));
                Sheet {
                    items: items.collect(),
                    ..Sheet::default()
                }
                .shows(end)
            };
            sheets.iter().any(on)
        };
        for wire in document.wires.values() {
            for end in [&wire.from, &wire.to] {
                assert!(end.device().is_none() || shown(end), "{end}");
            }
        }
    }
}
