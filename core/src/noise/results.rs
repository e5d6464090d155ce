//! Answers of the hunt, kept in the project's log, and readings of the ring-out sheet that count in it.

use super::{
    guide::Guide,
    step::{Answer, Step},
    suspect::{Fault, Hear, Outcome, Suspect},
};
use crate::{
    analysis::ring_out::OPEN_OHM,
    document::{Document, End, Extra, LogEntry, LogKind, Test, TestResult},
    ids::LogId,
};

/// Below this a circuit touches metal, ohm: wires and contacts have less, units more (common practice, no source).
const TOUCHES_OHM: f64 = 10.0;

fn title(hear: Hear) -> String {
    format!("Heard: {}", hear.words())
}

/// The log entry of an answer. It is found again by the keys of its records, so labels may change.
pub fn entry(
    document: &Document,
    hear: Hear,
    (step, answer): (&Step, &Answer),
    told: String,
    (date, who): (String, String),
) -> LogEntry {
    LogEntry {
        date,
        who,
        kind: LogKind::Test,
        text: title(hear),
        hours: None,
        results: vec![TestResult {
            what: step.title(document),
            expected: step.how().into(),
            measured: told,
            passed: *answer == Answer::Same || *answer == Answer::These(Vec::new()),
            step: step.to_words(),
            answer: answer.to_words(),
            extra: Extra::new(),
        }],
        extra: Extra::new(),
    }
}

/// Answers in the log to what is heard, each step once: its last answer, in the order of the log.
pub fn answers(document: &Document, hear: Hear) -> Vec<(Step, Answer)> {
    answered(document, hear)
        .into_iter()
        .map(|it| (it.1, it.2))
        .collect()
}

/// The same with the entries that hold them.
pub fn answered(document: &Document, hear: Hear) -> Vec<(&LogId, Step, Answer)> {
    let title = title(hear);
    let mut all: Vec<(&LogId, &LogEntry, Step, Answer)> = Vec::new();
    for (id, entry) in &document.log {
        if entry.kind != LogKind::Test || entry.text != title {
            continue;
        }
        for result in &entry.results {
            let read = Step::read(&result.step).zip(Answer::read(&result.answer));
            let Some((step, answer)) = read else { continue };
            match all.iter_mut().find(|it| it.2 == step) {
                Some(known) if known.1.date <= entry.date => *known = (id, entry, step, answer),
                Some(_) => {}
                None => all.push((id, entry, step, answer)),
            }
        }
    }
    all.into_iter().map(|it| (it.0, it.2, it.3)).collect()
}

/// What readings entered on the ring-out sheet say of each suspect: true if it is a cause, false if it is not.
pub(super) fn readings(guide: &Guide<'_>, suspects: &[Suspect]) -> Vec<Option<bool>> {
    let netlist = guide.noise.point.netlist();
    let jacks = guide.jacks();
    let says = |suspect: &Suspect| {
        let (Fault::Jack(jack) | Fault::Low(jack)) = &suspect.fault else {
            return None;
        };
        let sleeve = jacks.iter().find(|it| it.0 == jack)?.2;
        let is_low = |end: &End| {
            let node = netlist.end_node(end);
            node.is_some_and(|it| guide.conductors.same(it, sleeve))
        };
        let mut said = None;
        for reading in guide.document.readings.values() {
            let ends = [&reading.from, &reading.to];
            let lows = ends.iter().filter(|it| is_low(it)).count();
            let to_metal = ends.iter().any(|it| matches!(it, End::Structure(_)));
            let alone = reading.to == End::Open;
            let open = reading.over_range || reading.value.is_some_and(|it| it >= OPEN_OHM);
            let touches = reading.value.is_some_and(|it| it < TOUCHES_OHM);
            said = match (&suspect.fault, reading.test) {
                (Fault::Jack(_), Test::Isolation) if lows == 1 && (to_metal || alone) => {
                    match (open, touches && to_metal) {
                        (true, _) => Some(false),
                        (_, true) => Some(true),
                        _ => said,
                    }
                }
                (Fault::Low(_), Test::Continuity) if lows == 2 => Some(open),
                _ => said,
            };
        }
        said
    };
    suspects.iter().map(says).collect()
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

/// The latest test of a suspect that an earlier program kept in the log.
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
