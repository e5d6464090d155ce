//! Where rules put what they see.

use super::{At, Facts, Finding, Level, Mend, MendKind, NotChecked, Rule, Spot};
use crate::{edit::Change, markup::seen};

/// All that one rule said.
#[derive(Debug, Default)]
pub(super) struct Outcome {
    clear: usize,
    pub(super) found: Vec<Finding>,
    not_checked: Vec<NotChecked>,
}

/// Collects what rules say of the places they look at.
#[derive(Debug)]
pub struct Findings<'f, 'd> {
    facts: &'f Facts<'d>,
    /// Rules that have spoken; the last one speaks.
    begun: Vec<&'static Rule>,
    pub(super) clear: usize,
    pub(super) found: Vec<Finding>,
    pub(super) not_checked: Vec<NotChecked>,
}

impl<'f, 'd> Findings<'f, 'd> {
    /// Nothing said yet.
    pub(super) fn new(facts: &'f Facts<'d>) -> Self {
        Self {
            facts,
            begun: Vec::new(),
            clear: 0,
            found: Vec::new(),
            not_checked: Vec::new(),
        }
    }

    /// From here on this rule speaks.
    pub(super) fn begin(&mut self, rule: &'static Rule) {
        self.begun.push(rule);
    }

    /// From here on this rule speaks; it says what it said before.
    pub(super) fn again(&mut self, rule: &'static Rule, said: &Outcome) {
        self.begin(rule);
        self.clear += said.clear;
        self.found.extend_from_slice(&said.found);
        self.not_checked.extend_from_slice(&said.not_checked);
    }

    /// What was said since this many places were clear, found and not checked.
    pub(super) fn since(&self, [clear, found, not_checked]: [usize; 3]) -> Outcome {
        Outcome {
            clear: self.clear - clear,
            found: self.found[found..].to_vec(),
            not_checked: self.not_checked[not_checked..].to_vec(),
        }
    }

    /// How many places are clear, found and not checked so far.
    pub(super) fn so_far(&self) -> [usize; 3] {
        [self.clear, self.found.len(), self.not_checked.len()]
    }

    /// True if this rule has spoken.
    pub(super) fn has_run(&self, rule: &Rule) -> bool {
        self.begun.iter().any(|begun| begun.slug == rule.slug)
    }

    fn rule(&self) -> &'static Rule {
        self.begun.last().expect("a rule speaks only after `begin`")
    }

    /// This place was looked at and nothing is wrong.
    pub fn clear<'a>(&mut self, _at: impl Into<Spot<'a>>) {
        self.clear += 1;
    }

    /// This place could not be judged: "the length of L1A18 is missing".
    pub fn not_checked<'a>(&mut self, at: impl Into<Spot<'a>>, because: impl Into<String>) {
        let rule = self.rule().slug;
        self.not_checked.push(NotChecked {
            rule,
            at: self.facts.at(at),
            because: told(because),
        });
    }

    /// Something is wrong here. The report that comes back takes the rest.
    pub fn finding<'a>(&mut self, at: impl Into<Spot<'a>>) -> Report<'_, 'd> {
        let rule = self.rule();
        let at = self.facts.at(at);
        self.found.push(Finding {
            rule: rule.slug,
            level: rule.level,
            title: rule.title,
            message: rule.title.to_string(),
            at: vec![at],
            measured: None,
            limit: None,
            unit: "",
            working: Vec::new(),
            why: rule.why,
            sources: rule.sources,
            help: String::new(),
            mends: Vec::new(),
            accepted: None,
        });
        Report {
            facts: self.facts,
            finding: self.found.last_mut().expect("pushed above"),
        }
    }
}

/// A finding in the making.
#[derive(Debug)]
pub struct Report<'a, 'd> {
    facts: &'a Facts<'d>,
    finding: &'a mut Finding,
}

impl Report<'_, '_> {
    /// One sentence: what is wrong, measured against its limit, in the person's own names.
    pub fn says(self, message: impl Into<String>) -> Self {
        self.finding.message = told(message);
        self
    }

    /// Another level than the rule's.
    pub fn level(self, level: Level) -> Self {
        self.finding.level = level;
        self
    }

    /// Another record that has to do with it.
    pub fn also<'a>(self, at: impl Into<Spot<'a>>) -> Self {
        let at: At = self.facts.at(at);
        if !self.finding.at.contains(&at) {
            self.finding.at.push(at);
        }
        self
    }

    /// What was measured, and against what.
    pub fn limit(self, measured: f64, limit: f64, unit: &'static str) -> Self {
        self.finding.measured = Some(measured);
        self.finding.limit = Some(limit);
        self.finding.unit = unit;
        self
    }

    /// What was measured, where there is no number to hold it against.
    pub fn measured(self, measured: f64, unit: &'static str) -> Self {
        self.finding.measured = Some(measured);
        self.finding.unit = unit;
        self
    }

    /// One line of the arithmetic.
    pub fn working(self, line: impl Into<String>) -> Self {
        self.finding.working.push(told(line));
        self
    }

    /// What to do about it.
    pub fn help(self, help: impl Into<String>) -> Self {
        self.finding.help = told(help);
        self
    }

    /// A change that would mend it. A change of nothing is left out.
    pub fn mend(self, title: impl Into<String>, kind: MendKind, change: Change) -> Self {
        if !change.is_empty() {
            self.finding.mends.push(Mend {
                title: told(title),
                kind,
                change,
            });
        }
        self
    }
}

/// A sentence that reads as it is meant, whatever is in the names it holds.
fn told(text: impl Into<String>) -> String {
    let text = text.into();
    match seen(&text) {
        std::borrow::Cow::Borrowed(_) => text,
        std::borrow::Cow::Owned(seen) => seen,
    }
}
