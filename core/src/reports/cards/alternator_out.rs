//! The card for the alternator's failure: what to do in order, the minutes after each step, what stops, what to turn
//! off next.

use super::words::{FIRST, STEPS, Words, cut_out};
use crate::{
    analysis::{endurance::whole_min, pilot},
    reports::{Cell, Paper, PaperInput, Part, Table},
};

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("alternator-out", "Card: alternator out", document);
    paper.caution(FIRST);
    let Some(card) = pilot::alternator_out(document) else {
        paper.text("No phase of flight is in the project, so it is not known what runs when the alternator stops.");
        return paper;
    };
    let words = Words::new(document);
    let target = document.project.target_min;
    let target = target.map_or("no target set".into(), |it| format!("target {it:.0} min"));
    paper.text(format!(
        "Computed from \u{201c}{}\u{201d} with the alternator stopped and the batteries as charged and aged as the load \
         sheet says; {target}. Minutes count from the moment the alternator stops{}; each line is what you get if you \
         stop there.",
        card.phase,
        match document.project.shed_after_min {
            Some(minutes) if minutes > 0.0 => format!(", the steps done after {minutes:.0} min"),
            _ => ", the steps done at once".into(),
        }
    ));
    for missing in &card.missing {
        paper.text(format!("Not computed: {missing}."));
    }
    let parts = [
        ("In this order", &card.steps),
        (
            "Then what you can do without, each after all above it",
            &card.next,
        ),
    ];
    if !card.next.is_empty() {
        paper.caution(match card.knows_critical {
            true => "Units that are marked as critical are not offered to be turned off. Strike out what else you need to land.",
            false => "No unit is marked as critical, so all are offered to be turned off: strike out what you need to land.",
        });
    }
    let columns: Vec<_> = [("part", "When", "")]
        .iter()
        .chain(STEPS)
        .copied()
        .collect();
    let mut table = Table::new("steps", "Alternator out", &columns).grouped();
    let mut before = None;
    for (part, steps) in parts {
        for step in steps {
            let mut row = vec![Cell::text(part)];
            row.extend(words.row(table.rows.len(), step, before));
            table.rows.push(row);
            before = step.minutes;
        }
    }
    paper.table(table);
    if !card.fixed.is_empty() {
        paper.text(format!(
            "Nothing in reach turns these off alone: {}.",
            words.loads(&card.fixed)
        ));
    }
    let first = card.steps.first();
    let minutes = first.and_then(|it| it.minutes);
    let minutes = minutes.map_or("not computed".into(), |it| format!("{} min", whole_min(it)));
    let mut lines = vec![["Nothing done".into(), minutes]];
    lines.extend(card.steps.iter().filter_map(|it| words.line(it)));
    if let [_, .., last] = &card.steps[..] {
        lines.push(["Then runs".into(), words.loads(&last.runs)]);
    }
    if !card.next.is_empty() {
        lines.push([
            "Not needed to land?".into(),
            "turn off next, in this order".into(),
        ]);
    }
    lines.extend(card.next.iter().filter_map(|it| words.line(it)));
    paper.parts.push(Part::Page);
    cut_out(&mut paper, "ALTERNATOR OUT", lines, Vec::new());
    paper
}
