//! A rule, and where it puts its results.

use petgraph::graph::NodeIndex;

use super::{
    Facts, Finding, Level, Location, Mend, MendKind, NotChecked, Reads, Source, Subject,
    facts::wires_of,
};
use crate::{edit::Change, markup::seen};

/// Something that can be wrong in a drawing, and the check that finds it.
pub struct Rule {
    /// Its name in files and on the command line; never reused for another meaning.
    pub slug: &'static str,
    /// What is wrong, as a heading.
    pub title: &'static str,
    /// How bad it is, unless a finding says otherwise.
    pub level: Level,
    /// What it does in the aircraft, in two or three sentences.
    pub why: &'static str,
    /// The published sources.
    pub sources: &'static [Source],
    /// Which values it reads, besides the records and how they are connected.
    pub reads: Reads,
    /// Reads the facts and reports to the sink.
    pub check: fn(&Facts<'_>, &mut Findings<'_, '_>),
}

impl std::fmt::Debug for Rule {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.slug)
    }
}

/// All results of one rule.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Outcome {
    pub(super) clear: usize,
    pub(super) found: Vec<Finding>,
    pub(super) not_checked: Vec<NotChecked>,
}

impl Outcome {
    /// Adds the results of another rule.
    pub(super) fn and(&mut self, other: Self) {
        self.clear += other.clear;
        self.found.extend(other.found);
        self.not_checked.extend(other.not_checked);
    }
}

/// Collects the results of a rule for the places it looks at.
#[derive(Debug)]
pub struct Findings<'f, 'd> {
    facts: &'f Facts<'d>,
    rule: &'static Rule,
    said: Outcome,
}

impl<'f, 'd> Findings<'f, 'd> {
    /// An empty collection for this rule.
    pub(super) fn of(facts: &'f Facts<'d>, rule: &'static Rule) -> Self {
        Self {
            facts,
            rule,
            said: Outcome::default(),
        }
    }

    /// The results of the rule.
    pub(super) fn outcome(self) -> Outcome {
        self.said
    }

    /// This place was checked and nothing is wrong.
    pub fn clear<'a>(&mut self, _at: impl Into<Subject<'a>>) {
        self.said.clear += 1;
    }

    /// This place could not be checked: "the length of L1A18 is missing".
    pub fn not_checked<'a>(&mut self, at: impl Into<Subject<'a>>, because: impl Into<String>) {
        self.said.not_checked.push(NotChecked {
            rule: self.rule.slug,
            at: self.facts.at(at),
            because: visible(because),
        });
    }

    /// Judges what somebody has to say of this place: clear if it is so, not checked while nobody said. A report if it
    /// is not so.
    pub fn said<'a>(
        &mut self,
        at: impl Into<Subject<'a>>,
        said: Option<bool>,
        missing: impl Into<String>,
    ) -> Option<Report<'_, 'd>> {
        match said {
            Some(true) => self.clear(at),
            None => self.not_checked(at, missing),
            Some(false) => return Some(self.finding(at)),
        }
        None
    }

    /// Something is wrong here. The returned report takes the details.
    pub fn finding<'a>(&mut self, at: impl Into<Subject<'a>>) -> Report<'_, 'd> {
        let rule = self.rule;
        let at = self.facts.at(at);
        self.said.found.push(Finding {
            rule: rule.slug,
            level: rule.level,
            title: rule.title,
            message: rule.title.to_string(),
            at: vec![at],
            measured: None,
            limit: None,
            unit: "".into(),
            working: Vec::new(),
            why: rule.why,
            sources: rule.sources,
            help: String::new(),
            mends: Vec::new(),
            accepted: None,
            follows: None,
        });
        Report {
            facts: self.facts,
            finding: self.said.found.last_mut().expect("pushed above"),
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
    /// One sentence: what is wrong, where, value, limit and phase, with the person's own names.
    pub fn says(self, message: impl Into<String>) -> Self {
        self.finding.message = visible(message);
        self
    }

    /// Sets a level other than the rule's.
    pub fn level(self, level: Level) -> Self {
        self.finding.level = level;
        self
    }

    /// Adds another record that is part of it.
    pub fn also<'a>(self, at: impl Into<Subject<'a>>) -> Self {
        let at: Location = self.facts.at(at);
        if !self.finding.at.contains(&at) {
            self.finding.at.push(at);
        }
        self
    }

    /// Adds several of one kind.
    pub fn also_each<'a>(self, all: impl IntoIterator<Item = impl Into<Subject<'a>>>) -> Self {
        all.into_iter().fold(self, Self::also)
    }

    /// Adds every wire that ends at a node.
    pub fn also_wires(self, node: NodeIndex) -> Self {
        let wires = wires_of(self.facts.touches_at(node));
        self.also_each(wires.map(|it| it.0))
    }

    /// The value, and the limit for it.
    pub fn limit(self, measured: f64, limit: f64, unit: &'static str) -> Self {
        self.finding.measured = Some(measured);
        self.finding.limit = Some(limit);
        self.finding.unit = unit.into();
        self
    }

    /// The value, where there is no limit.
    pub fn measured(self, measured: f64, unit: &'static str) -> Self {
        self.finding.measured = Some(measured);
        self.finding.unit = unit.into();
        self
    }

    /// One line of the arithmetic.
    pub fn working(self, line: impl Into<String>) -> Self {
        self.finding.working.push(visible(line));
        self
    }

    /// What to do about it.
    pub fn help(self, help: impl Into<String>) -> Self {
        self.finding.help = visible(help);
        self
    }

    /// A change that would fix it. An empty change is left out.
    pub fn mend(self, title: impl Into<String>, kind: MendKind, change: Change) -> Self {
        if !change.is_empty() {
            self.finding.mends.push(Mend {
                title: visible(title),
                kind,
                change,
            });
        }
        self
    }
}

/// A sentence with every invisible character in its names made visible.
fn visible(text: impl Into<String>) -> String {
    let text = text.into();
    match seen(&text) {
        std::borrow::Cow::Borrowed(_) => text,
        std::borrow::Cow::Owned(seen) => seen,
    }
}
