//! The pack for the inspector and the next owner: title page, sheets, every list, tests, changes, open and
//! accepted findings, the sources of the rules, and cautions, in one file to print.

use super::{Cell, Paper, PaperInput, Part, Table, single::SINGLE};
use crate::order::InOrder;
use crate::{
    document::{Document, LogKind, RevisionMark, natural_cmp},
    rules::{self, Location, Verdict},
};

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let mut paper = empty(asked.document);
    for step in 0..steps(asked.document) {
        put(&mut paper, asked, step);
    }
    paper
}

/// The pack without any part yet.
pub fn empty(document: &Document) -> Paper {
    Paper::new("pack", "Inspection pack", document)
}

/// The number of steps that make the pack, for a progress display: title, each sheet, every other paper, log and
/// findings.
pub fn steps(document: &Document) -> usize {
    document.sheets.len() + SINGLE.len() + 2
}

/// Makes one step, counted from 0, in order.
pub fn put(paper: &mut Paper, asked: &PaperInput<'_>, step: usize) {
    let document = asked.document;
    let sheets = document.sheets.len();
    if step == 0 {
        title_page(paper, document);
    } else if step <= sheets {
        sheet(paper, asked, step - 1);
    } else if let Some((name, _, make)) = SINGLE.get(step - 1 - sheets) {
        // The pack has every line of the ring-out sheet.
        let one = make(&PaperInput {
            before: asked.before.filter(|_| *name != "ring-out"),
            ..*asked
        });
        paper.parts.push(Part::Begin(one.what));
        paper.heading(one.title);
        paper.parts.extend(one.parts);
    } else {
        paper
            .parts
            .push(Part::Begin("Log, versions, findings".into()));
        log(paper, document);
        kept_revisions(paper, document);
        findings(paper, document, &rules::check(document));
    }
}

fn title_page(paper: &mut Paper, document: &Document) {
    let project = &document.project;
    if !project.statement.is_empty() {
        paper.text(&*project.statement);
    }
    let columns = &[("what", "What", ""), ("value", "", "")];
    let mut table = Table::new("project", "Project", columns);
    let mut put = |what: &str, value: String| {
        table.rows.push(vec![Cell::text(what), Cell::text(value)]);
    };
    put("System", format!("{} V direct current", project.nominal_v));
    let target = project
        .target_min
        .map_or("not set".into(), |it| format!("{it:.0} min"));
    put("Endurance target", target);
    put("Devices", document.devices.len().to_string());
    put("Wires", document.wires.len().to_string());
    put("Cables", document.cables.len().to_string());
    put("Sheets", document.sheets.len().to_string());
    let last = document.log.values().map(|entry| &*entry.date).max();
    put("Last log entry", last.unwrap_or("none").into());
    paper.table(table);
    paper.caution(
        "Have a licensed person inspect the aircraft, not only this paper. It shows what the builder entered. A \
         passed check does not make a circuit airworthy, and what could not be checked is listed.",
    );
}

/// One sheet, by the order of sheet numbers.
fn sheet(paper: &mut Paper, asked: &PaperInput<'_>, at: usize) {
    let mut sheets: Vec<_> = asked.document.sheets.iter().collect();
    sheets.order_by_key(|(_, sheet)| sheet.number);
    let Some((id, sheet)) = sheets.get(at) else {
        return;
    };
    // The drawing is made without a phase.
    let name = format!("Sheet {}, {}, switches at rest", sheet.number, sheet.title);
    paper.parts.push(Part::Begin(name));
    paper.parts.push(Part::Drawing {
        svg: (asked.drawn)(asked.document, id),
        told: format!("sheet {}, {}", sheet.number, sheet.title),
    });
}

fn log(paper: &mut Paper, document: &Document) {
    paper.heading("Log");
    let columns = &[
        ("date", "Date", ""),
        ("who", "Who", ""),
        ("kind", "What", ""),
        ("text", "Entry", ""),
        ("hours", "Work", "h"),
    ];
    let mut table = Table::new("log", "Log", columns);
    let mut entries: Vec<_> = document.log.iter().collect();
    entries.order_by(|a, b| {
        a.1.date
            .cmp(&b.1.date)
            .then_with(|| natural_cmp(a.0.as_str(), b.0.as_str()))
    });
    for (_, entry) in entries {
        let results = entry.results.iter().map(|it| {
            let passed = if it.passed { "passed" } else { "FAILED" };
            format!(
                " {}: {} expected, {} read, {passed}.",
                it.what, it.expected, it.measured
            )
        });
        table.rows.push(vec![
            Cell::text(&entry.date),
            Cell::text(&entry.who),
            Cell::text(kind(entry.kind)),
            Cell::text(entry.text.clone() + &results.collect::<String>()),
            Cell::number(entry.hours, 1),
        ]);
    }
    paper.table(table);
}

/// Kept versions, oldest first; nothing if there is none.
fn kept_revisions(paper: &mut Paper, document: &Document) {
    if document.revisions.is_empty() {
        return;
    }
    paper.heading("Versions");
    let columns = &[
        ("date", "Date", ""),
        ("who", "Who", ""),
        ("name", "Name", ""),
        ("stands_for", "Kept as", ""),
        ("reason", "Reason", ""),
        ("key", "Key", ""),
    ];
    let mut table = Table::new("revisions", "Versions", columns);
    let mut kept: Vec<_> = document.revisions.iter().collect();
    kept.order_by(|a, b| a.1.date.cmp(&b.1.date).then(a.0.cmp(b.0)));
    for (id, it) in kept {
        let mark = match it.mark {
            Some(RevisionMark::AsBuilt) => "as built",
            Some(RevisionMark::Inspected) => "shown for inspection",
            None => "",
        };
        // The first letters of a key identify a version on paper.
        let key: String = id.as_str().chars().take(12).collect();
        let cells = [&*it.date, &*it.who, &*it.name, mark, &*it.reason, &*key];
        table.rows.push(cells.map(Cell::text).to_vec());
    }
    paper.table(table);
}

/// A kind of log entry, in words.
pub fn kind(kind: LogKind) -> &'static str {
    match kind {
        LogKind::Note => "remark",
        LogKind::Change => "change",
        LogKind::Test => "test",
        LogKind::AsBuilt => "as built",
    }
}

fn findings(paper: &mut Paper, document: &Document, verdict: &Verdict) {
    let n = &verdict.counts;
    paper.heading("Findings");
    paper.text(format!(
        "{} checks made: {} passed, {} findings, {} accepted, {} not checked.",
        n.examined, n.clear, n.found, n.accepted, n.not_checked
    ));
    let columns = &[
        ("state", "Status", ""),
        ("level", "Level", ""),
        ("rule", "Rule", ""),
        ("message", "Finding", ""),
        ("reason", "Reason for acceptance", ""),
    ];
    let mut table = Table::new("findings", "Findings", columns).grouped();
    let mut all: Vec<_> = verdict.findings.iter().collect();
    all.order_by_key(|it| (it.accepted.is_some(), it.level));
    for finding in all {
        let accepted = finding
            .accepted
            .as_ref()
            .and_then(|id| document.accepted.get(id));
        let reason = accepted.map_or(String::new(), |it| {
            format!("{} ({}, {})", it.reason, it.who, it.date)
        });
        table.rows.push(vec![
            Cell::text(if accepted.is_some() {
                "Accepted"
            } else {
                "Open"
            }),
            Cell::text(finding.level.word()),
            Cell::text(finding.title),
            Cell::text(&finding.message),
            Cell::text(reason),
        ]);
    }
    paper.table(table);
    paper.heading("Not checked");
    let columns = &[
        ("rule", "Rule", ""),
        ("at", "Where", ""),
        ("because", "Reason", ""),
    ];
    let mut table = Table::new("not_checked", "Not checked", columns);
    for missing in &verdict.not_checked {
        table.rows.push(vec![
            Cell::text(rules::rule(missing.rule).map_or(missing.rule, |rule| rule.title)),
            Cell::text(place(&missing.at)),
            Cell::text(&missing.because),
        ]);
    }
    paper.table(table);
    paper.heading("Rules and their sources");
    let columns = &[("rule", "Rule", ""), ("source", "Source", "")];
    let mut table = Table::new("rules", "Rules", columns);
    for rule in rules::RULES {
        let sources = rule.sources.iter();
        let sources: Vec<String> = sources
            .map(|source| format!("{}: {}", source.document, source.place))
            .collect();
        table
            .rows
            .push(vec![Cell::text(rule.title), Cell::text(sources.join("; "))]);
    }
    paper.table(table);
}

fn place(at: &Location) -> String {
    let kind = match at.kind {
        "state" => "phase",
        "terminal" => "pin",
        "element" => "part",
        kind => kind,
    };
    match at.label.as_str() {
        "" => format!("{kind} {}", at.id),
        label => format!("{kind} {label}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{asked, whole};

    #[test]
    fn kept_versions_are_listed_with_their_reasons() {
        let document = whole();
        let paper = paper(&asked(&document));
        let table = paper
            .tables()
            .find(|it| it.name == "revisions")
            .expect("it has kept versions");
        assert_eq!(table.rows.len(), document.revisions.len());
        let text = table.to_text();
        for it in document.revisions.values() {
            assert!(text.contains(&it.reason), "{text}");
        }
        let mut bare = document.clone();
        bare.revisions.clear();
        let paper = super::paper(&asked(&bare));
        assert!(paper.tables().all(|it| it.name != "revisions"));
    }
}
