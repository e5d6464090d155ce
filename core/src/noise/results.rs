//! What the person found out about a suspect, kept in the project's log.

use super::guide::{Hear, Suspect};
use crate::{
    document::{Document, Extra, LogEntry, LogKind, TestResult},
    ids::LogId,
};

/// What a suspect's test showed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The noise changed: the suspect is a way in.
    Changed,
    /// The noise stayed the same: the suspect is cleared.
    Same,
}

impl Outcome {
    /// As it stands in the log.
    pub fn words(self) -> &'static str {
        match self {
            Self::Changed => "the noise changed",
            Self::Same => "the noise stayed the same",
        }
    }
}

fn title(hear: Hear) -> String {
    format!("Heard: {}", hear.words())
}

/// The log entry of a suspect's test. It belongs to the suspect as it is drawn: after a change of the
/// drawing the suspect is another one, and untested.
pub fn entry(
    hear: Hear,
    suspect: &Suspect,
    outcome: Outcome,
    date: String,
    who: String,
) -> LogEntry {
    LogEntry {
        date,
        who,
        kind: LogKind::Test,
        text: title(hear),
        hours: None,
        results: vec![TestResult {
            what: suspect.what.clone(),
            expected: suspect.test.clone(),
            measured: outcome.words().into(),
            passed: outcome == Outcome::Same,
            extra: Extra::new(),
        }],
        extra: Extra::new(),
    }
}

/// The test of a suspect that the log holds: the last one, if there are several.
pub fn result<'d>(
    document: &'d Document,
    hear: Hear,
    suspect: &str,
) -> Option<(&'d LogId, &'d LogEntry, Outcome)> {
    let title = title(hear);
    let mut last: Option<(&LogId, &LogEntry, Outcome)> = None;
    for (id, entry) in &document.log {
        if entry.kind != LogKind::Test || entry.text != title {
            continue;
        }
        let Some(result) = entry.results.iter().find(|it| it.what == suspect) else {
            continue;
        };
        let outcome = match result.passed {
            true => Outcome::Same,
            false => Outcome::Changed,
        };
        if last.is_none_or(|(_, before, _)| before.date <= entry.date) {
            last = Some((id, entry, outcome));
        }
    }
    last
}
