//! The load sheet: loads by bus and phase, before and after a change, and battery endurance.

use super::{
    Paper, PaperInput, Part, Table, effects, endurance as lasting, endurance_plot, loads,
    what_stops::{self, WhatStops},
};
use crate::{
    analysis::{
        endurance::endurance,
        failures::{Failure, Review, usual_state},
        load_analysis,
    },
    document::{Document, ElementKind, natural_cmp},
    order::InOrder,
};

/// The paper.
pub fn paper(asked: &PaperInput<'_>) -> Paper {
    let document = asked.document;
    let mut paper = Paper::new("loads", "Load sheet", document);
    let analysis = load_analysis(document);
    paper.table(loads::by_phase(document, &analysis));
    for phase in &analysis.phases {
        for device in &phase.give_nothing {
            let tag = document.record_label("device", device.as_str());
            paper.caution(format!(
                "Read the finding about {tag} before you rely on {}: as drawn {tag} supplies nothing, the battery \
                 carries the loads, and no alternator load is given.",
                phase.title
            ));
        }
    }
    paper.text(
        "Stated total: figures as entered. Continuous: solved at the actual voltage of each load. Keep continuous \
         loads within 80 % of the alternator\u{2019}s rating (FAA AC 43.13-1B CHG 1, par 11-35a; a rule of thumb).",
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
    if let Some(line) = lasting_duty(document) {
        paper.text(line);
    }
    stops(&mut paper, document);
    paper.heading("Each load");
    for phase in &analysis.phases {
        paper.text(format!("{}: {}", phase.title, loads::difference(phase)));
        paper.table(loads::each(&analysis, phase));
    }
    paper
}

/// What endurance takes loads to do that draw more at times, such as radios that transmit.
fn lasting_duty(document: &Document) -> Option<String> {
    let (mut set, mut not_set) = (Vec::new(), Vec::new());
    for (id, device) in &document.devices {
        for element in &device.elements {
            let ElementKind::Load(load) = &element.is else {
                continue;
            };
            if load.intermittent_a.is_none() || load.continuous_a.is_none() {
                continue;
            }
            let label = document.record_label("element", &format!("{id}/{}", element.id));
            match load.duty {
                Some(duty) => set.push(format!("{label} {:.0} %", 100.0 * duty)),
                None => not_set.push(label),
            }
        }
    }
    let mut told = Vec::new();
    for (all, begins, ends) in [
        (
            &mut set,
            "Share of time at the intermittent current (transmitting): ",
            ".",
        ),
        (
            &mut not_set,
            "Share of time not set for ",
            ": the minutes above hold only if they never transmit or run at their intermittent current. Enter it in the \
             details of the load.",
        ),
    ] {
        all.order_by(|a, b| natural_cmp(a, b));
        if !all.is_empty() {
            told.push(format!("{begins}{}{ends}", all.join(", ")));
        }
    }
    (!told.is_empty()).then(|| told.join(" "))
}

/// What stops if a part fails open or a wire breaks.
fn stops(paper: &mut Paper, document: &Document) {
    let Some(state) = usual_state(document) else {
        return;
    };
    let mut review = Review::new(document, state);
    review.keep(|it| !matches!(it, Failure::Wire(_)));
    let found: Vec<_> = review.by_ref().collect();
    paper.heading(format!(
        "What stops if a part fails open: {}",
        state.1.title
    ));
    paper.text(
        "Each source, breaker, fuse, switch, relay, diode, connector, splice, ground block and bond fails open by \
         itself, as solved. A relay contact that stays closed is solved with every switch at rest and in this phase; a \
         diode that conducts both ways, in the phases without alternator. Brought back by: one switch movement after \
         which what stopped runs again and nothing else starts or stops; in brackets, if only some of it does.",
    );
    let mut parts = WhatStops::of(&review, &found, None);
    parts.bring_back(&mut review, &found);
    if !parts.legend().is_empty() {
        paper.text(parts.legend());
    }
    paper.table(parts.table());
    let wires = review.wires(&found);
    let first: Vec<_> = wires.iter().map(|(_, first)| first.clone()).collect();
    let mut what = WhatStops::opens(&review, &first, None);
    for (chain, first) in &wires {
        let (_, id, _) = what_stops::named(document, &first.failure);
        if let Some(line) = what.lines.iter_mut().find(|line| line.id == id) {
            let names = chain.iter().map(|wire| document.wire_label(wire));
            line.label = names.collect::<Vec<_>>().join(", ");
        }
    }
    paper.heading(format!("What stops if a wire breaks: {}", state.1.title));
    paper.text(
        "Wires in one row are in series without a branch: a break in any of them has the same effect. A break in \
         a wire not listed stops no load that runs in this phase.",
    );
    paper.table(Table {
        name: "what-stops-wires",
        ..what.table()
    });
}
