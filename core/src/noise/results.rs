//! Test results of suspects, kept in the project's log.

use super::suspect::{Hear, Outcome, Suspect};
use crate::{
    document::{Document, Extra, LogEntry, LogKind, TestResult},
    ids::LogId,
};

fn title(hear: Hear) -> String {
    format!("Heard: {}", hear.words())
}

/// The log entry of a suspect's test. It belongs to the suspect as drawn: after a change of the
/// drawing the suspect counts as a new one, untested.
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

/// A suspect's words from an earlier program, in the words of today: tests in old files still count.
fn today(what: &str) -> String {
    let shared = match what.starts_with("shared return: ") {
        true => what.replace(" go back together through ", " share "),
        false => what.to_owned(),
    };
    shared
        .replace("structure, ", "airframe, ")
        .replace("the tie of ", "the ground link of ")
        .replace(" to structure", " to the airframe")
}

/// The latest test of a suspect in the log.
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
        let Some(result) = entry.results.iter().find(|it| today(&it.what) == suspect) else {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_of_earlier_files_are_understood() {
        assert_eq!(
            today("shared return: LT1, LT2 go back together through L1E18N"),
            "shared return: LT1, LT2 share L1E18N"
        );
        assert_eq!(
            today(
                "loop: A13 - the shield's end of A13 at structure, Panel - the tie of GB1 to \
                   structure"
            ),
            "loop: A13 - the shield's end of A13 at airframe, Panel - the ground link of GB1 to \
             the airframe"
        );
        let now = "supply of COM1";
        assert_eq!(today(now), now);
    }
}
