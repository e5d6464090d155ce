//! Revisions: the chain of states that a file carries along, going back to one, and the newest one that
//! two files have in common.

use std::cmp::Reverse;

use serde_json::Value;
use sha2::{Digest, Sha256};

use super::{
    compare::{from_tree, whole},
    packed::{UnpackError, pack, unpack},
};
use crate::{
    document::{Document, Extra, Revision, RevisionMark, invariants},
    edit::{Change, Key, Record},
    ids::RevisionId,
    order::{self, Map, Sorted},
};

/// Letters of a piece of a revision's content: well below the longest text that a file may hold.
const PIECE: usize = 8_000;
/// Bytes of a key: half of the digest, which no two revisions share by chance.
const KEY_BYTES: usize = 16;
/// A revision that would be told through more than this stands by itself; none is read through more.
const MOST_STEPS: usize = 50;

/// A revision that cannot be looked at.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RevisionError {
    /// It, or one that it is told against, is not in the file.
    #[error("the revision {0} is not in this file")]
    Missing(RevisionId),
    /// What it holds cannot be read.
    #[error("the revision {id}: {why}")]
    Unreadable {
        /// Which.
        id: RevisionId,
        /// Why.
        why: String,
    },
    /// What it holds is not what its key was made of.
    #[error("the revision {0} was changed after it was kept; it is not shown")]
    Changed(RevisionId),
}

/// Who keeps a revision, when and why.
#[derive(Clone, Copy, Debug)]
pub struct Kept<'a> {
    /// Who.
    pub who: &'a str,
    /// Date, YYYY-MM-DD.
    pub date: &'a str,
    /// Why.
    pub reason: &'a str,
    /// What it stands for.
    pub mark: Option<RevisionMark>,
}

/// Keeps the project as it is.
pub fn keep(document: &Document, kept: Kept<'_>) -> Change {
    let parents = heads(document);
    let now = without_revisions(document);
    let text = text(&now);
    let whole = pack(&text);
    let told = parents.iter().find_map(|parent| {
        let steps = chain(document, parent).ok()?.len();
        let before = content(document, parent).ok()?;
        let delta = pack(&delta(&before, &now)?);
        // A change as large as the whole is better told as the whole.
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

/// The project as it was at a revision, without revisions of its own.
///
/// # Errors
/// [`RevisionError`]: files come from anywhere, and what is not as it was kept is not shown.
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

/// The change that makes the project again what it was at a revision. All revisions stay.
///
/// # Errors
/// As [`content`].
pub fn back_to(document: &Document, id: &RevisionId) -> Result<Change, RevisionError> {
    let before = content(document, id)?;
    Ok(back_to_content(document, before))
}

/// The change that makes the project what it was, with the revisions that it has now.
pub fn back_to_content(document: &Document, before: Document) -> Change {
    let before = Document {
        revisions: document.revisions.clone(),
        ..before
    };
    Change::between(document, &before)
}

/// The project as it was at a revision, and as it was at another or as it is now: what changed in between is
/// what differs.
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

/// The newest revision that both files have: one that no other common one came from.
pub fn common(ours: &Document, theirs: &Document) -> Option<RevisionId> {
    let shared = |id: &&RevisionId| theirs.revisions.contains_key(*id);
    let ages = ages(ours);
    let all = ours.revisions.keys().filter(shared);
    // Which of two that came from each other's work is taken must not depend on whose it is.
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

/// All revisions, newest first: each before what it came from.
pub fn newest_first(document: &Document) -> Vec<&RevisionId> {
    let mut all: Vec<&RevisionId> = document.revisions.keys().collect();
    let ages = ages(document);
    order::sort_by_key(&mut all, |id| (Reverse(ages.get(*id)), *id));
    all
}

/// How many came before each, along the longest way. In a file made to do harm revisions may come from
/// themselves: those have no age.
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

/// A revision and those that it is told against, down to one that stands by itself.
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
                why: "it is told against itself, or through too many others".into(),
            });
        }
        steps.push((id, revision));
        next = revision.against.as_ref();
    }
    Ok(steps)
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

/// What changes one project into another, as the tree of a file in which there is only what differs, with
/// nothing where a record is gone; none if that is more than records.
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

/// Makes what [`delta`] told.
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

/// The key of a revision: a digest (SHA-256, FIPS 180-4) of what it came from, who, when, why, and of the
/// project as it was. Its name and mark may be given later.
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

    const KEPT: Kept<'_> = Kept {
        who: "ME",
        date: "2026-03-01",
        reason: "Before the radio",
        mark: None,
    };

    fn kept(document: &mut Document, reason: &str) -> RevisionId {
        let change = keep(document, Kept { reason, ..KEPT });
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
        // What follows the first is told as what changed, which is small.
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
                .contains("against itself")
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
        // What is kept then came from both, and is what both have in common later.
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
