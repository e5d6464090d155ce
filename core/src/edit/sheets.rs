//! Positions of items on the sheets.

use super::{Change, EditError, Key, Record, copy::put_one, free};
use crate::{
    document::{Document, End, Extra, HeldStretch, Sheet, SheetItem, Shown, limits::MAX_SHEET_MM},
    ids::{ItemId, SheetId, WireId},
    order::Map,
};

/// A position on a sheet, mm from its top left corner.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetPoint {
    /// The sheet.
    pub sheet: SheetId,
    /// To the right, mm.
    pub x_mm: f64,
    /// Down, mm.
    pub y_mm: f64,
}

pub(super) fn put_item(
    document: &mut Document,
    spot: &SheetPoint,
    shows: Shown,
) -> Result<(), EditError> {
    let sheet = document.sheets.get_mut(&spot.sheet);
    put_on(
        sheet.ok_or_else(|| EditError::not_there("sheet", &spot.sheet))?,
        spot,
        shows,
    );
    Ok(())
}

fn put_on(sheet: &mut Sheet, spot: &SheetPoint, shows: Shown) {
    let id = free::key(&sheet.items, "i1");
    sheet.items.insert(
        id,
        SheetItem {
            shows,
            x_mm: on_paper(spot.x_mm),
            y_mm: on_paper(spot.y_mm),
            mirrored: false,
            extra: Extra::new(),
        },
    );
}

/// A coordinate limited to the largest sheet.
fn on_paper(mm: f64) -> f64 {
    if mm.is_finite() {
        mm.clamp(-MAX_SHEET_MM, MAX_SHEET_MM)
    } else {
        0.0
    }
}

/// Shows a device, a splice or a structure point on a sheet.
pub fn place_on_sheet(
    document: &Document,
    spot: &SheetPoint,
    shows: Shown,
) -> Result<Change, EditError> {
    let sheet = document.sheets.get(&spot.sheet).cloned();
    let mut sheet = sheet.ok_or_else(|| EditError::not_there("sheet", &spot.sheet))?;
    put_on(&mut sheet, spot, shows);
    put_one(
        document,
        Key::Sheet(spot.sheet.clone()),
        Record::Sheet(sheet),
    )
}

/// The change of one sheet only. It is cheap, because a drag makes one at every move of the finger.
fn on_sheet(
    document: &Document,
    id: &SheetId,
    edit: impl FnOnce(&mut Sheet) -> Result<(), EditError>,
) -> Result<Change, EditError> {
    let sheet = document.sheets.get(id);
    let mut sheet = sheet
        .ok_or_else(|| EditError::not_there("sheet", id))?
        .clone();
    edit(&mut sheet)?;
    let key = Key::Sheet(id.clone());
    Ok(Change::set(document, key, Some(Record::Sheet(sheet))))
}

fn each_item(
    document: &Document,
    sheet: &SheetId,
    items: &[ItemId],
    edit: impl Fn(&mut SheetItem),
) -> Result<Change, EditError> {
    on_sheet(document, sheet, |sheet| {
        for id in items {
            let item = sheet.items.get_mut(id);
            edit(item.ok_or_else(|| EditError::not_there("item", id))?);
        }
        Ok(())
    })
}

/// Moves items of a sheet by a distance, mm.
pub fn move_items(
    document: &Document,
    sheet: &SheetId,
    items: &[ItemId],
    by_mm: (f64, f64),
) -> Result<Change, EditError> {
    on_sheet(document, sheet, |sheet| {
        // A wire whose two ends move together keeps its form.
        for wire in held_between(document, sheet, |item| items.contains(item)) {
            if let Some(stretch) = sheet.held.get_mut(&wire) {
                stretch.x_mm = on_paper(stretch.x_mm + by_mm.0);
                stretch.y_mm = on_paper(stretch.y_mm + by_mm.1);
            }
        }
        for id in items {
            let item = sheet.items.get_mut(id);
            let item = item.ok_or_else(|| EditError::not_there("item", id))?;
            item.x_mm = on_paper(item.x_mm + by_mm.0);
            item.y_mm = on_paper(item.y_mm + by_mm.1);
        }
        Ok(())
    })
}

/// Wires with a fixed segment whose ends are both shown by items for which this is true.
fn held_between(
    document: &Document,
    sheet: &Sheet,
    is_one: impl Fn(&ItemId) -> bool,
) -> Vec<WireId> {
    let shown = |end: &End| {
        let mut items = sheet.items.iter();
        items.any(|(id, item)| is_one(id) && item.shows_end(end))
    };
    let both = |id: &&WireId| {
        let wire = document.wires.get(*id);
        wire.is_some_and(|wire| shown(&wire.from) && shown(&wire.to))
    };
    sheet.held.keys().filter(both).cloned().collect()
}

/// Fixes a segment of a wire where a person put it, or resets the path.
///
/// # Errors
/// [`EditError::NotThere`] if there is no such sheet or wire.
pub fn hold_stretch(
    document: &Document,
    sheet: &SheetId,
    wire: &WireId,
    stretch: Option<HeldStretch>,
) -> Result<Change, EditError> {
    if !document.wires.contains_key(wire) {
        return Err(EditError::not_there("wire", wire));
    }
    on_sheet(document, sheet, |sheet| {
        match stretch {
            Some(stretch) => sheet.held.insert(wire.clone(), stretch),
            None => sheet.held.remove(wire),
        };
        Ok(())
    })
}

/// Moves items of a sheet to the positions of these.
pub fn put_items(
    document: &Document,
    sheet: &SheetId,
    items: &Map<ItemId, SheetItem>,
) -> Result<Change, EditError> {
    on_sheet(document, sheet, |sheet| {
        // After a new layout a fixed segment would only be in the way.
        for wire in held_between(document, sheet, |item| items.contains_key(item)) {
            sheet.held.remove(&wire);
        }
        for (id, item) in items {
            sheet.items.insert(id.clone(), item.clone());
        }
        Ok(())
    })
}

/// Swaps left and right of items of a sheet.
pub fn mirror_items(
    document: &Document,
    sheet: &SheetId,
    items: &[ItemId],
) -> Result<Change, EditError> {
    each_item(document, sheet, items, |item| {
        item.mirrored = !item.mirrored;
    })
}

/// Removes items from a sheet. Their records stay in the document.
pub fn remove_from_sheet(
    document: &Document,
    sheet: &SheetId,
    items: &[ItemId],
) -> Result<Change, EditError> {
    on_sheet(document, sheet, |sheet| {
        for id in items {
            let item = sheet.items.remove(id);
            item.ok_or_else(|| EditError::not_there("item", id))?;
        }
        Ok(())
    })
}
