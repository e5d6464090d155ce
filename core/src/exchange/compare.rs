//! Compares two projects by record and field, in a builder's words.

use serde_json::{Map, Value};

use super::json;
use crate::{
    document::{Document, End, ValueOrigin, read::read},
    edit::{Change, Key},
};

/// What happened to a record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChangeKind {
    /// It was added.
    Added,
    /// It was removed.
    Removed,
    /// Some of its fields changed: which, in words.
    Changed(Vec<String>),
}

/// One record that differs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The record.
    pub key: Key,
    /// Its label: the present one, or the last one if it was removed.
    pub label: String,
    /// What happened to it.
    pub became: ChangeKind,
}

impl Difference {
    /// In one line: "wire P30A18: now goes to MBUS CB12, was MBUS CB13".
    pub fn words(&self) -> String {
        let kind = kind_words(&self.key);
        let name = match self.key {
            Key::Project => "project".to_owned(),
            // Such as "log of 2026-11-30" and "sheet 3 Lights".
            _ if self.label.starts_with(kind) => self.label.clone(),
            _ => format!("{kind} {}", self.label),
        };
        match &self.became {
            ChangeKind::Added => format!("{name} added"),
            ChangeKind::Removed => format!("{name} removed"),
            ChangeKind::Changed(what) => format!("{name}: {}", what.join("; ")),
        }
    }
}

/// The kind of a record in words.
pub(super) fn kind_words(key: &Key) -> &'static str {
    match key {
        Key::State(_) => "phase",
        Key::Revision(_) => "version",
        key => key.kind(),
    }
}

/// Every record that differs, in the order of the file.
pub fn compare(before: &Document, after: &Document) -> Vec<Difference> {
    let change = Change::between(before, after);
    let one = |(key, _): (&Key, _)| {
        let (was, is) = (tree(before, key), tree(after, key));
        let (became, named_in) = match (&was, &is) {
            (None, _) => (ChangeKind::Added, after),
            (_, None) => (ChangeKind::Removed, before),
            (Some(was), Some(is)) => {
                let mut told = Vec::new();
                fields((before, after), "", Some(was), Some(is), &mut told);
                (ChangeKind::Changed(told), after)
            }
        };
        Difference {
            key: key.clone(),
            label: named_in.key_label(key),
            became,
        }
    };
    change.steps().iter().map(one).collect()
}

fn tree(document: &Document, key: &Key) -> Option<Value> {
    let record = document.record(key)?;
    let text = json(&record);
    let value: Value = serde_json::from_slice(text.as_bytes()).ok()?;
    // A record of any kind is written as its kind and its content.
    value.as_object()?.values().next().cloned()
}

/// Adds the differences under a field; lists of parts are matched by their ids.
fn fields(
    documents: (&Document, &Document),
    path: &str,
    was: Option<&Value>,
    is: Option<&Value>,
    told: &mut Vec<String>,
) {
    if was == is {
        return;
    }
    let deeper = |name: &str| match path {
        "" => name.to_owned(),
        path => format!("{path} {name}"),
    };
    match (was, is) {
        (Some(Value::Object(a)), Some(Value::Object(b))) => {
            let mut names: Vec<&String> = a.keys().collect();
            names.extend(b.keys().filter(|name| !a.contains_key(*name)));
            // The origin of a value is listed with it.
            names.retain(|name| *name != ORIGINS || !are_origins(a) || !are_origins(b));
            let told_of = [a, b].map(|side| side.get(ORIGINS).and_then(Value::as_object));
            for name in names {
                let values = [a.get(name), b.get(name)];
                let path = deeper(&spoken(name));
                match (
                    told_of.map(|it| it?.get(name).and_then(origin)),
                    values[0] == values[1],
                ) {
                    ([was, is], true) if was == is => {}
                    ([was, is], true) => {
                        let [is, was] = [is, was].map(|it| it.unwrap_or("typed"));
                        told.push(format!("{path} is {is}, was {was}"));
                    }
                    ([None, None], false) => fields(documents, &path, values[0], values[1], told),
                    (words, false) => {
                        let [was, is] = [0, 1].map(|at| {
                            let value = shown([documents.0, documents.1][at], values[at]);
                            words[at].map_or(value.clone(), |word| format!("{value} ({word})"))
                        });
                        told.push(format!("{path} is {is}, was {was}"));
                    }
                }
            }
        }
        (Some(Value::Array(a)), Some(Value::Array(b))) if are_parts(a) && are_parts(b) => {
            let find =
                |list: &'_ [Value], id: &str| list.iter().position(|it| part_id(it) == Some(id));
            let mut ids: Vec<&str> = a.iter().filter_map(part_id).collect();
            ids.extend(
                b.iter()
                    .filter_map(part_id)
                    .filter(|id| find(a, id).is_none()),
            );
            for id in ids {
                let (x, y) = (find(a, id).map(|at| &a[at]), find(b, id).map(|at| &b[at]));
                fields(documents, &deeper(id), x, y, told);
            }
        }
        _ => {
            let (is, was) = (shown(documents.1, is), shown(documents.0, was));
            told.push(match path {
                // The ends of a wire.
                "from" | "to" => format!("now goes {path} {is}, was {was}"),
                path => format!("{path} is {is}, was {was}"),
            });
        }
    }
}

/// The field that holds the origins of a record's other values.
pub(super) const ORIGINS: &str = "origins";

/// True if a record's origins, if it has any, are words.
fn are_origins(record: &Map<String, Value>) -> bool {
    let words = |it: &Value| {
        it.as_object()
            .is_some_and(|it| it.values().all(Value::is_string))
    };
    record.get(ORIGINS).is_none_or(words)
}

/// An origin as a person reads it.
fn origin(word: &Value) -> Option<&'static str> {
    read::<ValueOrigin>(word).ok().map(ValueOrigin::word)
}

/// True if every entry has its own id.
pub(super) fn are_parts(list: &[Value]) -> bool {
    list.iter().all(|it| part_id(it).is_some())
}

/// The id of an entry of a list of parts.
pub(super) fn part_id(value: &Value) -> Option<&str> {
    value.as_object()?.get("id")?.as_str()
}

/// A field's name in words: `gauge_awg` is "gauge (AWG)", `colour` is "color".
pub(super) fn spoken(name: &str) -> String {
    let unit = [
        "_mm", "_kg", "_m", "_v", "_a", "_ah", "_ohm", "_c", "_min", "_awg", "_s", "_h", "_ft",
    ];
    for ending in unit {
        if let Some(stem) = name.strip_suffix(ending) {
            let unit = match &ending[1..] {
                "v" => "V",
                "a" => "A",
                "ah" => "Ah",
                "c" => "°C",
                "awg" => "AWG",
                unit => unit,
            };
            return format!("{} ({unit})", stem.replace('_', " "));
        }
    }
    name.replace('_', " ").replace("colour", "color")
}

/// A value as a person reads it: an end by its label, a missing value as "not set".
pub(super) fn shown(document: &Document, value: Option<&Value>) -> String {
    match value {
        None | Some(Value::Null) => "not set".into(),
        Some(Value::String(text)) if text.is_empty() => "empty".into(),
        Some(Value::String(text)) => match text.parse::<End>() {
            Ok(end) if text.contains(':') || text == "open" => document.end_label(&end),
            _ => text.clone(),
        },
        Some(Value::Bool(true)) => "yes".into(),
        Some(Value::Bool(false)) => "no".into(),
        Some(Value::Array(list)) if list.iter().all(Value::is_string) => {
            let texts = list.iter().filter_map(Value::as_str);
            let texts: Vec<&str> = texts.collect();
            if texts.is_empty() {
                "none".into()
            } else {
                texts.join(", ")
            }
        }
        Some(other) => {
            let text = other.to_string();
            let short: String = text.chars().take(60).collect();
            if short.len() < text.len() {
                short + "…"
            } else {
                short
            }
        }
    }
}

/// A whole document as a tree.
pub(super) fn whole(document: &Document) -> Value {
    let text = json(document);
    serde_json::from_slice(text.as_bytes()).unwrap_or(Value::Null)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;

    const BEFORE: &str = "
        bus MBUS CB12=5 CB13=5
        load LT1 1
        wire P30A18 MBUS.CB13 LT1.+ 18 2.9m";

    fn words(after: &str) -> Vec<String> {
        let all = compare(&document(BEFORE), &document(after));
        all.iter().map(Difference::words).collect()
    }

    #[test]
    fn a_change_is_told_in_a_builders_words() {
        assert_eq!(
            words(
                "bus MBUS CB12=5 CB13=5
                 load LT1 1
                 wire P30A18 MBUS.CB12 LT1.+ 16 2.9m"
            ),
            ["wire P30A18: to is …"].map(|_| {
                "wire P30A18: now goes from MBUS CB12, was MBUS CB13; gauge (AWG) is 16, was 18"
                    .to_owned()
            })
        );
        assert_eq!(
            words("bus MBUS CB12=5 CB13=5\nload LT1 1"),
            ["wire P30A18 removed"]
        );
        assert_eq!(
            words(&format!("{BEFORE}\nwire W2 LT1.- open")),
            ["wire W2 added"]
        );
        let told = words(&BEFORE.replace("CB13=5", "CB13=15"));
        assert_eq!(
            told,
            ["device MBUS: elements CB13 is protector rating (A) is 15.0, was 5.0"]
        );
        assert_eq!(words(BEFORE), Vec::<String>::new());
    }
}
