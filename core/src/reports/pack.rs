//! The pack for the inspector and the next owner, in one file to print: a first page with what it holds, hazards and
//! signatures, the sheets, every list, tests, cards, changes, findings and the sources of the rules.

use super::{
    Cell, Paper, PaperInput, Part, Table, always_hot, findings, log, sheets, single::SINGLE,
};
use crate::{
    document::Document,
    rules::{self, Level},
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
        sheets::put(paper, asked, step - 1);
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
        log::put(paper, document);
        findings::put(paper, document);
    }
}

fn title_page(paper: &mut Paper, document: &Document) {
    let project = &document.project;
    if !project.statement.is_empty() {
        paper.text(&*project.statement);
    }
    paper.caution(
        "Have a licensed person inspect the aircraft, not only this paper. It shows what the builder entered. A \
         passed check does not make a circuit airworthy, and what could not be checked is listed.",
    );
    paper.table(figures(document));
    let verdict = rules::check(document);
    paper.heading("Hazards, open and accepted");
    let hazards = findings::hazards(document, &verdict);
    match hazards.rows.is_empty() {
        true => paper.text("No check found a hazard, and none is accepted."),
        false => paper.table(hazards),
    }
    let open = |level| {
        let open = verdict.findings.iter().filter(|it| it.accepted.is_none());
        open.filter(|it| it.level == level).count()
    };
    paper.text(format!(
        "Open besides: {} faults, {} cautions, {} notes; {} checks not made because a value is missing. The last pages \
         list them.",
        open(Level::Fault),
        open(Level::Caution),
        open(Level::Note),
        verdict.counts.not_checked
    ));
    paper.heading("Signatures");
    paper.table(signatures());
    paper.heading("Contents");
    paper.parts.push(Part::Contents);
    paper.heading("Always hot, with every switch at rest");
    paper.table(always_hot::table(document));
}

fn figures(document: &Document) -> Table {
    let project = &document.project;
    let columns = &[("what", "What", ""), ("value", "Value", "")];
    let mut table = Table::new("project", "Project", columns);
    let mut put = |what: &str, value: String| {
        table.rows.push(vec![Cell::text(what), Cell::text(value)]);
    };
    let registration = match project.registration.as_str() {
        "" => "not set",
        given => given,
    };
    put("Registration", registration.into());
    put("System", format!("{} V direct current", project.nominal_v));
    let target = project
        .target_min
        .map_or("not set".into(), |it| format!("{it:.0} min"));
    put("Endurance target", target);
    put(
        "Drawn",
        format!(
            "{} devices, {} wires, {} cables, {} sheets",
            document.devices.len(),
            document.wires.len(),
            document.cables.len(),
            document.sheets.len()
        ),
    );
    let last = document.log.values().map(|entry| &*entry.date).max();
    put("Last log entry", last.unwrap_or("none").into());
    table
}

/// Who answers for the aircraft, in fields to write in.
fn signatures() -> Table {
    let columns = &[
        ("role", "As", ""),
        ("name", "Name in capitals", ""),
        ("license", "License or certificate", ""),
        ("date", "Date", ""),
        ("signature", "Signature", ""),
    ];
    let mut table = Table::new("signatures", "Signatures", columns);
    for role in ["Builder", "Licensed person", "Owner"] {
        let blank = Cell::Entry {
            value: String::new(),
            key: String::new(),
        };
        let mut row = vec![blank; columns.len()];
        row[0] = Cell::text(role);
        table.rows.push(row);
    }
    table
}
