//! The log, and findings accepted with a reason.

use serde::{Deserialize, Serialize};

use super::{
    Extra,
    invariants::{Check, FieldPath},
    kind::Kind,
    others::Others,
    parts::Bound,
};
use crate::order::Map;

/// One entry of the log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct LogEntry {
    /// Date, ISO 8601 (YYYY-MM-DD).
    pub date: String,
    /// Who.
    pub who: String,
    /// Kind of entry.
    pub kind: LogKind,
    /// What was done or seen, and why.
    pub text: String,
    /// Work time, h.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
    /// Measured values of a test.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub results: Vec<TestResult>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Kind of log entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum LogKind {
    /// A remark.
    Note,
    /// A change.
    Change,
    /// A test with measured values.
    Test,
    /// Built as drawn.
    AsBuilt,
}

/// One measured value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct TestResult {
    /// What was measured, e.g. "J112-1 to JK5 tip".
    pub what: String,
    /// The expected result.
    pub expected: String,
    /// The reading.
    pub measured: String,
    /// True if it passed.
    pub passed: bool,
    /// The step of the noise hunt that it answers: what to do, then keys of records.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub step: Vec<String>,
    /// The answer to that step: "same", "gone", "partly", or "these" and keys of records.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub answer: Vec<String>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A finding accepted with a reason. It applies while the finding stays the same: a changed value
/// reopens it, and an acceptance that matches no finding is itself a finding.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Accepted {
    /// The rule's key, e.g. "unprotected-wire".
    pub rule: String,
    /// The records of the finding, as `kind:id`, in its order.
    pub at: Vec<String>,
    /// The finding's value when it was accepted, in the finding's unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<f64>,
    /// The limit when it was accepted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<f64>,
    /// Ends and values of those records when it was accepted, by record and field. It covers nothing else; not
    /// compared in files that say none.
    #[serde(default, skip_serializing_if = "Map::is_empty")]
    pub drawn: Map<String, Map<String, String>>,
    /// Why it is accepted.
    pub reason: String,
    /// Who accepted it.
    pub who: String,
    /// Date, ISO 8601.
    pub date: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Kind for LogEntry {
    fn first_key(&self) -> Option<&'static str> {
        Some("l1")
    }

    fn name_mut(&mut self) -> Option<&mut String> {
        None
    }

    fn label(&self, _: &dyn Others) -> String {
        format!("log of {}", self.date)
    }

    // Nothing on screen to lead to.
    fn search(&self, _: &dyn Others, _: &mut dyn FnMut(&str, String)) {}

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "date", &self.date);
        check.text(at, "who", &self.who);
        check.text(at, "text", &self.text);
        check.number(at, "hours", self.hours, Bound::NotNegative);
        let results = at.field("results");
        for (index, result) in self.results.iter().enumerate() {
            let at = results.index(index);
            check.text(&at, "what", &result.what);
            check.text(&at, "expected", &result.expected);
            check.text(&at, "measured", &result.measured);
            for (field, words) in [("step", &result.step), ("answer", &result.answer)] {
                for word in words {
                    check.text(&at, field, word);
                }
            }
        }
    }
}

impl Kind for Accepted {
    fn first_key(&self) -> Option<&'static str> {
        Some("x1")
    }

    fn name_mut(&mut self) -> Option<&mut String> {
        None
    }

    fn label(&self, _: &dyn Others) -> String {
        format!("accepted {}", self.rule)
    }

    // Nothing on screen to lead to.
    fn search(&self, _: &dyn Others, _: &mut dyn FnMut(&str, String)) {}

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "rule", &self.rule);
        check.text(at, "reason", &self.reason);
        check.text(at, "who", &self.who);
        check.text(at, "date", &self.date);
        check.number(at, "measured", self.measured, Bound::Finite);
        check.number(at, "limit", self.limit, Bound::Finite);
        if self.reason.trim().is_empty() {
            check.say(&at.field("reason"), "expected a reason");
        }
    }
}
