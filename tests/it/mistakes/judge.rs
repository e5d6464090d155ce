//! The judge: what the rules say of a mistake that they do not say of the sound document.

use std::collections::BTreeSet;

use loomwright_core::{
    document::{Accepted, Document, End, Extra, ShieldEnd},
    edit::{self, Change, Record},
    ids::DeviceId,
    rules::{self, Finding, Level, Verdict},
};

use super::{
    same::changes_nothing,
    walk::{BOTH, Mistake, Wiring, shield_end},
};

/// What a check is worth against one mistake.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Worth {
    /// Nothing changes, in the circuit or in the documents: it does not count.
    Nothing,
    /// A new finding points at it or at what it joins.
    Named,
    /// New findings point elsewhere only.
    Aside,
    /// Nothing new is said.
    Silent,
}

/// A judgment, and the new findings in short.
#[derive(Clone, Debug)]
pub struct Judged {
    pub worth: Worth,
    pub said: Vec<String>,
    /// Of these, not folded under a cause.
    pub side_by_side: Vec<String>,
    /// The first of them points at the mistake.
    pub cause_first: bool,
}

impl Judged {
    const NOTHING: Self = Self {
        worth: Worth::Nothing,
        said: Vec::new(),
        side_by_side: Vec::new(),
        cause_first: false,
    };
}

type Key = (&'static str, Level, String);

/// A document without an open finding at caution or above, and what is said of it.
pub struct Sound {
    pub name: &'static str,
    pub document: Document,
    open: BTreeSet<Key>,
}

/// How the keys of acceptances begin that make a document sound.
const AS_DRAWN: &str = "as-drawn-";

fn key(finding: &Finding) -> Key {
    (finding.rule, finding.level, finding.at[0].key())
}

/// Open findings, but for those about the acceptances that we made ourselves.
fn open(verdict: &Verdict) -> impl Iterator<Item = &Finding> {
    let is_ours = |it: &Finding| it.at[0].kind == "accepted" && it.at[0].id.starts_with(AS_DRAWN);
    let findings = verdict.findings.iter();
    findings.filter(move |it| it.accepted.is_none() && !is_ours(it))
}

impl Sound {
    /// The document, with what is found in it accepted as it is: an acceptance covers nothing that changes.
    pub fn of(name: &'static str, mut document: Document) -> Self {
        let verdict = rules::check(&document);
        for (n, finding) in open(&verdict)
            .filter(|it| it.level <= Level::Caution)
            .enumerate()
        {
            let accepted = Accepted {
                rule: finding.rule.to_owned(),
                at: finding.at.iter().map(rules::Location::key).collect(),
                measured: finding.measured,
                limit: finding.limit,
                drawn: finding
                    .at
                    .iter()
                    .map(|it| (it.key(), document.as_drawn(&it.key())))
                    .collect(),
                reason: "as drawn".into(),
                who: "test".into(),
                date: "2026-01-01".into(),
                extra: Extra::new(),
            };
            let id = format!("{AS_DRAWN}{n}");
            document.accepted.insert(id.as_str().into(), accepted);
        }
        let verdict = rules::check(&document);
        let left: Vec<&String> = open(&verdict)
            .filter(|it| it.level <= Level::Caution)
            .map(|it| &it.message)
            .collect();
        assert!(left.is_empty(), "{name} is not sound: {left:#?}");
        let open = open(&verdict).map(key).collect();
        Self {
            name,
            document,
            open,
        }
    }

    /// Judges a mistake. `note_will_do`: a note is enough, as for a wire left out.
    pub fn judge(&self, mistake: &Mistake, note_will_do: bool) -> Judged {
        let made = mistake
            .change
            .applied(&self.document)
            .expect("it was made for this");
        if changes_nothing(&self.document, &made, &mistake.change) {
            return Judged::NOTHING;
        }
        let verdict = rules::check(&made);
        crate::seeded::comes_back(&verdict);
        self.judge_verdict(&verdict, &self.places(&mistake.change, &made), note_will_do)
    }

    /// Judges what is said at these places.
    pub fn judge_verdict(
        &self,
        verdict: &Verdict,
        places: &BTreeSet<String>,
        note_will_do: bool,
    ) -> Judged {
        let is_there = |it: &Finding| it.at.iter().any(|at| places.contains(&at.key()));
        let new: Vec<&Finding> = open(verdict)
            .filter(|it| !self.open.contains(&key(it)))
            .collect();
        let counts = |it: &&&Finding| it.level <= Level::Caution || (note_will_do && is_there(it));
        let new: Vec<&Finding> = new.iter().filter(counts).copied().collect();
        let worth = match new.is_empty() {
            true => Worth::Silent,
            false if new.iter().any(|it| is_there(it)) => Worth::Named,
            false => Worth::Aside,
        };
        let in_short = |it: &&Finding| format!("{} {}", it.rule, it.at[0].key());
        let causes = || new.iter().copied().filter(|it| it.follows.is_none());
        Judged {
            worth,
            said: new.iter().map(in_short).collect(),
            side_by_side: causes().map(|it| in_short(&it)).collect(),
            cause_first: causes().next().is_some_and(is_there),
        }
    }

    /// Keys of the mistaken records and of what they join, before and after.
    pub fn places(&self, change: &Change, made: &Document) -> BTreeSet<String> {
        let mut keys = BTreeSet::new();
        let wirings = [Wiring::new(&self.document), Wiring::new(made)];
        for (key, step) in change.steps() {
            keys.insert(key.to_string());
            for (wiring, record) in wirings.iter().zip([&step.before, &step.after]) {
                match record {
                    Some(Record::Wire(wire)) => {
                        wiring.around(&wire.from, &mut keys);
                        wiring.around(&wire.to, &mut keys);
                        let cables = wiring.document.cables.iter();
                        let cables = cables
                            .filter(|(_, it)| it.wires.iter().any(|id| id.as_str() == key.id()));
                        keys.extend(cables.map(|(id, _)| format!("cable:{id}")));
                    }
                    Some(Record::Cable(cable)) => {
                        let ends =
                            BOTH.map(|which| shield_end(cable, which).and_then(ShieldEnd::at));
                        for end in ends.into_iter().flatten() {
                            wiring.around(end, &mut keys);
                        }
                        keys.extend(cable.wires.iter().map(|id| format!("wire:{id}")));
                    }
                    _ => {}
                }
            }
            if let edit::Key::Device(id) = key {
                inside(&wirings, id, [&step.before, &step.after], &mut keys);
            }
        }
        keys
    }
}

/// Keys of what differs inside a device, and of what it joins.
fn inside(
    wirings: &[Wiring<'_>; 2],
    id: &DeviceId,
    [before, after]: [&Option<Record>; 2],
    keys: &mut BTreeSet<String>,
) {
    let of = |record: &Option<Record>| match record {
        Some(Record::Device(device)) => device.elements.clone(),
        _ => Vec::new(),
    };
    let (was, now) = (of(before), of(after));
    let gone = was.iter().filter(|it| !now.contains(it));
    for element in gone.chain(now.iter().filter(|it| !was.contains(it))) {
        keys.insert(format!("element:{id}/{}", element.id));
        for (_, terminal) in element.is.terminals() {
            let end = End::Terminal(id.clone(), terminal.clone());
            for wiring in wirings {
                wiring.around(&end, keys);
                keys.extend(
                    wiring
                        .wires_at(&end)
                        .iter()
                        .map(|(wire, _)| format!("wire:{wire}")),
                );
            }
        }
    }
}
