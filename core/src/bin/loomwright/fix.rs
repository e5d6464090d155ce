//! `loomwright fix`.

use std::fmt::Write as _;

use loomwright_core::{
    drawing, edit, exchange,
    rules::{Finding, Offer, Proved, Prover},
};

use crate::{
    ask,
    files::{NOTICE, open, open_to_write, print, write},
};

/// Findings whose fixes are tried for a list: each costs a check of the whole project.
pub const MOST_TRIED: usize = 100;

/// Makes a fix that was tried, or lists what there is.
pub fn run(ask: &ask::Fix) -> Result<(), String> {
    let document = match ask.output {
        Some(_) => open_to_write(&ask.file)?,
        None => open(&ask.file)?,
    };
    let prover = Prover::new(&document);
    let findings = prover.verdict().findings.iter();
    let open: Vec<&Finding> = findings.filter(|it| it.accepted.is_none()).collect();
    let Some(number) = ask.finding else {
        return print(&(list(&prover, &open) + NOTICE));
    };
    let finding = number.checked_sub(1).and_then(|at| open.get(at));
    let finding = finding.ok_or_else(|| {
        format!(
            "there is no finding {number}; the project has {} open",
            open.len()
        )
    })?;
    let proved = prover.fixes(finding);
    let offer = chosen(&proved, ask.number)?;
    let change = edit::show_splices(&document, &offer.fix.change, drawing::item_size);
    let made = change.applied(&document).map_err(|it| it.to_string())?;
    print(&(described(finding, offer) + NOTICE))?;
    match &ask.output {
        Some(output) => write(Some(output), &exchange::save(&made)),
        None => print("Nothing is written. Give --output to keep it.\n"),
    }
}

/// The fix that is meant.
fn chosen(proved: &Proved, number: Option<usize>) -> Result<&Offer, String> {
    let number = match (number, proved.offered.as_slice()) {
        (Some(number), _) => number,
        (None, [_]) => 1,
        (None, []) => 0,
        (None, many) => {
            let titles = (1..)
                .zip(many)
                .map(|(n, it)| format!("{n}: {}", it.fix.title));
            let titles: Vec<String> = titles.collect();
            return Err(format!("say which with --fix: {}", titles.join("; ")));
        }
    };
    let found = number.checked_sub(1).and_then(|at| proved.offered.get(at));
    found.ok_or_else(|| {
        let refused = proved.refused.iter();
        let refused = refused.map(|it| format!("\n  {}: {}", it.title, it.because));
        let refused: String = refused.collect();
        match (proved.offered.len(), refused.is_empty()) {
            (0, true) => "no fix is known for this finding".into(),
            (0, false) => {
                format!("no fix is offered for this finding; tried and not offered:{refused}")
            }
            (n, _) => format!("there is no fix {number}; {n} offered"),
        }
    })
}

/// Every open finding by number, with its fixes.
fn list(prover: &Prover<'_>, open: &[&Finding]) -> String {
    let mut text = String::new();
    for (at, finding) in open.iter().enumerate() {
        // Writing to a text cannot fail.
        let _ = writeln!(
            text,
            "{:>3} {}: {}",
            at + 1,
            finding.level.word(),
            finding.message
        );
        if at >= MOST_TRIED {
            continue;
        }
        let proved = prover.fixes(finding);
        for (n, it) in (1..).zip(&proved.offered) {
            let _ = writeln!(text, "      fix {n}: {}", it.fix.title);
        }
        for refused in &proved.refused {
            let _ = writeln!(
                text,
                "      not offered: {}: {}",
                refused.title, refused.because
            );
        }
    }
    text
}

/// What a fix does.
fn described(finding: &Finding, offer: &Offer) -> String {
    let mut text = format!("Fix: {}\nFor: {}\n", offer.fix.title, finding.message);
    for line in offer.fix.protectors() {
        let _ = writeln!(text, "Changes: {line}");
    }
    for line in &offer.goes {
        let _ = writeln!(text, "Goes: {line}");
    }
    for line in &offer.comes {
        let _ = writeln!(text, "Comes: {line}");
    }
    text
}
