//! New records that hang on nothing: places, routes, splices, states, sheets, log entries.

use super::{Change, EditError, Record, copy::on_copy, free};
use crate::document::{Document, Sheet, SheetItem, SheetSize};

/// Adds a record under a key of its own. Find the key with [`Change::added`].
pub fn add_record(document: &Document, record: Record) -> Result<Change, EditError> {
    if matches!(record, Record::Project(_)) {
        return Err(EditError::cannot(
            "a document has one project",
            "change the one it has",
        ));
    }
    on_copy(document, |copy| {
        let mut record = record;
        let kind = record.kind_mut();
        let wish = match (kind.first_key(), kind.name_mut()) {
            (Some(first), _) => first.to_owned(),
            (None, name) => free::slug(name.map_or("", |it| it.as_str())),
        };
        let id = free::text(&wish, |id| copy.get(&record.key(id)).is_some());
        copy.put(&record.key(&id), Some(record));
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
