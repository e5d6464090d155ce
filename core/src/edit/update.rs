//! Updates some fields of a record, and its label.

use super::{
    Change, EditError, Key, Record,
    copy::{let_go, on_copy, put_one},
};
use crate::document::{Device, Document, Element, ElementKind};

/// Puts a record in place of the one with this key. What ended at a terminal that the record no
/// longer has is let go, as by [`super::delete`]. A value that is another one now was typed, and its origin goes.
///
/// # Errors
/// [`EditError::Breaks`] if the record holds what no record may: a length of 0, an element at a
/// terminal that is not there.
pub fn update_record(
    document: &Document,
    key: &Key,
    mut record: Record,
) -> Result<Change, EditError> {
    let there = document.record(key);
    let there = there.ok_or_else(|| EditError::not_there(key.kind(), key.id()))?;
    if std::mem::discriminant(&there) != std::mem::discriminant(&record) {
        return Err(EditError::cannot(
            format!("{key} cannot become another kind of record"),
            "add a new record instead",
        ));
    }
    record.typed_since(&there);
    let loses = match (&there, &record) {
        (Record::Device(old), Record::Device(new)) => loses_parts(document, old, new),
        _ => matches!(key, Key::Cable(_)),
    };
    if !loses && *key != Key::Project {
        return put_one(document, key.clone(), record);
    }
    on_copy(document, |copy| {
        copy.put(key, Some(record));
        if loses {
            let_go(copy);
        }
        Ok(())
    })
}

/// True if the device loses something that other records may refer to, or itself refers to a missing record. Few
/// edits do; checking the whole document for it costs time.
fn loses_parts(document: &Document, old: &Device, new: &Device) -> bool {
    let keeps = |element: &Element| match (&element.is, new.element(&element.id)) {
        (
            ElementKind::Switch(old),
            Some(Element {
                is: ElementKind::Switch(new),
                ..
            }),
        ) => new.positions.len() >= old.positions.len(),
        (old, Some(new)) => std::mem::discriminant(old) == std::mem::discriminant(&new.is),
        (_, None) => false,
    };
    let has_place = (new.place.as_ref()).is_none_or(|id| document.places.contains_key(id));
    !has_place
        || !(old.terminals.iter()).all(|terminal| new.terminal(&terminal.id).is_some())
        || !old.elements.iter().all(keeps)
}

/// Changes the label of a record: tag, number, label or title. A duplicate name is not an error here; a rule
/// reports it.
pub fn rename(document: &Document, key: &Key, name: &str) -> Result<Change, EditError> {
    let record = document.record(key);
    let mut record = record.ok_or_else(|| EditError::not_there(key.kind(), key.id()))?;
    let Some(field) = record.kind_mut().name_mut() else {
        return Err(EditError::cannot(
            format!("{} has no name", document.key_label(key)),
            "change its text instead",
        ));
    };
    *field = name.trim().into();
    update_record(document, key, record)
}
