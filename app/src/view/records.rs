//! What a project has, in the order in which it is shown: sheets, phases, places; and what a sheet shows.

use loomwright_core::order::InOrder;
use loomwright_core::{
    document::{Document, End, Sheet, Shown},
    edit::Key,
    ids::{ItemId, SheetId, StateId},
};

use crate::strings;

/// The sheets, by number.
pub fn sheets_in_order(document: &Document) -> Vec<(SheetId, u32, String)> {
    let mut sheets: Vec<_> = document
        .sheets
        .iter()
        .map(|(id, sheet)| (id.clone(), sheet.number, sheet.title.clone()))
        .collect();
    sheets.order_by_key(|(_, number, _)| *number);
    sheets
}

/// The sheet that shows most of these records; the open one if it is as good as any.
pub fn sheet_showing(document: &Document, keys: &[Key], open: Option<&SheetId>) -> Option<SheetId> {
    let shown = |id: &SheetId| {
        let Some(sheet) = document.sheets.get(id) else {
            return 0;
        };
        keys.iter()
            .filter(|key| shows(document, sheet, key))
            .count()
    };
    let mut best = open.map(|id| (shown(id), id.clone()));
    for (id, ..) in sheets_in_order(document) {
        let n = shown(&id);
        if best.as_ref().is_none_or(|(most, _)| n > *most) {
            best = Some((n, id));
        }
    }
    best.map(|(_, id)| id)
}

fn shows(document: &Document, sheet: &Sheet, key: &Key) -> bool {
    match key {
        Key::Device(id) => sheet
            .items
            .values()
            .any(|item| matches!(&item.shows, Shown::Device { device, .. } if device == id)),
        Key::Splice(id) => sheet.shows(&End::Splice(id.clone())),
        Key::Place(id) => sheet.shows(&End::Structure(id.clone())),
        Key::Wire(id) => {
            let wire = document.wires.get(id);
            wire.is_some_and(|wire| sheet.shows(&wire.from) && sheet.shows(&wire.to))
        }
        Key::Cable(id) => {
            let first = document
                .cables
                .get(id)
                .and_then(|cable| cable.wires.first());
            first.is_some_and(|wire| shows(document, sheet, &Key::Wire(wire.clone())))
        }
        _ => false,
    }
}

/// The states, in their order.
pub fn states_in_order(document: &Document) -> Vec<(StateId, String)> {
    let mut states: Vec<_> = document.states.iter().collect();
    states.order_by_key(|(_, state)| state.order);
    states
        .into_iter()
        .map(|(id, state)| (id.clone(), state.title.clone()))
        .collect()
}

/// The first sheet.
pub fn first_sheet(document: &Document) -> Option<SheetId> {
    sheets_in_order(document)
        .into_iter()
        .next()
        .map(|(id, ..)| id)
}

/// The state that is chosen first.
pub fn first_state(document: &Document) -> Option<StateId> {
    // The state in which most of a flight is spent, if it has its usual name.
    let states = states_in_order(document);
    states
        .iter()
        .find(|(_, title)| title.to_ascii_lowercase().contains("cruise"))
        .or(states.first())
        .map(|(id, _)| id.clone())
}

/// The record an item shows.
pub fn item_key(document: &Document, sheet: &SheetId, item: &ItemId) -> Option<Key> {
    let item = document.sheets.get(sheet)?.items.get(item)?;
    Some(match &item.shows {
        Shown::Device { device, .. } => Key::Device(device.clone()),
        Shown::Splice(id) => Key::Splice(id.clone()),
        Shown::Structure(id) => Key::Place(id.clone()),
    })
}

/// The items of a sheet that show one of these records.
pub fn items_of(
    document: &Document,
    sheet: &SheetId,
    wanted: impl Fn(&Key) -> bool,
) -> Vec<ItemId> {
    let Some(sheet_record) = document.sheets.get(sheet) else {
        return Vec::new();
    };
    sheet_record
        .items
        .keys()
        .filter(|item| item_key(document, sheet, item).is_some_and(|key| wanted(&key)))
        .cloned()
        .collect()
}

/// Places by name, with "not set" first.
pub fn place_choices(document: &Document) -> Vec<(String, String)> {
    let none = (String::new(), strings::NOT_SAID.to_owned());
    let places = document.places.iter();
    std::iter::once(none)
        .chain(places.map(|(id, place)| (id.to_string(), place.title.clone())))
        .collect()
}
