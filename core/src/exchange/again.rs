//! Writes a document after an edit by formatting only what changed. A project of 600 wires is saved
//! at every edit, before the next frame.

use super::{json, save};
use crate::{
    document::Document,
    edit::{Change, Key},
    order::Map,
};

/// The text of each record, kept from one save to the next.
#[derive(Debug, Default)]
pub struct Texts {
    records: Map<Key, String>,
}

impl Texts {
    /// Formats every record of a document.
    pub fn new(document: &Document) -> Self {
        let keys = document.keys();
        let record = |key: Key| Some((record_text(document, &key)?, key));
        Self {
            records: keys
                .into_iter()
                .filter_map(record)
                .map(|(text, key)| (key, text))
                .collect(),
        }
    }

    /// Formats again what a change touched. Call it after the change is applied.
    pub fn follow(&mut self, document: &Document, change: &Change) {
        for key in change.steps().keys() {
            match record_text(document, key) {
                Some(text) => self.records.insert(key.clone(), text),
                None => self.records.remove(key),
            };
        }
    }

    /// The file of the document, as [`save`] writes it.
    pub fn file(&self, document: &Document) -> String {
        let frame = Document {
            project: document.project.clone(),
            extra: document.extra.clone(),
            ..Document::default()
        };
        let frame = String::from_utf8(save(&frame)).expect("JSON is UTF-8");
        let size: usize = self.records.values().map(String::len).sum();
        let mut file = String::with_capacity(frame.len() + size + 4 * self.records.len());
        let mut records = self.records.iter().peekable();
        for line in frame.lines() {
            // A field of the file itself is indented by two spaces; a text never begins a line.
            let kind = records.peek().map_or("", |(key, _)| key.field());
            let rest = (line.strip_prefix("  \""))
                .and_then(|rest| rest.strip_prefix(kind))
                .and_then(|rest| rest.strip_prefix("\": {}"));
            let Some(comma) = rest.filter(|_| !kind.is_empty()) else {
                file += line;
                file += "\n";
                continue;
            };
            file += line.trim_end_matches(',').trim_end_matches('}');
            let mut between = "\n";
            while let Some((_, text)) = records.next_if(|(key, _)| key.field() == kind) {
                file += between;
                file += text;
                between = ",\n";
            }
            file += "\n  }";
            file += comma;
            file += "\n";
        }
        file
    }
}

/// A record as written in the file, with its key; `None` for the project, which is in the frame.
fn record_text(document: &Document, key: &Key) -> Option<String> {
    let record = document.get(key).filter(|_| *key != Key::Project)?;
    let indented = json(&record).replace('\n', "\n    ");
    Some(format!("    {}: {indented}", json(&key.id())))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{aircraft, document};

    fn saved(document: &Document) -> String {
        String::from_utf8(save(document)).expect("text")
    }

    #[test]
    fn the_file_is_that_of_a_whole_saving() {
        let mut hostile = document("wire A open open 1m");
        hostile.project.title = "\n  \"wires\": {}".into();
        hostile
            .extra
            .insert("zones".into(), serde_json::json!({"wires": {}}));
        for document in [Document::default(), hostile, aircraft(60)] {
            assert_eq!(Texts::new(&document).file(&document), saved(&document));
        }
    }

    #[test]
    fn it_follows_records_that_come_change_and_go() {
        let before = aircraft(60);
        let mut after = before.clone();
        let (first, second) = {
            let mut ids = after.wires.keys().cloned();
            (ids.next().expect("a wire"), ids.next().expect("another"))
        };
        after.wires.remove(&first);
        after.wires.get_mut(&second).expect("it").number = "ü\"\n".into();
        after.sheets.clear();
        after.project.title = "Another".into();
        let mut texts = Texts::new(&before);
        for (from, to) in [(&before, &after), (&after, &before)] {
            texts.follow(to, &Change::between(from, to));
            assert_eq!(texts.file(to), saved(to));
        }
    }
}
