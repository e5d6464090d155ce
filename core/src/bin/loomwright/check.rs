//! `loomwright check`: findings as text or JSON, and an exit code.

use std::{fmt::Write as _, process::ExitCode};

use loomwright_core::{
    document::Document,
    ids::AcceptedId,
    rules::{self, At, Counts, Finding, Level, Mend, NotChecked, Source, Verdict},
    units::{in_length_unit, length_unit},
};
use serde::Serialize;

use crate::{
    ask::{Check, Form},
    fail, files,
};

pub fn run(ask: &Check) -> ExitCode {
    let document = match files::open(&ask.file) {
        Ok(document) => document,
        Err(problem) => return fail(&problem),
    };
    let verdict = rules::check(&document);
    let text = match ask.format {
        Form::Text => in_words(&document, &verdict),
        Form::Json => in_json(&verdict),
    };
    if let Err(problem) = files::print(&text) {
        return fail(&problem);
    }
    let is_denied =
        |finding: &Finding| finding.accepted.is_none() && finding.level <= ask.deny.level();
    ExitCode::from(u8::from(verdict.findings.iter().any(is_denied)))
}

/// A finding with the fields that programs may rely on.
#[derive(Serialize)]
struct Told<'v> {
    rule: &'v str,
    level: Level,
    title: &'v str,
    message: &'v str,
    at: &'v [At],
    measured: Option<f64>,
    limit: Option<f64>,
    unit: &'v str,
    working: &'v [String],
    sources: &'v [Source],
    mends: &'v [Mend],
    accepted: Option<&'v str>,
}

impl<'v> Told<'v> {
    fn new(finding: &'v Finding) -> Self {
        Self {
            rule: finding.rule,
            level: finding.level,
            title: finding.title,
            message: &finding.message,
            at: &finding.at,
            measured: finding.measured,
            limit: finding.limit,
            unit: finding.unit,
            working: &finding.working,
            sources: finding.sources,
            mends: &finding.mends,
            accepted: finding.accepted.as_ref().map(AcceptedId::as_str),
        }
    }
}

#[derive(Serialize)]
struct Answer<'v> {
    findings: Vec<Told<'v>>,
    not_checked: &'v [NotChecked],
    counts: Counts,
}

fn in_json(verdict: &Verdict) -> String {
    files::json(&Answer {
        findings: verdict.findings.iter().map(Told::new).collect(),
        not_checked: &verdict.not_checked,
        counts: verdict.counts,
    })
}

fn in_words(document: &Document, verdict: &Verdict) -> String {
    let mut text = String::new();
    let (accepted, open): (Vec<_>, Vec<_>) = verdict
        .findings
        .iter()
        .partition(|finding| finding.accepted.is_some());
    for finding in open {
        put_finding(&mut text, document, finding);
    }
    for finding in accepted {
        let reason = finding
            .accepted
            .as_ref()
            .and_then(|id| document.accepted.get(id));
        let reason = reason.map_or("", |accepted| accepted.reason.as_str());
        let _ = writeln!(
            text,
            "accepted[{}]: {}\n  = reason: {reason}\n",
            finding.rule, finding.message
        );
    }
    for missing in &verdict.not_checked {
        let _ = writeln!(
            text,
            "not checked[{}]: {}, {}",
            missing.rule,
            place(&missing.at),
            missing.because
        );
    }
    if !verdict.not_checked.is_empty() {
        text.push('\n');
    }
    let n = &verdict.counts;
    let _ = writeln!(
        text,
        "{} examined: {} clear, {} found, {} accepted, {} not checked",
        n.examined, n.clear, n.found, n.accepted, n.not_checked
    );
    let open = [
        (n.hazards, "hazard"),
        (n.faults, "fault"),
        (n.cautions, "caution"),
        (n.notes, "note"),
    ];
    let open = open.map(|(n, word)| format!("{n} {word}{}", if n == 1 { "" } else { "s" }));
    let _ = writeln!(text, "open: {}", open.join(", "));
    text += files::NOTICE;
    text
}

fn put_finding(text: &mut String, document: &Document, finding: &Finding) {
    // Writing to a text cannot fail.
    let _ = writeln!(
        text,
        "{}[{}]: {}",
        finding.level.word(),
        finding.rule,
        finding.message
    );
    for (n, at) in finding.at.iter().enumerate() {
        let arrow = if n == 0 { "-->" } else { "   " };
        let _ = writeln!(text, "  {arrow} {}", place(at));
    }
    if let (Some(measured), Some(limit)) = (finding.measured, finding.limit) {
        let in_feet = document.project.show_feet && finding.unit == "m";
        let unit = if in_feet {
            length_unit(true)
        } else {
            finding.unit
        };
        let show = |value| figure(in_length_unit(value, in_feet));
        let _ = writeln!(
            text,
            "  = measured: {} {unit}, limit: {} {unit}",
            show(measured),
            show(limit)
        );
    }
    for line in &finding.working {
        let _ = writeln!(text, "  = working: {line}");
    }
    for source in finding.sources {
        let _ = writeln!(text, "  = source: {}: {}", source.document, source.place);
    }
    if !finding.help.is_empty() {
        let _ = writeln!(text, "  = help: {}", finding.help);
    }
    for mend in &finding.mends {
        let _ = writeln!(text, "  = mend: {}", mend.title);
    }
    text.push('\n');
}

fn place(at: &At) -> String {
    if at.label.is_empty() {
        format!("{} {}", at.kind, at.id)
    } else {
        format!("{} {} ({})", at.kind, at.label, at.id)
    }
}

/// Four digits that count, no zeros at the end.
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
