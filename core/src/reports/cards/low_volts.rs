//! The card for low volts: what the buses show with and without the alternator, how to reset it, and what a reading
//! leaves.

use super::words::{FIRST, Words, cut_out};
use crate::{
    analysis::{
        endurance::whole_min,
        pilot::{self, Act, LowVolts},
    },
    document::Document,
    reports::{Cell, Paper, PaperInput, Table, harness::position},
    units::fixed,
};

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("low-volts", "Card: low volts", document);
    paper.caution(FIRST);
    let Some(card) = pilot::low_volts(document) else {
        paper.text("No phase of flight is in the project, so no reading can be computed.");
        return paper;
    };
    let words = Words::new(document);
    for missing in &card.missing {
        paper.text(format!("Not computed: {missing}."));
    }
    paper.heading("Is the alternator at work?");
    paper.text(format!(
        "The first figure is the lowest in any phase with the alternator, the second that just after it stops in \
         \u{201c}{}\u{201d}. At or below the second the battery carries the aircraft. Between them the reading tells \
         nothing: switch a large load on and watch whether the volts fall and keep falling.",
        card.phase
    ));
    paper.table(buses(&card));
    paper.heading("Reset it once");
    paper.caution(
        "Reset once only. An alternator that trips again has a fault that can burn: leave it off and take the card for \
         alternator out. Over 1 V above its set voltage, switch it off at once (common practice, no source).",
    );
    paper.table(resets(document, &words, &card));
    if !card.readings.is_empty() {
        paper.heading("What a reading leaves");
        paper.text(format!(
            "Volts of {} after the steps of the card for alternator out, from full batteries as the load sheet has \
             them. A cold, old or half-charged battery falls faster.",
            card.bus
        ));
        paper.table(readings(&words, &card));
    }
    let mut lines = Vec::new();
    for reset in &card.resets {
        for key in &reset.protectors {
            lines.push([
                format!("{} in?", words.circuit(key)),
                "push it in once".into(),
            ]);
        }
        if let (Some(off), Some(on)) = (&reset.off, &reset.on) {
            let both = format!("{}, then {}", words.act(off), words.act(on));
            lines.push([both, "resets the alternator".into()]);
        }
    }
    for (label, running, stopped) in &card.buses {
        if let (Some(running), Some(stopped)) = (running, stopped) {
            let text = format!(
                "alternator {} V or more, battery {} V or less",
                fixed(*running, 1),
                fixed(*stopped, 1)
            );
            lines.insert(0, [label.clone(), text]);
        }
    }
    lines.push(["Volts stay low".into(), "card ALTERNATOR OUT".into()]);
    for it in &card.readings {
        lines.push([
            format!("{} {} V", card.bus, fixed(it.volts, 1)),
            format!("{} min left", whole_min(it.left_min)),
        ]);
    }
    cut_out(&mut paper, "LOW VOLTS", lines, Vec::new());
    paper
}

fn buses(card: &LowVolts) -> Table {
    let columns = &[
        ("bus", "Bus", ""),
        ("running_v", "Alternator at work, lowest", "V"),
        ("stopped_v", "Just stopped", "V"),
    ];
    let mut table = Table::new("buses", "Volts of the buses", columns);
    for (label, running, stopped) in &card.buses {
        table.rows.push(vec![
            Cell::text(label),
            Cell::number(*running, 1),
            Cell::number(*stopped, 1),
        ]);
    }
    table
}

fn resets(document: &Document, words: &Words<'_>, card: &LowVolts) -> Table {
    let columns = &[
        ("field", "Alternator", ""),
        ("close", "Breaker or fuse that must be in", ""),
        ("off", "Switch off", ""),
        ("on", "And on again", ""),
        ("do", "Words on the panel", ""),
    ];
    let mut table = Table::new("reset", "Reset", columns);
    for it in &card.resets {
        let at = |act: &Option<Act>| match act {
            Some(Act::Switch(key, at)) => Cell::List(vec![position(document, key, *at)]),
            _ => Cell::List(Vec::new()),
        };
        let told = match (&it.off, &it.on) {
            (Some(off), Some(on)) => format!("{}, then {}", words.act(off), words.act(on)),
            _ => "no switch takes its supply alone".into(),
        };
        table.rows.push(vec![
            words.tags(std::slice::from_ref(&it.field)),
            words.tags(&it.protectors),
            at(&it.off),
            at(&it.on),
            Cell::text(told),
        ]);
    }
    table
}

fn readings(words: &Words<'_>, card: &LowVolts) -> Table {
    let columns = &[
        ("volts", "Reading", "V"),
        ("left_min", "Left", "min"),
        ("stopped", "Stopped by then", ""),
    ];
    let mut table = Table::new("readings", "What a reading leaves", columns);
    for it in &card.readings {
        table.rows.push(vec![
            Cell::Number(it.volts, 1),
            Cell::Number(whole_min(it.left_min), 0),
            words.tags(&it.stopped),
        ]);
    }
    table
}
