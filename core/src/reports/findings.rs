//! Findings, open and accepted, what was not checked, and the rules with their sources.

use super::{Cell, Paper, PaperInput, Table};
use crate::order::InOrder;
use crate::{
    document::Document,
    rules::{self, Finding, Level, Location, Verdict},
};

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let mut paper = Paper::new("findings", "Findings", asked.document);
    put(&mut paper, asked.document);
    paper
}

/// Adds the findings of a document to a paper.
pub(super) fn put(paper: &mut Paper, document: &Document) {
    findings(paper, document, &rules::check(document));
}

/// The hazards alone, open and accepted, for the first page of a pack.
pub(super) fn hazards(document: &Document, verdict: &Verdict) -> Table {
    let mut table = Table::new("hazards", "Hazards", FINDINGS).grouped();
    let hazards = verdict
        .findings
        .iter()
        .filter(|it| it.level == Level::Hazard);
    table.rows = rows(document, hazards);
    table
}

const FINDINGS: &[(&str, &str, &str)] = &[
    ("state", "Status", ""),
    ("level", "Level", ""),
    ("rule", "Rule", ""),
    ("message", "Finding", ""),
    ("reason", "Reason for acceptance", ""),
];

/// Open ones first, then the worst.
fn rows<'v>(document: &Document, findings: impl Iterator<Item = &'v Finding>) -> Vec<Vec<Cell>> {
    let mut all: Vec<_> = findings.collect();
    all.order_by_key(|it| (it.accepted.is_some(), it.level));
    let row = |finding: &&Finding| {
        let accepted = finding.accepted.as_ref();
        let accepted = accepted.and_then(|id| document.accepted.get(id));
        let reason = accepted.map_or(String::new(), |it| {
            format!("{} ({}, {})", it.reason, it.who, it.date)
        });
        let state = match accepted {
            Some(_) => "Accepted",
            None => "Open",
        };
        vec![
            Cell::text(state),
            Cell::text(finding.level.word()),
            Cell::text(finding.title),
            Cell::text(&finding.message),
            Cell::text(reason),
        ]
    };
    all.iter().map(row).collect()
}

fn findings(paper: &mut Paper, document: &Document, verdict: &Verdict) {
    let n = &verdict.counts;
    paper.heading("Findings");
    paper.text(format!(
        "{} checks made: {} passed, {} findings, {} accepted, {} not checked.",
        n.examined, n.clear, n.found, n.accepted, n.not_checked
    ));
    let mut table = Table::new("findings", "Findings", FINDINGS).grouped();
    table.rows = rows(document, verdict.findings.iter());
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
