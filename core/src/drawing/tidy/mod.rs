//! Positions for the items of a sheet, from the circuit alone: sources to the left, loads to the right of what feeds
//! them, grounds below. The same circuit gives the same sheet, wherever the items were before.
//!
//! A layered drawing with pins on sides (Sugiyama, Tagawa, Toda 1981; Gansner et al. 1993), begun in several ways; each
//! is improved by small changes, judged by wires laid on it; the best, with its wires laid with care, is kept.

mod arrange;
mod graph;
mod layers;
mod search;
#[cfg(test)]
mod tests;
mod trial;

use self::{
    arrange::room,
    layers::{Flow, Grounds},
    search::{best, start},
    trial::Trial,
};
use super::geometry::Rect;
use crate::{
    document::{Document, Sheet, SheetItem, SheetSize, Shown},
    ids::{ItemId, SheetId, TerminalId},
    order::{InOrder, Map},
};

pub(super) use self::arrange::{GAP_MM, LANES_MM};

/// The best positions for these items of a sheet, the others staying; none if there is no room for them.
pub fn tidy(
    document: &Document,
    sheet: &SheetId,
    items: &[ItemId],
) -> Option<Map<ItemId, SheetItem>> {
    let shown = document.sheets.get(sheet)?;
    let chosen = shown.items.iter().filter(|(id, _)| items.contains(id));
    let (ids, items): (Vec<_>, Vec<_>) = chosen
        .map(|(id, item)| (id.clone(), in_order(document, item)))
        .unzip();
    let others = shown.items.iter().filter(|(id, _)| !ids.contains(id));
    let others = others.filter_map(|(_, item)| super::item::place(document, shown, item, None));
    let others: Vec<Rect> = others.map(|it| it.rect).collect();
    let mut trial = Trial {
        document: document.clone(),
        sheet: sheet.clone(),
        ids: ids.clone(),
    };
    let stood = stood(shown, &ids);
    trial.put(&items);
    let placed = best(&mut trial, &items, shown.size, &others, stood)?;
    Some(ids.into_iter().zip(placed).collect())
}

/// Upper left corner of all that is placed, before.
fn stood(sheet: &Sheet, ids: &[ItemId]) -> (f64, f64) {
    let least = |of: fn(&SheetItem) -> f64| {
        let items = ids.iter().filter_map(|id| sheet.items.get(id));
        items.map(of).fold(f64::INFINITY, f64::min)
    };
    (least(|it| it.x_mm), least(|it| it.y_mm))
}

/// The item with its terminals in the order of the device: the order that they have now does not count.
fn in_order(document: &Document, item: &SheetItem) -> SheetItem {
    let mut item = item.clone();
    if let Shown::Device {
        device, terminals, ..
    } = &mut item.shows
        && let Some(device) = document.devices.get(device)
    {
        let of = |id: &TerminalId| device.terminals.iter().position(|it| it.id == *id);
        terminals.order_by(|a, b| of(a).cmp(&of(b)));
    }
    item
}

/// The positions for the items of a new sheet of this paper; none if there is no room for them.
pub(super) fn placed(
    document: &Document,
    items: &[SheetItem],
    size: SheetSize,
    is_final: bool,
) -> Option<Vec<SheetItem>> {
    let ids: Vec<ItemId> = (0..items.len())
        .map(|n| ItemId::new(format!("new-{n}")))
        .collect();
    let mut trial = Trial {
        document: document.clone(),
        sheet: SheetId::new("new-sheet"),
        ids,
    };
    let sheet = Sheet {
        size,
        ..Sheet::default()
    };
    trial.document.sheets.insert(trial.sheet.clone(), sheet);
    trial.put(items);
    if is_final {
        return best(&mut trial, items, size, &[], (0.0, 0.0));
    }
    let nodes = graph::nodes(&trial, items);
    let room = room(size.size_mm());
    start(
        &trial,
        (items, &nodes),
        (Flow::Distance, Grounds::Middle),
        room,
    )
    .placed(room, true)
}
