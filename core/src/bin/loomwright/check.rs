//! `loomwright check`: findings as text or JSON, and an exit code.

use std::{fmt::Write as _, process::ExitCode};

use loomwright_core::{
    document::Document,
    ids::AcceptedId,
    rules::{Counts, Finding, Level, Location, Mend, NotChecked, Proved, Prover, Source},
    units::{in_length_unit, length_unit},
};
use serde::Serialize;

use crate::{
    ask::{Check, Form},
    files,
    fix::MOST_TRIED,
};

/// Checks a project. Exit code 1: a finding is at or above the level of `--fail-at`.
pub fn run(ask: &Check) -> Result<ExitCode, String> {
    let document = files::open(&ask.file)?;
    let prover = Prover::new(&document);
    let verdict = prover.verdict();
    let text = match ask.format {
        Form::Text => in_words(&document, &prover),
        Form::Json => in_json(&prover),
    };
    files::print(&text)?;
    let fails =
        |finding: &Finding| finding.accepted.is_none() && finding.level <= ask.fail_at.level();
    Ok(ExitCode::from(u8::from(verdict.findings.iter().any(fails))))
}

/// A finding with the fields that other programs rely on.
#[derive(Serialize)]
struct FindingJson<'v> {
    rule: &'v str,
    level: Level,
    title: &'v str,
    message: &'v str,
    at: &'v [Location],
    measured: Option<f64>,
    limit: Option<f64>,
    unit: &'v str,
    working: &'v [String],
    sources: &'v [Source],
    mends: Vec<Mend>,
    accepted: Option<&'v str>,
    follows_from: Option<usize>,
}

impl<'v> FindingJson<'v> {
    fn new(finding: &'v Finding, proved: Proved) -> Self {
        Self {
            rule: finding.rule,
            level: finding.level,
            title: finding.title,
            message: &finding.message,
            at: &finding.at,
            measured: finding.measured,
            limit: finding.limit,
            unit: &finding.unit,
            working: &finding.working,
            sources: finding.sources,
            mends: proved.offered.into_iter().map(|it| it.fix).collect(),
            accepted: finding.accepted.as_ref().map(AcceptedId::as_str),
            follows_from: finding.follows,
        }
    }
}

#[derive(Serialize)]
struct Answer<'v> {
    findings: Vec<FindingJson<'v>>,
    not_checked: &'v [NotChecked],
    counts: Counts,
}

/// The fixes of a finding; of the first hundred, for each has to be tried.
fn fixes(prover: &Prover<'_>, at: usize, finding: &Finding) -> Proved {
    match at < MOST_TRIED {
        true => prover.fixes(finding),
        false => Proved::default(),
    }
}

fn in_json(prover: &Prover<'_>) -> String {
    let verdict = prover.verdict();
    let findings = verdict.findings.iter().enumerate();
    let findings_json = findings.map(|(at, it)| FindingJson::new(it, fixes(prover, at, it)));
    files::json(&Answer {
        findings: findings_json.collect(),
        not_checked: &verdict.not_checked,
        counts: verdict.counts,
    })
}

fn in_words(document: &Document, prover: &Prover<'_>) -> String {
    let verdict = prover.verdict();
    let mut text = String::new();
    let (accepted, open): (Vec<_>, Vec<_>) = verdict
        .findings
        .iter()
        .partition(|finding| finding.accepted.is_some());
    for (at, finding) in open.into_iter().enumerate() {
        let cause = finding.follows.and_then(|it| verdict.findings.get(it));
        let fixes = fixes(prover, at, finding);
        put_finding(&mut text, document, (finding, cause), &fixes);
    }
    for finding in accepted {
        let reason = finding
            .accepted
            .as_ref()
            .and_then(|id| document.accepted.get(id));
        let reason = reason.map_or("", |accepted| accepted.reason.as_str());
        put_heading(&mut text, "ACCEPTED", finding);
        put_line(&mut text, "Reason", reason);
        text.push('\n');
    }
    for missing in &verdict.not_checked {
        let _ = writeln!(
            text,
            "NOT CHECKED  {}: {} ({})",
            place(&missing.at),
            missing.because,
            missing.rule
        );
    }
    if !verdict.not_checked.is_empty() {
        text.push('\n');
    }
    let n = &verdict.counts;
    let _ = writeln!(
        text,
        "{} checks made: {} passed, {} findings, {} accepted, {} not checked",
        n.examined, n.clear, n.found, n.accepted, n.not_checked
    );
    let open = [
        (n.hazards, "hazard"),
        (n.faults, "fault"),
        (n.cautions, "caution"),
        (n.notes, "note"),
    ];
    let open = open.map(|(n, word)| format!("{n} {word}{}", if n == 1 { "" } else { "s" }));
    let _ = writeln!(text, "Open: {}", open.join(", "));
    if n.following > 0 {
        let _ = writeln!(text, "Of these {} follow from others", n.following);
    }
    text += files::NOTICE;
    text
}

fn put_finding(
    text: &mut String,
    document: &Document,
    (finding, cause): (&Finding, Option<&Finding>),
    proved: &Proved,
) {
    put_heading(text, &finding.level.word().to_uppercase(), finding);
    if let Some(cause) = cause {
        put_line(text, "Follows from", &cause.message);
    }
    for at in &finding.at {
        put_line(text, "Where", &place(at));
    }
    let in_feet = document.project.show_feet && finding.unit == "m";
    let unit = match in_feet {
        true => length_unit(true),
        false => &finding.unit,
    };
    for (name, value) in [("Computed", finding.measured), ("Limit", finding.limit)] {
        if let Some(value) = value {
            let shown = figure(in_length_unit(value, in_feet));
            put_line(text, name, &format!("{shown} {unit}"));
        }
    }
    for line in &finding.working {
        put_line(text, "Working", line);
    }
    if !finding.help.is_empty() {
        put_line(text, "What to do", &finding.help);
    }
    for offer in &proved.offered {
        put_line(text, "Fix", &offer.fix.title);
    }
    for fix in &proved.refused {
        put_line(
            text,
            "Fix not offered",
            &format!("{}: {}", fix.title, fix.because),
        );
    }
    for source in finding.sources {
        let cited = format!("{}: {}", source.document, source.place);
        put_line(text, "Source", &cited);
    }
    text.push('\n');
}

/// The level, the rule's title and where it applies, then the finding's own sentence.
fn put_heading(text: &mut String, level: &str, finding: &Finding) {
    let first = finding.at.first();
    let called = first.map_or(String::new(), |at| match at.label.as_str() {
        "" => format!(": {}", at.id),
        label => format!(": {label}"),
    });
    // Writing to a text cannot fail.
    let _ = writeln!(text, "{level}  {}{called}", finding.title);
    let _ = writeln!(text, "  {}", finding.message);
    put_line(text, "Rule", finding.rule);
}

fn put_line(text: &mut String, name: &str, value: &str) {
    let _ = writeln!(text, "  {name}: {value}");
}

fn place(at: &Location) -> String {
    if at.label.is_empty() {
        format!("{} {}", at.kind, at.id)
    } else {
        format!("{} {} ({})", at.kind, at.label, at.id)
    }
}

/// Four significant digits, without trailing zeros.
fn figure(value: f64) -> String {
    let decimals = match value.abs() {
        v if v >= 1000.0 => 0,
        v if v >= 100.0 => 1,
        v if v >= 10.0 => 2,
        _ => 3,
    };
    let text = format!("{value:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').into(),
        false => text,
    }
}
