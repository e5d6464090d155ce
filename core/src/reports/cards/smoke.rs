//! The card for smoke or a smell of burning: off with the least movements, and what to bring back.

use super::words::{FIRST, STEPS, Words, cut_out};
use crate::{
    analysis::pilot,
    reports::{Paper, PaperInput, Table},
};

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("smoke", "Card: smoke or smell of burning", document);
    paper.caution(FIRST);
    let Some(card) = pilot::smoke(document) else {
        paper.text("No phase of flight is in the project, so it is not known what runs.");
        return paper;
    };
    let words = Words::new(document);
    for missing in &card.missing {
        paper.text(format!("Not computed: {missing}."));
    }
    paper.caution(
        "If the engine needs electricity for ignition, fuel or its computer, everything off stops it. The drawing cannot \
         tell: read what stops in each line, and do not carry this card if the engine is among it.",
    );
    paper.caution(
        "Smoke may come from fuel or oil: fly the handbook\u{2019}s procedure for fire. Land as soon as you can. A unit \
         with a battery of its own stays on until you switch it off itself.",
    );
    paper.heading("Everything off");
    paper.text(format!(
        "From \u{201c}{}\u{201d}, the alternator turning. Leave the magneto switch as it is.",
        card.phase
    ));
    let mut table = Table::new("steps", "Everything off", STEPS);
    for (n, step) in card.off.iter().enumerate() {
        let mut step = step.clone();
        // The alternator turns: no battery runs down.
        step.minutes = None;
        step.lasts_on = false;
        step.early.clear();
        table.rows.push(words.row(n + 1, &step, None));
    }
    paper.table(table);
    let leave: Vec<String> = card.leave.iter().map(|it| words.act(it)).collect();
    if !leave.is_empty() {
        paper.text(format!("Leave: {}.", leave.join(", ")));
    }
    paper.text("What is still live is on the card \u{201c}What cannot be turned off\u{201d}.");
    paper.heading("Only if you cannot land without it");
    paper.text(
        "Pull the breakers of what you can do without first. One switch, then wait a minute: if smoke or smell comes \
         back, off again and leave it off. Each line is from everything off, on the batteries alone.",
    );
    let mut table = Table::new("back", "What brings something back", STEPS);
    for (n, step) in card.back.iter().enumerate() {
        table.rows.push(words.row(n + 1, step, None));
    }
    paper.table(table);
    let mut lines = Vec::new();
    for step in &card.off {
        if let Some(act) = &step.act {
            lines.push([words.act(act), format!("stops {}", words.loads(&step.lost))]);
        }
    }
    let runs = card.off.last().map_or(&[][..], |it| &it.runs);
    if !runs.is_empty() {
        lines.push(["Runs on".into(), words.loads(runs)]);
    }
    lines.push(["Vents, land".into(), "handbook: fire".into()]);
    if let Some((act, step)) = card
        .back
        .first()
        .and_then(|it| Some((it.act.as_ref()?, it)))
    {
        lines.push([
            format!("Only if needed: {}", words.act(act)),
            words.outcome(step),
        ]);
    }
    let foot = match leave.is_empty() {
        true => String::new(),
        false => format!("Leave: {}.", leave.join(", ")),
    };
    cut_out(&mut paper, "SMOKE", lines, vec![foot]);
    paper
}
