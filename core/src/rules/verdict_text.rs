//! A verdict as text, to pass it between two runs of the program. Fixes are left out: they are changes of a
//! document that the other run may have edited meanwhile.

use super::{Counts, Finding, Level, Location, NotChecked, Verdict, rule};
use crate::ids::AcceptedId;

/// The record of each finding.
const KINDS: [&str; 9] = [
    "device", "terminal", "element", "wire", "cable", "splice", "place", "state", "accepted",
];
const LEVELS: [Level; 4] = [Level::Hazard, Level::Fault, Level::Caution, Level::Note];

impl Verdict {
    /// Its words.
    pub fn to_words(&self) -> Vec<String> {
        let mut words = Vec::new();
        let n = self.counts;
        for count in [
            n.examined,
            n.clear,
            n.found,
            n.accepted,
            n.not_checked,
            n.hazards,
            n.faults,
            n.cautions,
            n.notes,
            n.following,
            self.findings.len(),
        ] {
            words.push(count.to_string());
        }
        let number = |value: Option<f64>| value.map_or(String::new(), |it| it.to_string());
        for it in &self.findings {
            words.extend([it.rule.into(), it.level.word().into(), it.message.clone()]);
            words.push(it.at.len().to_string());
            it.at.iter().for_each(|at| put_at(&mut words, at));
            words.extend([number(it.measured), number(it.limit), it.unit.to_string()]);
            words.push(it.working.len().to_string());
            words.extend(it.working.iter().cloned());
            let accepted = it
                .accepted
                .as_ref()
                .map_or(String::new(), ToString::to_string);
            let follows = it.follows.map_or(String::new(), |it| it.to_string());
            words.extend([it.help.clone(), accepted, follows]);
        }
        for it in &self.not_checked {
            words.push(it.rule.into());
            put_at(&mut words, &it.at);
            words.push(it.because.clone());
        }
        words
    }

    /// The verdict of these words; none if they are not those of one, or of another program's.
    pub fn from_words(words: &[String]) -> Option<Self> {
        let mut words = Words(words.iter());
        let mut count = || words.count();
        let counts = Counts {
            examined: count()?,
            clear: count()?,
            found: count()?,
            accepted: count()?,
            not_checked: count()?,
            hazards: count()?,
            faults: count()?,
            cautions: count()?,
            notes: count()?,
            following: count()?,
        };
        let found = count()?;
        let mut verdict = Self {
            counts,
            ..Self::default()
        };
        for _ in 0..found {
            verdict.findings.push(words.finding()?);
        }
        for _ in 0..counts.not_checked {
            verdict.not_checked.push(NotChecked {
                rule: rule(words.next()?)?.slug,
                at: words.at()?,
                because: words.next()?.into(),
            });
        }
        words.0.next().is_none().then_some(verdict)
    }
}

fn put_at(words: &mut Vec<String>, at: &Location) {
    words.extend([at.kind.into(), at.id.clone(), at.label.clone()]);
}

/// A number, if one was there.
fn number(text: &str) -> Result<Option<f64>, std::num::ParseFloatError> {
    match text {
        "" => Ok(None),
        text => text.parse().map(Some),
    }
}

struct Words<'w>(std::slice::Iter<'w, String>);

impl<'w> Words<'w> {
    fn next(&mut self) -> Option<&'w str> {
        self.0.next().map(String::as_str)
    }

    fn count(&mut self) -> Option<usize> {
        self.next()?.parse().ok()
    }

    fn one_of(&mut self, known: &[&'static str]) -> Option<&'static str> {
        let text = self.next()?;
        known.iter().copied().find(|it| *it == text)
    }

    fn at(&mut self) -> Option<Location> {
        Some(Location {
            kind: self.one_of(&KINDS)?,
            id: self.next()?.into(),
            label: self.next()?.into(),
        })
    }

    fn finding(&mut self) -> Option<Finding> {
        let rule = rule(self.next()?)?;
        let level = self.next()?;
        let level = LEVELS.into_iter().find(|it| it.word() == level)?;
        let message = self.next()?.into();
        let at = (0..self.count()?)
            .map(|_| self.at())
            .collect::<Option<_>>()?;
        let measured = number(self.next()?).ok()?;
        let limit = number(self.next()?).ok()?;
        let unit = self.next()?.to_string().into();
        let working = self.count()?;
        let working = (0..working).map(|_| self.next().map(String::from));
        Some(Finding {
            rule: rule.slug,
            level,
            title: rule.title,
            message,
            at,
            measured,
            limit,
            unit,
            working: working.collect::<Option<_>>()?,
            why: rule.why,
            sources: rule.sources,
            help: self.next()?.into(),
            mends: Vec::new(),
            accepted: Some(self.next()?)
                .filter(|it| !it.is_empty())
                .map(AcceptedId::from),
            follows: match self.next()? {
                "" => None,
                place => Some(place.parse().ok()?),
            },
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        rules::check,
        testing::{aircraft, document, whole},
    };

    /// A diode's heat in watts never came back; nor would a unit that a new rule brings.
    #[test]
    fn every_unit_comes_back() {
        let hot = document(
            "battery BT1\ndiode D1 rating=25\nload X 6\nwire A BT1.+ D1.A 10 1m
             wire B D1.K X.+ 10 1m\nwire N X.- BT1.- 10 1m\nstate FLY",
        );
        let mut verdict = check(&hot);
        assert!(verdict.findings.iter().any(|it| it.unit == "W"));
        for unit in ["W", "Ah", "a unit that no rule has yet", ""] {
            verdict.findings.iter_mut().for_each(|it| {
                it.mends.clear();
                it.unit = unit.to_string().into();
            });
            let back = Verdict::from_words(&verdict.to_words());
            assert_eq!(back.as_ref(), Some(&verdict), "{unit}");
        }
    }

    #[test]
    fn what_goes_as_words_comes_as_it_was_but_for_its_mends() {
        let small = document(
            "battery BT1\nbus MBUS CB1=5\nload LT1 9\nwire A BT1.+ MBUS.STUD 20 1m
             wire B MBUS.CB1 LT1.+ 22 9m\nload LT2 1\nwire C LT1.- open 22",
        );
        for document in [small, whole(), aircraft(60)] {
            let mut verdict = check(&document);
            assert!(!verdict.findings.is_empty());
            let words = verdict.to_words();
            verdict.findings.iter_mut().for_each(|it| it.mends.clear());
            assert_eq!(Verdict::from_words(&words).as_ref(), Some(&verdict));
            for cut in 0..words.len() {
                assert_eq!(Verdict::from_words(&words[..cut]), None, "{cut}");
            }
        }
    }
}
