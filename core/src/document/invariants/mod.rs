//! Invariants of every document, from a file or after an edit. Rules about the *design* are not
//! here: a fault in a drawing is a finding, never a refusal.

mod check;
mod device;
mod path;

pub use self::check::Broken;
pub(crate) use self::{check::Check, path::FieldPath};

use super::{Document, Key, Record, RecordRef};
use crate::order::Map;

/// Every broken invariant of the document; empty for a valid one.
pub fn broken(document: &Document) -> Vec<Broken> {
    let mut check = Check::new(document);
    check.room_for(document.keys_len());
    document.each(&mut |[_, field], id, record| one(&mut check, field, id, record));
    cables_share_no_wire(&mut check, document);
    check.broken
}

/// Every broken invariant of one record, checked as if it were in the document.
pub(crate) fn broken_record(document: &Document, key: &Key, record: &Record) -> Vec<Broken> {
    let mut check = Check::new(document);
    check.room_for(document.keys_len() + usize::from(document.get(key).is_none()));
    one(&mut check, key.field(), key.id(), record.as_ref());
    check.broken
}

fn one(check: &mut Check<'_>, field: &str, id: &str, record: RecordRef<'_>) {
    let at = FieldPath::TOP.field(field);
    if matches!(record, RecordRef::Project(_)) {
        return record.kind().check(check, &at, id);
    }
    let at = at.field(id);
    check.id(&at, id);
    record.kind().check(check, &at, id);
}

/// A wire is in at most one cable, and only once.
fn cables_share_no_wire(check: &mut Check<'_>, document: &Document) {
    let mut held_by = Map::new();
    let cables = FieldPath::TOP.field("cables");
    for (id, cable) in &document.cables {
        let at = cables.field(id.as_str());
        let wires = at.field("wires");
        for (index, wire) in cable.wires.iter().enumerate() {
            if let Some(other) = held_by.insert(wire, id) {
                check.say(
                    &wires.index(index),
                    format!("wire \"{wire}\" is already in cable \"{other}\""),
                );
            }
        }
    }
}
