//! What a rule reports about the drawing.

use std::borrow::Cow;

use serde::Serialize;

pub use crate::sources::Source;
use crate::{
    document::{Device, ElementKind, rating},
    edit::{Change, Record},
    ids::AcceptedId,
};

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Can start a fire or stop what must keep working.
    Hazard,
    /// Will not work, or breaks a published limit.
    Fault,
    /// May not work well, or departs from good practice.
    Caution,
    /// Worth knowing.
    Note,
}

impl Level {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hazard => "hazard",
            Self::Fault => "fault",
            Self::Caution => "caution",
            Self::Note => "note",
        }
    }
}

/// A record, or a part of one, that a finding is about.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Location {
    /// `device`, `wire`, `cable`, `splice`, `place`, `state`, `accepted`, `terminal` or `element`.
    pub kind: &'static str,
    /// The record's id; `DEVICE/TERMINAL` or `DEVICE/ELEMENT` for a part of a device.
    pub id: String,
    /// Its label.
    pub label: String,
}

impl Location {
    /// `kind:id`, as acceptances write it.
    pub fn key(&self) -> String {
        format!("{}:{}", self.kind, self.id)
    }
}

/// What a fix does to the design.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MendKind {
    /// Leaves the electrical meaning as it is.
    Safe,
    /// Changes the design; the person decides.
    Ask,
}

/// A fix for a finding, ready to be applied.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mend {
    /// What it does, as a short command: "Isolate JK8 with washers".
    pub title: String,
    /// What it does to the design.
    pub kind: MendKind,
    /// The change itself.
    #[serde(skip)]
    pub change: Change,
}

impl Mend {
    /// Breakers and fuses that it adds or makes larger or smaller, in words: a person must decide about those.
    pub fn protectors(&self) -> Vec<String> {
        let mut lines = Vec::new();
        for step in self.change.steps().values() {
            match (&step.before, &step.after) {
                (Some(Record::Device(was)), Some(Record::Device(now))) => {
                    for element in &now.elements {
                        let rated = |it: &Device| match it.element(&element.id).map(|it| &it.is) {
                            Some(ElementKind::Protector(it)) => Some(it.rating_a),
                            _ => None,
                        };
                        if let (Some(was_a), Some(now_a)) = (rated(was), rated(now))
                            && was_a.map(f64::to_bits) != now_a.map(f64::to_bits)
                        {
                            let label = now.element_label(element);
                            lines.push(format!(
                                "{label}: {} becomes {}",
                                rating(was_a),
                                rating(now_a)
                            ));
                        }
                    }
                }
                (Some(Record::Wire(was)), Some(Record::Wire(now))) => {
                    let [was_a, now_a] =
                        [was, now].map(|it| it.fuse.as_ref().map(|it| it.rating_a));
                    match (was_a, now_a) {
                        (None, Some(a)) => {
                            lines.push(format!("{}: a fuse goes in, {}", now.number, rating(a)));
                        }
                        (Some(a), Some(b)) if a.map(f64::to_bits) != b.map(f64::to_bits) => {
                            let (was, is) = (rating(a), rating(b));
                            lines.push(format!("fuse in {}: {was} becomes {is}", now.number));
                        }
                        _ => {}
                    }
                }
                _ => {}
            }
        }
        lines
    }
}

/// A statement about the drawing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// The rule's name, e.g. "unprotected-wire".
    pub rule: &'static str,
    /// How bad it is.
    pub level: Level,
    /// The rule's title.
    pub title: &'static str,
    /// One sentence: what is wrong, where, value, limit and phase, with the person's own names.
    pub message: String,
    /// Where; the first is the primary record.
    pub at: Vec<Location>,
    /// The computed value, in `unit`; a meter reading where the rule checks one.
    pub measured: Option<f64>,
    /// The limit for it, in `unit`.
    pub limit: Option<f64>,
    /// Unit of both.
    pub unit: Cow<'static, str>,
    /// The arithmetic, line by line.
    pub working: Vec<String>,
    /// Why it matters in the aircraft.
    pub why: &'static str,
    /// The published sources.
    pub sources: &'static [Source],
    /// What to do about it, in words.
    pub help: String,
    /// Changes that would fix it.
    pub mends: Vec<Mend>,
    /// The acceptance that covers it, if one does.
    pub accepted: Option<AcceptedId>,
    /// The finding that it follows from, by its place in the verdict: mended with it.
    pub follows: Option<usize>,
}

impl Finding {
    /// Its title and its message, in one line.
    pub fn line(&self) -> String {
        format!("{}: {}", self.title, self.message)
    }

    /// True if both say the same of the same place, whatever their figures.
    fn is_same(&self, other: &Self) -> bool {
        (self.rule, self.level, self.at.first()) == (other.rule, other.level, other.at.first())
            && self.accepted == other.accepted
    }
}

/// Share of its limit by which a finding's figure must be further beyond it to count as worse (our own
/// choice: less is the last digit of a solution).
const WORSE_BY: f64 = 0.01;

/// Something a rule could not check, and what was missing. A builder takes silence for approval.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NotChecked {
    /// The rule's name.
    pub rule: &'static str,
    /// Where.
    pub at: Location,
    /// "because the length of L1A18 is missing".
    pub because: String,
}

/// How many places a run of the rules looked at. `examined` is the sum of the others.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Places examined.
    pub examined: usize,
    /// Checked and clear.
    pub clear: usize,
    /// Open findings.
    pub found: usize,
    /// Findings accepted with a reason.
    pub accepted: usize,
    /// Not checked because a value is missing.
    pub not_checked: usize,
    /// Open hazards.
    pub hazards: usize,
    /// Open faults.
    pub faults: usize,
    /// Open cautions.
    pub cautions: usize,
    /// Open notes.
    pub notes: usize,
    /// Open findings that follow from another one.
    pub following: usize,
}

/// The result of a run of the rules.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Verdict {
    /// Findings, worst first, then by rule and place; what follows from one comes directly after it.
    pub findings: Vec<Finding>,
    /// What could not be checked.
    pub not_checked: Vec<NotChecked>,
    /// The counts, which add up.
    pub counts: Counts,
}

impl Verdict {
    /// The findings that another verdict does not have: no finding there has the same rule, level and first
    /// place. A finding with only other figures is the same finding.
    pub fn without(&self, other: &Self) -> Vec<&Finding> {
        let is_new = |finding: &&Finding| !other.findings.iter().any(|it| it.is_same(finding));
        self.findings.iter().filter(is_new).collect()
    }

    /// Open findings that this verdict has and an earlier one has not, and those that are gone, one line each.
    pub fn comes_and_goes(&self, before: &Self) -> [Vec<String>; 2] {
        let lines = |findings: Vec<&Finding>| {
            let open = findings.into_iter().filter(|it| it.accepted.is_none());
            open.map(Finding::line).collect()
        };
        [lines(self.without(before)), lines(before.without(self))]
    }

    /// The findings that another verdict has too, with figures further beyond their limit: as they are here, and
    /// as they are there.
    pub fn worse_than<'v>(&'v self, other: &'v Self) -> Vec<(&'v Finding, &'v Finding)> {
        let beyond = |it: &Finding| Some((it.measured? - it.limit.unwrap_or(0.0)).abs());
        let worse = |now: &'v Finding| {
            let mut same = other.findings.iter().filter(|was| was.is_same(now));
            let was = same.next()?;
            let (now_by, was_by) = (beyond(now)?, beyond(was)?);
            let size = now.limit.or(now.measured).unwrap_or(0.0).abs();
            (now_by > was_by + WORSE_BY * size).then_some((now, was))
        };
        self.findings.iter().filter_map(worse).collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::{rules::check, testing::document};

    #[test]
    fn findings_that_appear_or_go_between_two_verdicts() {
        let sound = "battery BT1\n bus MBUS CB1=5\n load LT1 2\n ground GB1 STUD T1
            wire A BT1.+ MBUS.STUD 8 0.2m\n wire B MBUS.CB1 LT1.+ 20 1m\n wire C LT1.- GB1.T1 20 1m
            wire D GB1.STUD BT1.- 8 0.2m";
        let (sound, open) = (
            document(sound),
            document(&sound.replace("GB1.T1 20", "open 20")),
        );
        let (sound, open) = (check(&sound), check(&open));
        let rules = |findings: Vec<&crate::rules::Finding>| -> Vec<&str> {
            findings.into_iter().map(|it| it.rule).collect()
        };
        assert!(rules(open.without(&sound)).contains(&"no-return"));
        assert!(!rules(sound.without(&open)).contains(&"no-return"));
        assert!(sound.without(&sound).is_empty());
    }
}
