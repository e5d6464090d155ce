//! Revisions: the history that a file carries, restoring one, and the newest one that two files
//! share.

use crate::order::InOrder;
use std::cmp::Reverse;

use serde_json::Value;
use sha2::{Digest, Sha256};

use super::{
    compare::whole,
    merge::from_tree,
    packed::{UnpackError, pack, unpack},
};
use crate::{
    document::{Document, Extra, Revision, RevisionMark, invariants},
    edit::{Change, Key, Record},
    ids::RevisionId,
    order::{Map, Sorted},
};

/// Letters in one piece of a revision's content: well below the text limit of a file.
const PIECE: usize = 8_000;
/// Bytes of a key: half of the digest, so two revisions never share one by chance.
const KEY_BYTES: usize = 16;
/// Longest chain of differences. Beyond it a revision is stored in full, and no longer chain is
/// read.
const MOST_STEPS: usize = 50;

/// A revision that cannot be shown.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RevisionError {
    /// It, or a revision that it is stored against, is not in the file.
    #[error("version {0} is not in this file")]
    Missing(RevisionId),
    /// Its content cannot be read.
    #[error("version {id}: {why}")]
    Unreadable {
        /// Which.
        id: RevisionId,
        /// Why.
        why: String,
    },
    /// Its content does not match its key.
    #[error("version {0} was changed after it was saved; it is not shown")]
    Changed(RevisionId),
}

/// Who keeps a revision, when and why.
#[derive(Clone, Copy, Debug)]
pub struct RevisionNote<'a> {
    /// Who.
    pub who: &'a str,
    /// Date, YYYY-MM-DD.
    pub date: &'a str,
    /// Why.
    pub reason: &'a str,
    /// What it marks.
    pub mark: Option<RevisionMark>,
}

/// Saves the present project as a revision.
pub fn keep(document: &Document, kept: RevisionNote<'_>) -> Change {
    let parents = heads(document);
    let now = without_revisions(document);
    let text = text(&now);
    let whole = pack(&text);
    let told = parents.iter().find_map(|parent| {
        let steps = chain(document, parent).ok()?.len();
        let before = content(document, parent).ok()?;
        let delta = pack(&delta(&before, &now)?);
        // A difference as large as the project is stored as the full project.
        (steps < MOST_STEPS && delta.len() < whole.len() / 2).then(|| (parent.clone(), delta))
    });
    let (against, packed) = match told {
        Some((parent, delta)) => (Some(parent), delta),
        None => (None, whole),
    };
    let pieces = packed.as_bytes().chunks(PIECE);
    let revision = Revision {
        date: kept.date.into(),
        who: kept.who.trim().into(),
        reason: kept.reason.trim().into(),
        name: String::new(),
        mark: kept.mark,
        parents,
        against,
        content: pieces
            .map(|piece| String::from_utf8_lossy(piece).into_owned())
            .collect(),
        extra: Extra::new(),
    };
    let id = key(&revision, &text);
    Change::set(
        document,
        Key::Revision(id),
        Some(Record::Revision(revision)),
    )
}

/// The project at a revision, without revisions.
///
/// # Errors
/// [`RevisionError`]: files can come from anywhere, and a revision that was altered is not shown.
pub fn content(document: &Document, id: &RevisionId) -> Result<Document, RevisionError> {
    let mut steps = chain(document, id)?;
    let unreadable = |id: &RevisionId, why: String| RevisionError::Unreadable {
        id: id.clone(),
        why,
    };
    let packed = |id: &RevisionId, revision: &Revision| {
        unpack(&revision.content.concat())
            .map_err(|why: UnpackError| unreadable(id, why.to_string()))
    };
    let Some((first, revision)) = steps.pop() else {
        return Err(RevisionError::Missing(id.clone()));
    };
    let mut now = super::open(packed(first, revision)?.as_bytes())
        .map_err(|why| unreadable(first, why.to_string()))?
        .document;
    if !steps.is_empty() {
        let mut tree = whole(&now);
        for (id, revision) in steps.into_iter().rev() {
            let delta = serde_json::from_slice(packed(id, revision)?.as_bytes());
            let delta: Value = delta.map_err(|why| unreadable(id, why.to_string()))?;
            apply(&mut tree, delta);
        }
        now = from_tree(&tree).map_err(|why| unreadable(id, why.to_string()))?;
    }
    let wanted = document.revisions.get(id).map(|it| key(it, &text(&now)));
    if wanted.as_ref() != Some(id) {
        return Err(RevisionError::Changed(id.clone()));
    }
    match invariants::broken(&now).first() {
        None => Ok(now),
        Some(broken) => Err(unreadable(id, format!("{}: {}", broken.path, broken.why))),
    }
}

/// The change that restores the project to a revision. All revisions stay.
///
/// # Errors
/// As [`content`].
pub fn back_to(document: &Document, id: &RevisionId) -> Result<Change, RevisionError> {
    let before = content(document, id)?;
    Ok(back_to_content(document, before))
}

/// The change that restores the project and keeps its present revisions.
pub fn back_to_content(document: &Document, before: Document) -> Change {
    let before = Document {
        revisions: document.revisions.clone(),
        ..before
    };
    Change::between(document, &before)
}

/// The project at a revision, and at another one or now: their differences are what changed in
/// between.
///
/// # Errors
/// As [`content`].
pub fn two(
    document: &Document,
    since: &RevisionId,
    until: Option<&RevisionId>,
) -> Result<[Document; 2], RevisionError> {
    let after = match until {
        Some(until) => content(document, until)?,
        None => without_revisions(document),
    };
    Ok([content(document, since)?, after])
}

/// The newest common revision: one from which no other common one came.
pub fn common(ours: &Document, theirs: &Document) -> Option<RevisionId> {
    let shared = |id: &&RevisionId| theirs.revisions.contains_key(*id);
    let ages = ages(ours);
    let all = ours.revisions.keys().filter(shared);
    // The choice between two candidates must not depend on whose file it is.
    all.max_by_key(|id| (ages.get(*id), *id)).cloned()
}

/// The revisions that no other came from, in the order of their keys.
pub fn heads(document: &Document) -> Vec<RevisionId> {
    let parents: Sorted<&RevisionId> = document
        .revisions
        .values()
        .flat_map(|it| &it.parents)
        .collect();
    let is_head = |id: &&RevisionId| !parents.contains(id);
    document.revisions.keys().filter(is_head).cloned().collect()
}

/// All revisions, newest first: each before its parents.
pub fn newest_first(document: &Document) -> Vec<&RevisionId> {
    let mut all: Vec<&RevisionId> = document.revisions.keys().collect();
    let ages = ages(document);
    all.order_by_key(|id| (Reverse(ages.get(*id)), *id));
    all
}

/// How many revisions precede each, along the longest path. In a malicious file a revision may come
/// from itself: it has no age.
fn ages(document: &Document) -> Map<&RevisionId, usize> {
    let mut came: Map<&RevisionId, Vec<&RevisionId>> = Map::new();
    let mut waits: Map<&RevisionId, usize> = Map::new();
    for (id, revision) in &document.revisions {
        let known = |parent: &&RevisionId| document.revisions.contains_key(*parent);
        let parents = revision.parents.iter().filter(known);
        waits.insert(id, parents.clone().count());
        for parent in parents {
            came.or_default(parent).push(id);
        }
    }
    let first = waits.iter().filter(|(_, waits)| **waits == 0);
    let mut open: Vec<&RevisionId> = first.map(|(id, _)| *id).collect();
    let mut ages: Map<&RevisionId, usize> = open.iter().map(|id| (*id, 0)).collect();
    while let Some(id) = open.pop() {
        let age = ages.get(id).map_or(0, |age| age + 1);
        for child in came.get(id).into_iter().flatten().copied() {
            let best = ages.or_default(child);
            *best = age.max(*best);
            let left = waits.or_default(child);
            *left -= 1;
            if *left == 0 {
                open.push(child);
            }
        }
    }
    ages
}

/// A revision and those that it is stored against, down to one stored in full.
fn chain<'d>(
    document: &'d Document,
    id: &'d RevisionId,
) -> Result<Vec<(&'d RevisionId, &'d Revision)>, RevisionError> {
    let mut steps: Vec<(&RevisionId, &Revision)> = Vec::new();
    let mut next = Some(id);
    while let Some(id) = next {
        let revision = document.revisions.get(id);
        let revision = revision.ok_or_else(|| RevisionError::Missing(id.clone()))?;
        if steps.len() == MOST_STEPS {
            return Err(RevisionError::Unreadable {
                id: id.clone(),
                why: "it refers to itself, or to a chain of too many others".into(),
            });
        }
        steps.push((id, revision));
        next = revision.against.as_ref();
    }
    Ok(steps)
}

/// Which version the present project is, in words for the pages of a paper: "version First flight, 3f2a10c9be47", or
/// that it has changed since the newest one.
pub fn in_words(document: &Document) -> String {
    let Some(id) = newest_first(document).first().copied() else {
        return "no version kept".into();
    };
    let Some(revision) = document.revisions.get(id) else {
        return "no version kept".into();
    };
    let name = match revision.name.as_str() {
        "" => format!("of {}", revision.date),
        name => name.into(),
    };
    // As in the list of versions: the first letters of the key identify it on paper.
    let letters: String = id.as_str().chars().take(12).collect();
    let is_same = key(revision, &text(&without_revisions(document))) == *id;
    let changed = if is_same { "" } else { "changed since " };
    format!("{changed}version {name}, {letters}")
}

fn without_revisions(document: &Document) -> Document {
    Document {
        revisions: Map::new(),
        ..document.clone()
    }
}

fn text(document: &Document) -> String {
    String::from_utf8(super::save(document)).unwrap_or_default()
}

/// The difference between two projects, as a file's tree with only the differing records and `null`
/// for removed ones; `None` if more than records differ.
fn delta(before: &Document, after: &Document) -> Option<String> {
    if before.extra != after.extra {
        return None;
    }
    let (before, after) = (whole(before), whole(after));
    let (before, after) = (before.as_object()?, after.as_object()?);
    let mut fields = serde_json::Map::new();
    for (field, is) in after {
        let was = before.get(field).unwrap_or(&Value::Null);
        if was == is {
            continue;
        }
        let (Some(was), Some(is)) = (was.as_object(), is.as_object()) else {
            return None;
        };
        let ids = was.keys().chain(is.keys());
        let differs = ids.filter(|id| was.get(*id) != is.get(*id));
        let record = |id: &String| (id.clone(), is.get(id).cloned().unwrap_or(Value::Null));
        fields.insert(field.clone(), differs.map(record).collect());
    }
    Some(super::json(&Value::Object(fields)))
}

/// Applies a difference made by [`delta`].
fn apply(tree: &mut Value, delta: Value) {
    let Value::Object(delta) = delta else { return };
    for (field, records) in delta {
        let (Value::Object(records), Some(there)) =
            (records, tree.get_mut(&field).and_then(Value::as_object_mut))
        else {
            continue;
        };
        for (id, record) in records {
            match record {
                Value::Null => there.remove(&id),
                record => there.insert(id, record),
            };
        }
    }
}

/// The key of a revision: a digest (SHA-256, FIPS 180-4) of its parents, who, when, why, and the
/// project. Its name and mark may be set later.
fn key(revision: &Revision, text: &str) -> RevisionId {
    let mut digest = Sha256::new();
    let mut put = |part: &str| {
        digest.update((part.len() as u64).to_le_bytes());
        digest.update(part.as_bytes());
    };
    put(&revision.parents.len().to_string());
    for parent in &revision.parents {
        put(parent.as_str());
    }
    for part in [&*revision.date, &*revision.who, &*revision.reason, text] {
        put(part);
    }
    let bytes = digest.finalize();
    let letters: String = bytes[..KEY_BYTES]
        .iter()
        .map(|it| format!("{it:02x}"))
        .collect();
    letters.into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exchange::compare::compare;
    use crate::{
        exchange::{merge::merge_by, open, save},
        testing::{aircraft, arbitrary, document, whole},
    };

    const KEPT: RevisionNote<'_> = RevisionNote {
        who: "ME",
        date: "2026-03-01",
        reason: "Before the radio",
        mark: None,
    };

    fn kept(document: &mut Document, reason: &str) -> RevisionId {
        let change = keep(document, RevisionNote { reason, ..KEPT });
        let id = change.added().next().expect("one record").id().into();
        change.apply(document).expect("made for it");
        id
    }

    fn longer(document: &mut Document, m: f64) {
        let wire = document.wires.values_mut().next().expect("a wire");
        wire.length_m = Some(m);
    }

    #[test]
    fn every_revision_can_be_gone_back_to_through_the_file() {
        let mut document = aircraft(60);
        let mut were = Vec::new();
        for n in 0..6 {
            longer(&mut document, f64::from(n) + 0.5);
            let id = kept(&mut document, &format!("step {n}"));
            were.push((id, without_revisions(&document)));
        }
        let document = open(&save(&document)).expect("our own file").document;
        assert_eq!(document.revisions.len(), 6);
        for (id, was) in &were {
            assert!(content(&document, id).as_ref() == Ok(was), "{id:?}");
            let change = back_to(&document, id).expect("it is whole");
            let back = change.applied(&document).expect("made for it");
            assert!(without_revisions(&back) == *was);
            assert_eq!(back.revisions.len(), 6);
        }
        assert_eq!(newest_first(&document)[0], &were[5].0);
        assert_eq!(heads(&document), [were[5].0.clone()]);
        let [then, now] = two(&document, &were[0].0, None).expect("it is whole");
        let told = compare(&then, &now);
        assert_eq!(told.len(), 1);
        // Later revisions are stored as differences, which are small.
        let size = |id: &RevisionId| document.revisions[id].content.concat().len();
        assert!(size(&were[1].0) * 20 < size(&were[0].0));
    }

    #[test]
    fn keeping_the_same_again_is_told_by_its_own_key() {
        let mut document = document("load LT1 1");
        let a = kept(&mut document, "a");
        let b = kept(&mut document, "a");
        assert_ne!(a, b);
        assert_eq!(document.revisions[&b].parents, [a]);
    }

    #[test]
    fn what_was_changed_after_it_was_kept_is_not_shown() {
        let mut document = document("load LT1 1");
        let first = kept(&mut document, "a");
        document.project.title = "Longer".into();
        let second = kept(&mut document, "b");
        let with = |change: &dyn Fn(&mut Document)| {
            let mut document = document.clone();
            change(&mut document);
            content(&document, &second)
        };
        let changed = with(&|it| {
            it.revisions.get_mut(&second).expect("kept").reason = "c".into();
        });
        assert_eq!(changed, Err(RevisionError::Changed(second.clone())));
        let gone = with(&|it| drop(it.revisions.remove(&first)));
        assert!(gone.is_err());
        let damaged = with(&|it| {
            it.revisions.get_mut(&first).expect("kept").content[0].pop();
        });
        assert!(matches!(damaged, Err(RevisionError::Unreadable { .. })));
        let other = with(&|it| {
            let text = pack("{\"wires\": {\"w1\": {\"log\": 1}}}");
            let it = it.revisions.get_mut(&second).expect("kept");
            it.content = vec![text];
            it.against = Some(first.clone());
        });
        assert!(
            matches!(other, Err(RevisionError::Unreadable { .. })),
            "{other:?}"
        );
        let around = with(&|it| {
            it.revisions.get_mut(&first).expect("kept").against = Some(second.clone());
            it.revisions.get_mut(&second).expect("kept").against = Some(first.clone());
        });
        assert!(
            around
                .expect_err("no end")
                .to_string()
                .contains("refers to itself")
        );
    }

    #[test]
    fn two_files_find_what_they_have_in_common_and_merge_from_it() {
        let mut base = whole();
        let first = kept(&mut base, "given to both");
        let (mut ours, mut theirs) = (base.clone(), base.clone());
        longer(&mut ours, 7.0);
        theirs.project.statement = "Theirs".into();
        kept(&mut ours, "mine");
        kept(&mut theirs, "yours");
        assert_eq!(common(&ours, &theirs), Some(first.clone()));
        let merge = |a: &Document, b: &Document| {
            let base = common(a, b).map(|id| content(a, &id).expect("it is whole"));
            let merged = merge_by(base.as_ref(), a, b, &Sorted::new()).expect("sound");
            assert_eq!(merged.conflicts, []);
            merged.document
        };
        let (here, there) = (merge(&ours, &theirs), merge(&theirs, &ours));
        assert!(here == there, "the same on both sides");
        assert_eq!((here.revisions.len(), heads(&here).len()), (4, 2));
        // The next saved revision comes from both, and both share it later.
        let mut here = here;
        let both = kept(&mut here, "together");
        assert_eq!(here.revisions[&both].parents.len(), 2);
        let mut next = here.clone();
        longer(&mut next, 8.0);
        assert_eq!(common(&here, &next), Some(both));
        assert_eq!(common(&document("load LT1 1"), &next), None);
    }

    #[test]
    fn many_revisions_are_put_in_order_and_rings_of_them_do_no_harm() {
        let mut base = document("load LT1 1");
        let like = {
            let id = kept(&mut base, "a");
            base.revisions.remove(&id).expect("kept")
        };
        let id = |n: usize| RevisionId::from(format!("{n:06}"));
        let from = |parents: Vec<RevisionId>| Revision {
            parents,
            ..like.clone()
        };
        // A chain as long as a file may hold, and its newest twice in a row of parents.
        for n in 1..50_000 {
            base.revisions
                .insert(id(n), from(vec![id(n - 1), id(n - 1)]));
        }
        assert_eq!(newest_first(&base)[..2], [&id(49_999), &id(49_998)]);
        let mut other = base.clone();
        other.revisions.remove(&id(49_999));
        assert_eq!(common(&base, &other), Some(id(49_998)));
        // One that came from the newest and is its parent.
        base.revisions.insert(id(0), from(vec![id(49_999)]));
        assert_eq!(newest_first(&base).len(), 50_000);
        assert_eq!(heads(&base), []);
        assert!(common(&base, &base).is_some());
    }

    #[test]
    fn any_edits_can_be_gone_back_from() {
        for seed in 0..40 {
            let mut dice = arbitrary::Dice::new(seed);
            let mut document = whole();
            let id = kept(&mut document, "before");
            let was = without_revisions(&document);
            for which in 0..arbitrary::EDITS {
                if let Some(Ok(change)) = arbitrary::edit(&document, which, &mut dice) {
                    change.apply(&mut document).expect("made for it");
                }
            }
            // Random edits may delete the revision itself.
            if document.revisions.contains_key(&id) {
                assert!(content(&document, &id) == Ok(was), "{seed}");
                kept(&mut document, "after");
                assert_eq!(invariants::broken(&document), []);
            }
        }
    }
}
