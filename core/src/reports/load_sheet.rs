//! The load sheet: loads by bus and phase, before and after a change, how long the battery lasts, and what
//! to do when the alternator stops.

use super::{
    Asked, Cell, Paper, Part, Table, effects, endurance as lasting, endurance_plot, loads,
    what_stops::{self, WhatStops},
};
use crate::{
    analysis::{
        endurance::{Endurance, Stop, endurance},
        failures::{Failure, Review, usual_state},
        load_analysis,
    },
    document::{AfterAlternator, Document},
};

/// The paper.
pub fn paper(asked: &Asked<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("loads", "Load sheet", document);
    let analysis = load_analysis(document);
    paper.table(loads::by_phase(document, &analysis));
    for phase in &analysis.phases {
        for device in &phase.give_nothing {
            let tag = document.record_label("device", device.as_str());
            paper.caution(format!(
                "In {} {tag} gives nothing as drawn: the battery supplies the loads, and no share of {tag} \
                 is stated. See the finding about it.",
                phase.title
            ));
        }
    }
    paper.text(
        "Plain sum: figures as stated. Continuous: solved at the real voltage of each load. Continuous loads \
         within 80 % of the alternator (FAA AC 43.13-1B CHG 1, par 11-35a; a rule of thumb).",
    );
    if let Some(before) = asked.before {
        paper.heading("Before and after the change");
        paper.table(effects::by_phase(&load_analysis(before), &analysis));
    }
    paper.heading("Endurance without alternator");
    let all = endurance(document);
    for line in lasting::batteries(&all) {
        paper.text(line);
    }
    for missing in &all.missing {
        paper.text(format!("Not computed: {missing}"));
    }
    paper.table(lasting::by_case(document, &all));
    paper.text(lasting::DIFFERENCE);
    if !all.cases.is_empty() {
        paper.parts.push(Part::Drawing {
            svg: endurance_plot::svg(&all),
            told: "bus voltage over time after the alternator stops".into(),
        });
    }
    stops(&mut paper, document);
    paper.heading("Each load");
    for phase in &analysis.phases {
        paper.text(format!("{}: {}", phase.title, loads::difference(phase)));
        paper.table(loads::each(&analysis, phase));
    }
    paper.parts.push(Part::Page);
    emergency(&mut paper, document, &all);
    paper
}

/// What stops if a part opens or a wire breaks.
fn stops(paper: &mut Paper, document: &Document) {
    let Some(state) = usual_state(document) else {
        return;
    };
    let mut review = Review::new(document, state);
    review.keep(|it| !matches!(it, Failure::Wire(_)));
    let found: Vec<_> = review.by_ref().collect();
    paper.heading(format!("What stops if a part opens, in {}", state.1.title));
    paper.text(
        "Sources, protectors, switches, relays, diodes, connectors, splices, ground blocks and bonds of metal, \
         one at a time, as solved.",
    );
    paper.table(WhatStops::of(&review, &found, None).table());
    let wires = review.wires(&found);
    let first: Vec<_> = wires.iter().map(|(_, first)| first.clone()).collect();
    let mut what = WhatStops::of(&review, &first, None);
    for (chain, first) in &wires {
        let (_, id, _) = what_stops::named(document, &first.failure);
        if let Some(line) = what.lines.iter_mut().find(|line| line.id == id) {
            let names = chain.iter().map(|wire| document.wire_label(wire));
            line.label = names.collect::<Vec<_>>().join(", ");
        }
    }
    paper.heading(format!("What stops if a wire breaks, in {}", state.1.title));
    paper.text(
        "Wires in one row follow on each other with nothing leaving in between, and fail alike. A wire that is \
         not here stops nothing that runs in this state.",
    );
    paper.table(Table {
        name: "what-stops-wires",
        ..what.table()
    });
}

/// The card for the day the alternator stops.
pub fn emergency(paper: &mut Paper, document: &Document, all: &Endurance) {
    paper.heading("Card: alternator out");
    paper.caution(
        "Made from the drawing. Fly the aircraft first; the handbook of the aircraft comes before this card. \
         Measure the minutes on the ground before trusting them.",
    );
    let columns = &[
        ("done", "Done by the pilot", ""),
        ("minutes", "Minutes", "min"),
        ("stops", "Stops on the way", ""),
    ];
    let mut table = Table::new("alternator_out", "Alternator out", columns);
    for case in &all.cases {
        let what = match case.case {
            AfterAlternator::NothingDone => "nothing",
            AfterAlternator::MainBusShed => "main bus off",
            AfterAlternator::EssentialOnly => "only the essential on",
        };
        let early = case.devices.iter().filter(|it| {
            !matches!(it.stop, Stop::RunsOn | Stop::Shed | Stop::Battery)
                && case.minutes.is_none_or(|minutes| it.minutes < minutes)
        });
        let early: Vec<String> = early
            .map(|it| format!("{} after {:.0} min", it.label, it.minutes))
            .collect();
        table.rows.push(vec![
            Cell::text(what),
            Cell::number(case.minutes, 0),
            Cell::text(early.join(", ")),
        ]);
    }
    paper.table(table);
    let stays = |case: AfterAlternator| -> Vec<String> {
        let devices = all.case(case).into_iter().flat_map(|it| &it.devices);
        let runs = devices.filter(|it| it.stop != Stop::Shed);
        runs.map(|it| it.label.clone()).collect()
    };
    let keeps = stays(AfterAlternator::EssentialOnly);
    if !keeps.is_empty() {
        paper.text(format!(
            "Stays on with only the essential on: {}.",
            keeps.join(", ")
        ));
    }
    let target = document.project.target_min;
    if let Some(target) = target {
        paper.text(format!("Wanted: {target:.0} min."));
    }
}
