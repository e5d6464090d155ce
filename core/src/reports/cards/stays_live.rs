//! The card of what cannot be turned off: live with every switch off and every breaker pulled.

use super::words::{FIRST, Words, cut_out};
use crate::{
    analysis::pilot::{self, StaysLive},
    document::Document,
    reports::{Cell, Paper, PaperInput, Table, harness::position},
};

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("stays-live", "Card: what cannot be turned off", document);
    paper.caution(FIRST);
    let Some(card) = pilot::stays_live(document) else {
        paper.text("No phase of flight is in the project, so it is not known what is turned off.");
        return paper;
    };
    let words = Words::new(document);
    paper.caution(
        "A short on one of these wires burns until its fuse opens, or until the battery is disconnected. Where the fuse \
         is \u{201c}none\u{201d}, no hand can take one out: an in-line fuse or a limiter may be in the wire, or nothing \
         (see what is always hot on the first pages of the pack). Know where they run, and check them for chafe at every \
         inspection.",
    );
    let switches: Vec<String> = (card.switches.iter())
        .filter_map(|act| match act {
            pilot::Act::Switch(key, at) => Some(position(document, key, *at)),
            _ => None,
        })
        .collect();
    paper.text(format!(
        "Still live with the alternator turning, every breaker pulled, and {}:",
        match switches.is_empty() {
            true => "no switch moved".into(),
            false => switches.join(", "),
        }
    ));
    paper.table(circuits(document, &words, &card));
    if !card.welded.is_empty() {
        paper.heading("A contactor that stays closed");
        paper.text(
            "Its points can weld. Every switch at rest, these loads run on all the same: turn each off by its own switch \
             or breaker.",
        );
        paper.table(welded(&words, &card));
    }
    let mut lines = Vec::new();
    for it in &card.circuits {
        let what = match &it.fuse {
            Some(key) => format!("{} fuse", words.circuit(key)),
            None => "No fuse to take out".into(),
        };
        let runs = match it.runs.is_empty() {
            true => words.devices(&it.live),
            false => format!(
                "{}; runs: {}",
                words.devices(&it.live),
                words.loads(&it.runs)
            ),
        };
        lines.push([what, runs]);
    }
    for it in &card.welded {
        let device = it.contact.split('/').next().unwrap_or_default();
        let title = document
            .devices
            .get(device)
            .map_or(device, |it| it.title.as_str());
        lines.push([format!("{title} stays closed"), words.loads(&it.runs)]);
    }
    if lines.is_empty() {
        lines.push(["Nothing".into(), "all dead with the switches off".into()]);
    }
    cut_out(&mut paper, "CANNOT BE TURNED OFF", lines, Vec::new());
    paper
}

fn circuits(document: &Document, words: &Words<'_>, card: &StaysLive) -> Table {
    let columns = &[
        ("fuse", "Fuse", ""),
        ("circuit", "Circuit", ""),
        ("off_by", "Turned off by", ""),
        ("live", "Live", ""),
        ("runs", "Runs", ""),
    ];
    let mut table = Table::new("circuits", "What cannot be turned off", columns);
    for it in &card.circuits {
        let fuse = it.fuse.as_deref();
        table.rows.push(vec![
            Cell::text(fuse.map_or("none".into(), |key| words.tag(key))),
            Cell::text(fuse.map_or("battery".into(), |key| words.circuit(key))),
            Cell::text(match fuse {
                Some(_) => "taking the fuse out, if it is in reach",
                None => "disconnecting the battery, on the ground",
            }),
            Cell::List(it.live.iter().map(|end| document.end_label(end)).collect()),
            words.tags(&it.runs),
        ]);
    }
    table
}

fn welded(words: &Words<'_>, card: &StaysLive) -> Table {
    let columns = &[("contact", "Stays closed", ""), ("runs", "Runs on", "")];
    let mut table = Table::new("welded", "A contactor that stays closed", columns);
    for it in &card.welded {
        table.rows.push(vec![
            Cell::text(words.tag(&it.contact)),
            words.tags(&it.runs),
        ]);
    }
    table
}
