//! Edits of one record, each one step of undo.

use loomwright_core::{
    document::{Device, Document, Project, Wire},
    edit::{Key, Record, update_record},
    ids::{DeviceId, WireId},
};

use crate::session::Session;

/// Edits a record. `touch` gets the record as it is now; one that is not there any more stays away.
pub fn edit(session: Session, label: &str, key: Key, touch: impl FnOnce(&mut Record, &Document)) {
    let change = session.peek(|document| {
        let mut record = document.record(&key)?;
        touch(&mut record, document);
        Some(update_record(document, &key, record))
    });
    if let Some(change) = change {
        session.try_run(label, change);
    }
}

/// Edits a device.
pub fn edit_device(session: Session, label: &str, id: &DeviceId, touch: impl FnOnce(&mut Device)) {
    edit(session, label, Key::Device(id.clone()), |record, _| {
        if let Record::Device(device) = record {
            touch(device);
        }
    });
}

/// Edits a wire.
pub fn edit_wire(session: Session, label: &str, id: &WireId, touch: impl FnOnce(&mut Wire)) {
    edit(session, label, Key::Wire(id.clone()), |record, _| {
        if let Record::Wire(wire) = record {
            touch(wire);
        }
    });
}

/// Edits the project's own facts.
pub fn edit_project(session: Session, label: &str, touch: impl FnOnce(&mut Project)) {
    let mut touch = Some(touch);
    touch_project(session, label, &mut |project| {
        if let Some(touch) = touch.take() {
            touch(project);
        }
    });
}

/// Apart from what is edited, so that it is compiled once.
fn touch_project(session: Session, label: &str, touch: &mut dyn FnMut(&mut Project)) {
    let change = session.peek(|document| {
        let mut project = document.project.clone();
        touch(&mut project);
        update_record(document, &Key::Project, Record::Project(project))
    });
    session.try_run(label, change);
}
