//! A record with some of its fields changed, and what a person calls a record.

use super::{
    Change, EditError, Key, Record,
    copy::{let_go, on_copy},
};
use crate::document::Document;

/// Puts a record in place of the one with this key. What ended at a terminal that the record no
/// longer has is let go, as by [`super::delete`].
///
/// # Errors
/// [`EditError::Breaks`] if the record holds what no record may: a length of 0, an element at a
/// terminal that is not there.
pub fn update_record(document: &Document, key: &Key, record: Record) -> Result<Change, EditError> {
    let there = document.record(key);
    let there = there.ok_or_else(|| EditError::not_there(key.kind(), key.id()))?;
    if std::mem::discriminant(&there) != std::mem::discriminant(&record) {
        return Err(EditError::cannot(
            format!("{key} cannot become another kind of record"),
            "add a new record instead",
        ));
    }
    on_copy(document, |copy| {
        copy.put(key, Some(record));
        if let Key::Device(_) | Key::Cable(_) = key {
            let_go(copy);
        }
        Ok(())
    })
}

/// Changes what a person calls a record: tag, number, label or title. The same name twice is no
/// error here; a rule tells it.
pub fn rename(document: &Document, key: &Key, name: &str) -> Result<Change, EditError> {
    let record = document.record(key);
    let mut record = record.ok_or_else(|| EditError::not_there(key.kind(), key.id()))?;
    let field = match &mut record {
        Record::Project(it) => &mut it.title,
        Record::Place(it) => &mut it.title,
        Record::Device(it) => &mut it.tag,
        Record::Wire(it) => &mut it.number,
        Record::Cable(it) => &mut it.label,
        Record::Splice(it) => &mut it.label,
        Record::Route(it) => &mut it.title,
        Record::State(it) => &mut it.title,
        Record::Sheet(it) => &mut it.title,
        Record::Log(_) | Record::Accepted(_) => {
            return Err(EditError::cannot(
                format!("{} has no name", document.key_label(key)),
                "change its text instead",
            ));
        }
    };
    *field = name.trim().into();
    update_record(document, key, record)
}
