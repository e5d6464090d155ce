//! New records that hang on nothing: places, routes, splices, states, sheets, log entries.

use super::{Change, EditError, Record, copy::on_copy, free};
use crate::document::{Document, Sheet, SheetItem, SheetSize};

/// Adds a record under its own key. Get a free key from [`Change::added`].
pub fn add_record(document: &Document, record: Record) -> Result<Change, EditError> {
    on_copy(document, |copy| {
        match record {
            Record::Project(_) => {
                return Err(EditError::cannot(
                    "a document has one project",
                    "change the one it has",
                ));
            }
            Record::Place(place) => {
                let id = free::key(&copy.places, &free::slug(&place.title));
                copy.places.insert(id, place);
            }
            Record::Device(device) => {
                let id = free::key(&copy.devices, &free::slug(&device.tag));
                copy.devices.insert(id, device);
            }
            Record::Wire(wire) => {
                let id = free::key(&copy.wires, "w1");
                copy.wires.insert(id, wire);
            }
            Record::Cable(cable) => {
                let id = free::key(&copy.cables, "c1");
                copy.cables.insert(id, cable);
            }
            Record::Splice(splice) => {
                let id = free::key(&copy.splices, "sp1");
                copy.splices.insert(id, splice);
            }
            Record::Route(route) => {
                let id = free::key(&copy.routes, &free::slug(&route.title));
                copy.routes.insert(id, route);
            }
            Record::State(state) => {
                let id = free::key(&copy.states, &free::slug(&state.title));
                copy.states.insert(id, state);
            }
            Record::Sheet(sheet) => {
                let id = free::key(&copy.sheets, &free::slug(&sheet.title));
                copy.sheets.insert(id, sheet);
            }
            Record::Log(entry) => {
                let id = free::key(&copy.log, "l1");
                copy.log.insert(id, entry);
            }
            Record::Accepted(accepted) => {
                let id = free::key(&copy.accepted, "x1");
                copy.accepted.insert(id, accepted);
            }
            Record::Reading(reading) => {
                let id = free::key(&copy.readings, "r1");
                copy.readings.insert(id, reading);
            }
            Record::Revision(revision) => {
                let id = free::key(&copy.revisions, "v1");
                copy.revisions.insert(id, revision);
            }
        }
        Ok(())
    })
}

/// Adds an empty sheet with the next number.
pub fn add_sheet(document: &Document, title: &str, size: SheetSize) -> Result<Change, EditError> {
    add_drawn_sheet(document, title, size, Vec::new())
}

/// Adds a sheet with the next number that shows these items.
pub fn add_drawn_sheet(
    document: &Document,
    title: &str,
    size: SheetSize,
    items: Vec<SheetItem>,
) -> Result<Change, EditError> {
    let numbered = items.into_iter().enumerate();
    let items = numbered.map(|(n, item)| (format!("i{}", n + 1).into(), item));
    let last = document.sheets.values().map(|sheet| sheet.number).max();
    let sheet = Sheet {
        number: last.unwrap_or(0).saturating_add(1),
        title: title.into(),
        size,
        items: items.collect(),
        ..Sheet::default()
    };
    add_record(document, Record::Sheet(sheet))
}
