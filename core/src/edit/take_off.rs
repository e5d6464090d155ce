//! Removes the selection from a sheet. A device that other sheets show stays in the aircraft.

use super::{Change, EditError, Key, delete::delete, sheets::remove_from_sheet};
use crate::{
    document::{Document, Shown},
    ids::{DeviceId, ItemId, SheetId},
    order::Sorted,
};

/// What is deleted together with a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    /// Sheets that show it.
    pub sheets: usize,
    /// Wires that end at it. They stay, with an open end.
    pub wires: usize,
}

/// How far deleting a device reaches.
pub fn reach(document: &Document, device: &DeviceId) -> Reach {
    let key = Key::Device(device.clone());
    let sheets = document.sheets.keys();
    let ends_there = |it: &&crate::document::Wire| {
        [&it.from, &it.to]
            .iter()
            .any(|end| end.device() == Some(device))
    };
    Reach {
        sheets: sheets
            .filter(|id| !items_of(document, id, &key).is_empty())
            .count(),
        wires: document.wires.values().filter(ends_there).count(),
    }
}

/// What became of the devices that were selected.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenOff {
    /// The one step.
    pub change: Change,
    /// Devices that other sheets still show.
    pub kept: Vec<DeviceId>,
    /// Devices deleted from the aircraft, with what they took along.
    pub deleted: Vec<(DeviceId, Reach)>,
}

/// Removes records from a sheet. A device that other sheets show too is only removed from this one, and so is a
/// structure point; everything else is deleted from the aircraft.
///
/// # Errors
/// [`EditError::NotThere`] if there is no such sheet or record.
pub fn take_off(
    document: &Document,
    sheet: &SheetId,
    keys: &Sorted<Key>,
) -> Result<TakenOff, EditError> {
    let (mut items, mut gone) = (Vec::new(), Vec::new());
    let (mut kept, mut deleted) = (Vec::new(), Vec::new());
    for key in keys {
        let here = items_of(document, sheet, key);
        match key {
            Key::Place(_) => items.extend(here),
            Key::Device(id) => {
                let reach = reach(document, id);
                if !here.is_empty() && reach.sheets > 1 {
                    items.extend(here);
                    kept.push(id.clone());
                } else {
                    gone.push(key.clone());
                    deleted.push((id.clone(), reach));
                }
            }
            _ => gone.push(key.clone()),
        }
    }
    let removed = match items.is_empty() {
        true => Change::default(),
        false => remove_from_sheet(document, sheet, &items)?,
    };
    let after = removed.applied(document);
    let after = after.map_err(|_| EditError::not_there("sheet", sheet))?;
    Ok(TakenOff {
        change: removed.then(&delete(&after, &gone)?),
        kept,
        deleted,
    })
}

/// Removes a record from one sheet. It stays in the aircraft, whether another sheet shows it or not.
///
/// # Errors
/// [`EditError::Cannot`] if the sheet does not show it.
pub fn remove_shown(document: &Document, sheet: &SheetId, key: &Key) -> Result<Change, EditError> {
    let items = items_of(document, sheet, key);
    if items.is_empty() {
        return Err(EditError::cannot(
            "this sheet does not show it",
            "open a sheet that does",
        ));
    }
    remove_from_sheet(document, sheet, &items)
}

/// The items of a sheet that show a record.
fn items_of(document: &Document, sheet: &SheetId, key: &Key) -> Vec<ItemId> {
    let items = document.sheets.get(sheet).into_iter();
    let items = items.flat_map(|sheet| sheet.items.iter());
    let shows = items.filter(|(_, item)| match (&item.shows, key) {
        (Shown::Device { device, .. }, Key::Device(id)) => device == id,
        (Shown::Splice(splice), Key::Splice(id)) => splice == id,
        (Shown::Structure(place), Key::Place(id)) => place == id,
        _ => false,
    });
    shows.map(|(id, _)| id.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange;

    fn sorrel() -> Document {
        let file = include_bytes!("../../../public/samples/sorrel.json");
        exchange::open(file).expect("the sample opens").document
    }

    fn sheet_with(document: &Document, device: &str) -> SheetId {
        let key = Key::Device(device.into());
        let mut sheets = document.sheets.keys();
        let sheet = sheets.find(|id| !items_of(document, id, &key).is_empty());
        sheet.expect("a sheet shows it").clone()
    }

    #[test]
    fn a_device_on_several_sheets_stays_in_the_aircraft() {
        let document = sorrel();
        let before = reach(&document, &"k1".into());
        assert!(before.sheets > 1 && before.wires > 2, "{before:?}");
        let sheet = sheet_with(&document, "k1");
        let keys = Sorted::from([Key::Device("k1".into())]);
        let taken = take_off(&document, &sheet, &keys).expect("it is there");
        assert_eq!((taken.kept, taken.deleted), (vec!["k1".into()], vec![]));
        let after = taken.change.applied(&document).expect("made for this");
        assert_eq!(after.wires, document.wires);
        let reach = reach(&after, &"k1".into());
        assert_eq!(reach.sheets, before.sheets - 1);
        let back = taken.change.invert().applied(&after);
        assert_eq!(back.as_ref(), Ok(&document), "one step of undo");
    }

    #[test]
    fn a_device_on_one_sheet_is_deleted_and_what_goes_with_it_is_counted() {
        let mut document = sorrel();
        let key = Key::Device("k1".into());
        let last = sheet_with(&document, "k1");
        let others: Vec<_> = document
            .sheets
            .keys()
            .filter(|id| **id != last)
            .cloned()
            .collect();
        for sheet in others {
            if let Ok(change) = remove_shown(&document, &sheet, &key) {
                change.apply(&mut document).expect("made for this");
            }
        }
        assert!(document.devices.contains_key("k1"));
        let wires = reach(&document, &"k1".into()).wires;
        let taken = take_off(&document, &last, &Sorted::from([key])).expect("it is there");
        assert_eq!(taken.deleted, [("k1".into(), Reach { sheets: 1, wires })]);
        let after = taken.change.applied(&document).expect("made for this");
        assert!(!after.devices.contains_key("k1"));
        let back = taken.change.invert().applied(&after);
        assert_eq!(back.as_ref(), Ok(&document), "one step of undo");
    }
}
