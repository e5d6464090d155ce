//! What must be true for any input bytes: for fuzzing, and for replaying what it found.

use serde_json::Value;

use super::{
    arbitrary::{Dice, EDITS, edit},
    whole,
};
use crate::{
    document::{Document, invariants},
    exchange::{self, cells, list, merge, migrate, pins},
    rules,
};

/// What to do with the bytes.
pub type Target = fn(&[u8]);

/// The targets by their names.
pub const TARGETS: [(&str, Target); 4] = [
    ("project", project),
    ("tables", tables),
    ("migrations", migrations),
    ("merging", merging),
];

/// More records than this are not checked electrically: fuzzing lives from many runs.
const RECORDS_CHECKED: usize = 200;

/// A project file is opened or refused. What was opened is sound, is the same after saving, and can be
/// checked.
pub fn project(bytes: &[u8]) {
    match exchange::open(bytes) {
        Ok(opened) => holds(&opened.document),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

fn holds(document: &Document) {
    assert_eq!(invariants::broken(document), []);
    let saved = exchange::save(document);
    if let Ok(again) = exchange::open(&saved) {
        assert!(again.document == *document, "saving changes it");
        assert!(exchange::save(&again.document) == saved);
    } else {
        // Our layout is wider than others': a file near the limit may grow over it.
        assert!(saved.len() > crate::document::limits::MAX_BYTES);
    }
    if document.keys().len() < RECORDS_CHECKED {
        rules::check(document);
    }
}

/// A table is read, written and read again; as a wire list and as a pin table it becomes sound records or
/// is refused.
pub fn tables(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let mut rows = cells::read(&text);
    // As the grid copies them: more than one column, no row without anything.
    for row in &mut rows {
        row.insert(0, "x".into());
    }
    assert_eq!(
        cells::read(&cells::write(&rows)),
        rows,
        "writing changes it"
    );
    let document = whole();
    if let Ok(imported) = list::import(&document, &list::List::read(&text)) {
        let after = imported.change.applied(&document).expect("made for it");
        assert_eq!(invariants::broken(&after), []);
    }
    if let Ok(device) = pins::device(&text, "U1", "Unit") {
        assert!(!device.terminals.is_empty());
    }
}

/// A tree of any version goes through as many steps as there may ever be without harm, and what opens
/// then is sound.
pub fn migrations(bytes: &[u8]) {
    let Ok(mut tree) = serde_json::from_slice::<Value>(bytes) else {
        return;
    };
    let version = tree.get("version").and_then(Value::as_u64).unwrap_or(0);
    migrate::bring_up(&mut tree, version, &migrate::STEPS);
    if let Some(fields) = tree.as_object_mut() {
        for version in [1, exchange::VERSION, exchange::VERSION + 1, u64::MAX] {
            fields.insert("format".into(), exchange::FORMAT.into());
            fields.insert("version".into(), version.into());
            let file = serde_json::to_vec(&fields).expect("a tree is a text");
            if let Ok(opened) = exchange::open(&file) {
                assert_eq!(opened.version, version);
                assert_eq!(invariants::broken(&opened.document), []);
            }
        }
    }
}

/// Two sets of edits that the bytes choose are put together soundly. Bytes that are three files, with a
/// zero between them, are merged as they are.
pub fn merging(bytes: &[u8]) {
    let files: Vec<_> = bytes
        .splitn(3, |byte| *byte == 0)
        .filter_map(|file| exchange::open(file).ok())
        .collect();
    let [base, ours, theirs] = match <[_; 3]>::try_from(files) {
        Ok(files) => files.map(|it| it.document),
        Err(_) => {
            let base = whole();
            let (a, b) = bytes.split_at(bytes.len() / 2);
            [base.clone(), edited(&base, a), edited(&base, b)]
        }
    };
    let Ok(merged) = merge::merge(&base, &ours, &theirs) else {
        return;
    };
    assert_eq!(invariants::broken(&merged.document), []);
    if merged.conflicts.is_empty() {
        let turned = merge::merge(&base, &theirs, &ours).expect("the other way was sound");
        assert!(turned.conflicts.is_empty());
        assert!(turned.document == merged.document, "sides matter");
    }
    let same = merge::merge(&base, &ours, &ours).expect("it is sound itself");
    assert!(same.document == ours, "merging with itself changes it");
}

/// Every two bytes are an edit and its dice.
fn edited(base: &Document, bytes: &[u8]) -> Document {
    let mut document = base.clone();
    for two in bytes.chunks_exact(2).take(12) {
        let mut dice = Dice::new(u64::from(two[1]));
        if let Some(Ok(change)) = edit(&document, usize::from(two[0]) % EDITS, &mut dice) {
            change.apply(&mut document).expect("made for it");
        }
    }
    document
}
