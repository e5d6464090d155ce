//! Three-way merge of what two builders changed since they last had the same project.
//!
//! Edits of different records and fields merge without a question. If both changed the same field
//! to different values, ours stays and the conflict is reported with all three values. The result
//! is always a valid document: a reference to a record that the other side deleted is removed, as
//! if you deleted that record by hand.

use crate::order::InOrder;
use serde_json::{Map, Value};

use super::compare::{ORIGINS, are_parts, kind_words, part_id, shown, spoken, whole};
use crate::{
    document::{Document, Sheet, invariants, read::read},
    edit::{self, Key},
    ids::{ItemId, SheetId},
    order::Sorted,
};

/// Two documents merge into something that is not a valid document.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {why}; merge these two by hand")]
pub struct MergeError {
    /// The field.
    pub path: String,
    /// What is wrong.
    pub why: String,
}

/// A field that both sides changed to different values.
#[derive(Clone, Debug, PartialEq)]
pub struct Conflict {
    /// The record, if the field is in one.
    pub key: Option<Key>,
    /// The field: `wires.w12.gauge_awg`.
    pub path: String,
    /// The common value, as in the file; `None` if there was none.
    pub base: Option<Value>,
    /// Our value; `None` if we removed it. It stays, unless we removed what they changed.
    pub ours: Option<Value>,
    /// Their value.
    pub theirs: Option<Value>,
}

impl Conflict {
    /// In one line: "wire P30A18, length (m): mine 3.0, other 3.1, common 2.9".
    pub fn words(&self, ours: &Document) -> String {
        let name = match &self.key {
            Some(key) => format!("{} {}", kind_words(key), ours.key_label(key)),
            None => String::new(),
        };
        // After the map and the record's key, or after "project".
        let before = if self.key == Some(Key::Project) { 1 } else { 2 };
        let fields: Vec<String> = self.path.split('.').skip(before).map(spoken).collect();
        let field = if fields.is_empty() {
            "the whole record".into()
        } else {
            fields.join(" ")
        };
        let [here, there] = [&self.ours, &self.theirs].map(|it| shown(ours, it.as_ref()));
        let was = match &self.base {
            Some(base) => format!(", common {}", shown(ours, Some(base))),
            None => String::new(),
        };
        format!("{name}, {field}: mine {here}, other {there}{was}")
    }
}

/// The result of a merge.
#[derive(Clone, Debug, PartialEq)]
pub struct Merged {
    /// The merged document.
    pub document: Document,
    /// The fields where ours and theirs conflict.
    pub conflicts: Vec<Conflict>,
}

/// Merges our changes and their changes of `base`.
///
/// # Errors
/// [`MergeError`] if fields of both sides do not form a valid record, such as a field that its kind
/// does not have.
pub fn merge(base: &Document, ours: &Document, theirs: &Document) -> Result<Merged, MergeError> {
    merge_by(Some(base), ours, theirs, &Sorted::new())
}

/// The same, with their values in the fields named by path, and with or without a common base.
/// Without one, every differing field is a conflict, and records of only one side are kept.
///
/// # Errors
/// As [`merge`].
pub fn merge_by(
    base: Option<&Document>,
    ours: &Document,
    theirs: &Document,
    take_theirs: &Sorted<String>,
) -> Result<Merged, MergeError> {
    let nothing = Document::default();
    let (ours, theirs) = match base {
        Some(base) => apart(base, ours, theirs),
        // Without a base, one key is one record.
        None => (ours.clone(), theirs.clone()),
    };
    let base = base.unwrap_or(&nothing);
    let mut merging = Merging {
        conflicts: Vec::new(),
        take_theirs,
    };
    let trees = [base, &ours, &theirs].map(whole);
    let merged = put(
        "",
        [Some(&trees[0]), Some(&trees[1]), Some(&trees[2])],
        &mut merging,
    );
    let mut conflicts = merging.conflicts;
    let document = from_tree(&merged.unwrap_or(Value::Null))?;
    let document = sound(
        edit::settled(document),
        (base, &ours, &theirs),
        &mut conflicts,
    );
    Ok(Merged {
        document,
        conflicts,
    })
}

/// A record that fields of both sides make invalid (a wire in two cables, a switch at rest in a
/// deleted position) gets our values; if we do not have the record, it is removed.
fn sound(
    mut document: Document,
    (base, ours, theirs): (&Document, &Document, &Document),
    conflicts: &mut Vec<Conflict>,
) -> Document {
    for _ in 0..MOST_MENDS {
        let Some(broken) = invariants::broken(&document).into_iter().next() else {
            return document;
        };
        let key = key_of(&broken.path);
        let record = |document: &Document| {
            let record = document.record(key.as_ref()?)?;
            serde_json::from_slice(super::json(&record).as_bytes()).ok()
        };
        let Some(found) = &key else { break };
        let mine = ours.record(found);
        if mine == document.record(found) {
            // Our record does not fit their other changes: remove it.
            document.put(found, None);
        } else {
            document.put(found, mine);
        }
        conflicts.push(Conflict {
            key: key.clone(),
            path: broken.path,
            base: record(base),
            ours: record(ours),
            theirs: record(theirs),
        });
        document = edit::settled(document);
    }
    match invariants::broken(&document).is_empty() {
        true => document,
        false => ours.clone(),
    }
}

/// How many records may be restored before our whole document is used.
const MOST_MENDS: usize = 200;

/// Both sides, with new keys for different new records that got the same key. Which of two is
/// renamed does not depend on whose it is.
fn apart(base: &Document, ours: &Document, theirs: &Document) -> (Document, Document) {
    let (mut ours, mut theirs) = (ours.clone(), theirs.clone());
    let keys = ours.keys();
    for key in keys {
        let (Some(a), Some(b)) = (ours.record(&key), theirs.record(&key)) else {
            continue;
        };
        if a == b || base.record(&key).is_some() || key == Key::Project {
            continue;
        }
        let taken = |id: &str| {
            [base, &ours, &theirs]
                .iter()
                .any(|it| Key::parse(key.kind(), id).is_some_and(|key| it.record(&key).is_some()))
        };
        let id = edit::free::text(key.id(), taken);
        let ours_first = super::json(&a) <= super::json(&b);
        let renamed = if ours_first { &mut theirs } else { &mut ours };
        edit::rekey(renamed, &key, &id);
    }
    let sheets: Vec<SheetId> = ours.sheets.keys().cloned().collect();
    for id in sheets {
        let was = base.sheets.get(&id);
        let (Some(a), Some(b)) = (ours.sheets.get_mut(&id), theirs.sheets.get_mut(&id)) else {
            continue;
        };
        items_apart(was, a, b);
    }
    (ours, theirs)
}

fn items_apart(base: Option<&Sheet>, ours: &mut Sheet, theirs: &mut Sheet) {
    let ids: Vec<ItemId> = ours.items.keys().cloned().collect();
    for id in ids {
        let is_known = base.is_some_and(|sheet| sheet.items.contains_key(&id));
        let (Some(a), Some(b)) = (ours.items.get(&id), theirs.items.get(&id)) else {
            continue;
        };
        if is_known || a.shows == b.shows {
            continue;
        }
        let taken = |text: &str| {
            let known = base.is_some_and(|sheet| sheet.items.contains_key(text));
            known || ours.items.contains_key(text) || theirs.items.contains_key(text)
        };
        let new = ItemId::from(edit::free::text(id.as_str(), taken));
        let renamed = match super::json(a) <= super::json(b) {
            true => &mut *theirs,
            false => &mut *ours,
        };
        if let Some(item) = renamed.items.remove(&id) {
            renamed.items.insert(new, item);
        }
    }
}

/// What a merge collects, and earlier decisions.
struct Merging<'t> {
    conflicts: Vec<Conflict>,
    take_theirs: &'t Sorted<String>,
}

/// One value of three.
fn put(
    path: &str,
    [base, ours, theirs]: [Option<&Value>; 3],
    out: &mut Merging<'_>,
) -> Option<Value> {
    if ours == theirs || theirs == base {
        return ours.cloned();
    }
    if ours == base {
        return theirs.cloned();
    }
    match (ours, theirs) {
        (Some(Value::Object(a)), Some(Value::Object(b))) if is_same_thing(a, b) => {
            let empty = Map::new();
            let was = base.and_then(Value::as_object).unwrap_or(&empty);
            let mut names: Vec<&String> = a.keys().chain(b.keys()).collect();
            names.order();
            names.dedup();
            let mut merged = Map::new();
            for name in names.into_iter().filter(|name| *name != ORIGINS) {
                let three = [was.get(name), a.get(name), b.get(name)];
                if let Some(value) = put(&deeper(path, name), three, out) {
                    merged.insert(name.clone(), value);
                }
            }
            let origins = origins(&merged, [was, a, b]);
            if !origins.is_empty() {
                merged.insert(ORIGINS.into(), Value::Object(origins));
            }
            Some(Value::Object(merged))
        }
        (Some(Value::Array(a)), Some(Value::Array(b))) if are_parts(a) && are_parts(b) => {
            let was = base.and_then(Value::as_array).filter(|it| are_parts(it));
            Some(Value::Array(parts(
                path,
                was.map_or(&[], Vec::as_slice),
                a,
                b,
                out,
            )))
        }
        _ => {
            out.conflicts.push(Conflict {
                key: key_of(path),
                path: path.to_owned(),
                base: base.cloned(),
                ours: ours.cloned(),
                theirs: theirs.cloned(),
            });
            match out.take_theirs.contains(path) {
                true => theirs.or(ours).cloned(),
                false => ours.or(theirs).cloned(),
            }
        }
    }
}

/// The origins of merged values: each goes with the value that was taken. Where both sides have the same value, what
/// one of them changed counts, and of two changes the one that says more.
fn origins(
    merged: &Map<String, Value>,
    [base, ours, theirs]: [&Map<String, Value>; 3],
) -> Map<String, Value> {
    let of = |side: &Map<String, Value>, field: &str| side.get(ORIGINS)?.get(field).cloned();
    let all = [ours, theirs]
        .into_iter()
        .filter_map(|side| side.get(ORIGINS)?.as_object());
    let mut fields: Vec<&String> = all.flat_map(Map::keys).collect();
    fields.order();
    fields.dedup();
    let mut origins = Map::new();
    for field in fields {
        let [was, a, b] = [base, ours, theirs].map(|side| of(side, field));
        let value = merged.get(field);
        let taken = match (value == ours.get(field), value == theirs.get(field)) {
            (true, true) if a == was => b,
            (true, true) if b == was => a,
            (true, true) => {
                let text = |it: &Option<Value>| it.as_ref().map(Value::to_string);
                if text(&a) < text(&b) { b } else { a }
            }
            (false, true) => b,
            _ => a,
        };
        if let Some(origin) = taken {
            origins.insert(field.clone(), origin);
        }
    }
    origins
}

/// False for two values of different kinds, which share no fields: `{"load": …}` and `{"coil": …}`.
fn is_same_thing(a: &Map<String, Value>, b: &Map<String, Value>) -> bool {
    let one = |map: &Map<String, Value>| {
        (map.len() == 1)
            .then(|| map.keys().next().cloned())
            .flatten()
    };
    match (one(a), one(b)) {
        (Some(x), Some(y)) => x == y,
        _ => true,
    }
}

/// Lists of parts: existing parts in their order, then new ones by id.
fn parts(
    path: &str,
    base: &[Value],
    ours: &[Value],
    theirs: &[Value],
    out: &mut Merging<'_>,
) -> Vec<Value> {
    let find = |list: &[Value], id: &str| list.iter().find(|it| part_id(it) == Some(id)).cloned();
    let ids = |list: &[Value]| -> Vec<String> {
        list.iter().filter_map(part_id).map(str::to_owned).collect()
    };
    // If only one side changed the order, that order is used.
    let order = |list: &[Value]| -> Vec<String> {
        ids(list)
            .into_iter()
            .filter(|id| find(base, id).is_some())
            .collect()
    };
    let kept_order = |list: &[Value]| -> Vec<String> {
        ids(base)
            .into_iter()
            .filter(|id| find(list, id).is_some())
            .collect()
    };
    let mut all = match order(ours) == kept_order(ours) {
        true => order(theirs),
        false => order(ours),
    };
    let known: Sorted<String> = all.iter().cloned().collect();
    all.extend(ids(base).into_iter().filter(|id| !known.contains(id)));
    let mut new: Vec<String> = ids(ours);
    new.extend(ids(theirs));
    new.retain(|id| find(base, id).is_none());
    new.order();
    new.dedup();
    all.extend(new);
    let one = |id: String| {
        let three = [find(base, &id), find(ours, &id), find(theirs, &id)];
        let three = [three[0].as_ref(), three[1].as_ref(), three[2].as_ref()];
        put(&deeper(path, &id), three, out)
    };
    all.into_iter().filter_map(one).collect()
}

fn deeper(path: &str, name: &str) -> String {
    match path {
        "" => name.to_owned(),
        path => format!("{path}.{name}"),
    }
}

/// The record that a field is in: `wires.w12.gauge_awg` is in wire w12.
fn key_of(path: &str) -> Option<Key> {
    if path.starts_with("project") {
        return Some(Key::Project);
    }
    let (map, rest) = path.split_once('.')?;
    let kind = match map {
        "log" | "accepted" => map,
        map => map.strip_suffix('s')?,
    };
    let id = rest.split('.').next()?;
    Key::parse(kind, id)
}

/// The document of a tree that was made from documents.
pub(super) fn from_tree(tree: &Value) -> Result<Document, MergeError> {
    read(tree).map_err(|fault| MergeError {
        path: fault.path,
        why: fault.why,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        edit::Change,
        testing::{
            arbitrary::{self, Dice, EDITS},
            document, whole,
        },
    };

    const BASE: &str = "
        bus MBUS CB12=5 CB13=5
        load LT1 1
        load LT2 1
        wire P30A18 MBUS.CB13 LT1.+ 18 2.9m
        wire P31A18 MBUS.CB12 LT2.+ 18 1.0m";

    /// The base with one change.
    fn with(change: impl FnOnce(&mut Document)) -> Document {
        let mut document = document(BASE);
        change(&mut document);
        document
    }

    fn wire<'d>(document: &'d mut Document, id: &str) -> &'d mut crate::document::Wire {
        document.wires.get_mut(id).expect("a wire")
    }

    #[test]
    fn edits_of_different_fields_are_both_kept() {
        let ours = with(|it| wire(it, "P30A18").colour = "red".into());
        let theirs = with(|it| wire(it, "P30A18").length_m = Some(3.1));
        let merged = merge(&document(BASE), &ours, &theirs).expect("sound");
        assert_eq!(merged.conflicts, []);
        let kept = &merged.document.wires["P30A18"];
        assert_eq!((&*kept.colour, kept.length_m), ("red", Some(3.1)));
    }

    #[test]
    fn the_same_field_is_told_with_all_three_values() {
        let ours = with(|it| wire(it, "P30A18").length_m = Some(3.0));
        let theirs = with(|it| wire(it, "P30A18").length_m = Some(3.1));
        let merged = merge(&document(BASE), &ours, &theirs).expect("sound");
        let [conflict] = merged.conflicts.as_slice() else {
            panic!("one conflict: {:?}", merged.conflicts)
        };
        assert_eq!(conflict.path, "wires.P30A18.length_m");
        assert_eq!(merged.document.wires["P30A18"].length_m, Some(3.0));
        let told = conflict.words(&ours);
        assert!(told.contains("mine 3.0, other 3.1, common 2.9"), "{told}");
    }

    #[test]
    fn theirs_stands_where_it_is_chosen_and_without_a_beginning_all_is_asked() {
        let ours = with(|it| wire(it, "P30A18").length_m = Some(3.0));
        let theirs = with(|it| {
            wire(it, "P30A18").length_m = Some(3.1);
            wire(it, "P31A18").colour = "blue".into();
        });
        let take = Sorted::from(["wires.P30A18.length_m".to_owned()]);
        let base = document(BASE);
        let merged = merge_by(Some(&base), &ours, &theirs, &take).expect("sound");
        assert_eq!(merged.document.wires["P30A18"].length_m, Some(3.1));
        let alone = document(&format!("{BASE}\nwire W9 LT1.- open 22 1m"));
        let merged = merge_by(None, &alone, &theirs, &Sorted::new()).expect("sound");
        assert_eq!(
            (merged.conflicts.len(), merged.document.wires.len()),
            (2, 3)
        );
    }

    #[test]
    fn two_new_wires_under_one_key_are_both_kept() {
        let add = |text: &str| document(&format!("{BASE}\n{text}"));
        let ours = add("wire W9 LT1.- open 22 1m");
        let theirs = add("wire W9 LT2.- open 20 2m");
        let merged = merge(&document(BASE), &ours, &theirs).expect("sound");
        assert_eq!(
            (merged.conflicts.len(), merged.document.wires.len()),
            (0, 4)
        );
        let again = merge(&document(BASE), &theirs, &ours).expect("sound");
        assert_eq!(
            again.document, merged.document,
            "whoever merges gets the same"
        );
    }

    #[test]
    fn a_wire_to_a_device_that_they_took_out_is_let_go() {
        let ours = document(&format!("{BASE}\nwire W9 LT2.- MBUS.STUD 22 1m"));
        let mut theirs = document(BASE);
        let gone = edit::delete(&theirs, &[Key::Device("LT2".into())]).expect("it is there");
        gone.apply(&mut theirs).expect("made for it");
        let merged = merge(&document(BASE), &ours, &theirs).expect("sound");
        assert_eq!(invariants::broken(&merged.document), []);
        assert_eq!(merged.document.wires["W9"].from, crate::document::End::Open);
    }

    /// Some edits of a document, as a person makes them.
    fn edited(base: &Document, seed: u64, edits: usize) -> Document {
        let mut dice = Dice::new(seed);
        let mut document = base.clone();
        for _ in 0..edits {
            let which = dice.below(EDITS);
            if let Some(Ok(change)) = arbitrary::edit(&document, which, &mut dice) {
                let _ = change.apply(&mut document);
            }
        }
        document
    }

    /// Ten thousand random pairs: merging with oneself or with what did not change changes nothing,
    /// the result is sound and commutes where nothing conflicts, and what only one side changed is
    /// in it. LOOMWRIGHT_PAIRS sets another number.
    #[test]
    fn merging_random_pairs_keeps_its_promises() {
        let base = whole();
        let (mut quiet, mut loud) = (0, 0);
        let pairs = std::env::var("LOOMWRIGHT_PAIRS")
            .ok()
            .and_then(|it| it.parse().ok());
        let pairs: u64 = pairs.unwrap_or(10_000);
        for seed in 0..pairs {
            let ours = edited(&base, 2 * seed, 1 + (seed % 3) as usize);
            let theirs = edited(&base, 2 * seed + 1, 1 + (seed % 4) as usize);
            if seed % 10 == 0 {
                let same = merge(&base, &ours, &ours).expect("sound");
                assert_eq!((same.conflicts.len(), &same.document), (0, &ours), "{seed}");
                let mine = merge(&base, &ours, &base).expect("sound");
                assert_eq!((mine.conflicts.len(), &mine.document), (0, &ours), "{seed}");
                let other = merge(&base, &base, &theirs).expect("sound");
                assert_eq!(
                    (other.conflicts.len(), &other.document),
                    (0, &theirs),
                    "{seed}"
                );
            }
            let merged = merge(&base, &ours, &theirs).expect("sound");
            assert_eq!(invariants::broken(&merged.document), [], "{seed}");
            if !merged.conflicts.is_empty() {
                loud += 1;
                continue;
            }
            quiet += 1;
            let turned = merge(&base, &theirs, &ours).expect("sound");
            assert_eq!(turned.conflicts, [], "{seed}");
            assert_eq!(turned.document, merged.document, "{seed}");
            // No edit is lost: a record that only one side changed has that side's values, unless
            // the other side deleted what it refers to.
            let (ours, theirs) = apart(&base, &ours, &theirs);
            let (a, b) = (
                Change::between(&base, &ours),
                Change::between(&base, &theirs),
            );
            for (one, other, side) in [(&a, &b, &ours), (&b, &a, &theirs)] {
                let alone = |key: &&Key| !other.steps().contains_key(*key);
                let mut expected = merged.document.clone();
                for key in one.steps().keys().filter(alone) {
                    expected.put(key, side.record(key));
                }
                assert_eq!(merged.document, edit::settled(expected), "{seed}");
            }
        }
        assert!(
            quiet > pairs / 2 && loud > pairs / 100,
            "{quiet} quiet, {loud} loud"
        );
    }
}
