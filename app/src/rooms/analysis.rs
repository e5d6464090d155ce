//! Loads by phase, endurance, and what stops if a part fails: papers of the core, computed only while
//! they are looked at.

use leptos::prelude::*;
use loomwright_core::{
    document::Document,
    reports::{
        self, Table,
        loads::{by_phase, difference, each},
        what_stops::WhatStops,
    },
    solve::{
        endurance,
        failures::{Review, usual_state},
        load_analysis,
    },
};

use crate::{app, platform::clock, strings};

/// The papers, folded up.
#[component]
pub fn Analysis() -> impl IntoView {
    view! {
        {folded(strings::LOADS_BY_PHASE, loads)}
        {folded(strings::ENDURANCE, lasting)}
        {what_stops()}
    }
}

/// A paper that is made when it is opened, and anew when the project changes while it is open.
fn folded(title: &'static str, paper: fn(&Document) -> AnyView) -> AnyView {
    let app = app();
    let open = RwSignal::new(false);
    view! {
        <details on:toggle=move |_| open.update(|open| *open = !*open)>
            <summary>{title}</summary>
            {move || open.get().then(|| app.session.with(paper))}
        </details>
    }
    .into_any()
}

fn loads(document: &Document) -> AnyView {
    let analysis = load_analysis(document);
    let phases = analysis.phases.iter().map(|phase| {
        let title = format!("{}: {}", phase.title, difference(phase));
        view! {
            <h4>{title}</h4>
            {sheet(&each(&analysis, phase))}
        }
        .into_any()
    });
    let phases: Vec<AnyView> = phases.collect();
    let recharge = analysis.recharge_a.map(strings::recharge);
    view! {
        {sheet(&by_phase(document, &analysis))}
        <p class="hush">{recharge}</p>
        {phases}
    }
    .into_any()
}

fn lasting(document: &Document) -> AnyView {
    let all = endurance(document);
    let mut lines = reports::endurance::batteries(&all);
    lines.extend(all.missing.iter().map(|it| strings::not_computed(it)));
    let lines: Vec<AnyView> = lines
        .into_iter()
        .map(|line| view! { <p>{line}</p> }.into_any())
        .collect();
    view! {
        {lines}
        {sheet(&reports::endurance::by_case(document, &all))}
        <p class="hush">{reports::endurance::DIFFERENCE}</p>
        <div inner_html=reports::endurance_plot::svg(&all)></div>
        {sheet(&reports::endurance::by_device(&all))}
    }
    .into_any()
}

/// Milliseconds of a frame that the review may take; the rest is the person's.
const SLICE_MS: f64 = 8.0;

/// What stops if a part fails: made in slices, so that it can be stopped and nothing else waits.
fn what_stops() -> AnyView {
    let app = app();
    let open = RwSignal::new(false);
    let shown = RwSignal::new(None::<WhatStops>);
    let progress = RwSignal::new(None::<(usize, usize)>);
    // Goes up with every start and stop: a review goes on only while it is its own.
    let turn = RwSignal::new(0u32);
    Effect::new(move |_| {
        let state = app.view.state.get();
        let review = open.get().then(|| {
            app.session.with(|document| {
                let chosen = state.and_then(|id| document.states.get_key_value(&id));
                let state = chosen.or_else(|| usual_state(document))?;
                Some(Review::new(document, state))
            })
        });
        turn.update(|turn| *turn += 1);
        shown.set(None);
        match review.flatten() {
            Some(review) => go_through(review, shown, progress, turn),
            None => progress.set(None),
        }
    });
    on_cleanup(move || {
        let _ = turn.try_update(|turn| *turn += 1);
    });
    let stop = move |_| {
        turn.update(|turn| *turn += 1);
        progress.set(None);
    };
    view! {
        <details on:toggle=move |_| open.update(|open| *open = !*open)>
            <summary>{strings::WHAT_STOPS}</summary>
            {move || {
                progress
                    .get()
                    .map(|(all, done)| {
                        view! {
                            <p class="row">
                                <progress max=all.to_string() value=done.to_string()></progress>
                                <button on:click=stop>{strings::STOP}</button>
                            </p>
                        }
                    })
            }}
            {move || {
                shown
                    .get()
                    .map(|what| {
                        view! {
                            <p class="hush">{what.heading()}</p>
                            {sheet(&what.table())}
                        }
                    })
            }}
        </details>
    }
    .into_any()
}

fn go_through(
    mut review: Review,
    shown: RwSignal<Option<WhatStops>>,
    progress: RwSignal<Option<(usize, usize)>>,
    turn: RwSignal<u32>,
) {
    let own = turn.get_untracked();
    leptos::task::spawn_local(async move {
        let mut found = Vec::new();
        loop {
            progress.set(Some(review.progress()));
            clock::breathe().await;
            if turn.try_get_untracked() != Some(own) {
                return;
            }
            let began = clock::now_ms();
            while clock::now_ms() - began < SLICE_MS {
                let Some(consequence) = review.next() else {
                    progress.set(None);
                    shown.set(Some(WhatStops::of(&review, &found, None)));
                    return;
                };
                found.push(consequence);
            }
        }
    });
}

/// A table as it stands on paper.
fn sheet(table: &Table) -> AnyView {
    let cells = |texts: Vec<String>| -> Vec<AnyView> {
        let cell = |text| view! { <td>{text}</td> }.into_any();
        texts.into_iter().map(cell).collect()
    };
    let heading = table.columns.iter().map(|column| match column.unit {
        "" => column.title.to_owned(),
        unit => format!("{}, {unit}", column.title),
    });
    let rows = table.rows.iter().map(|row| {
        let texts = row.iter().map(reports::Cell::show).collect();
        view! { <tr>{cells(texts)}</tr> }.into_any()
    });
    let rows: Vec<AnyView> = rows.collect();
    view! {
        <div class="wide">
            <table class="list">
                <thead>
                    <tr>{cells(heading.collect())}</tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
    }
    .into_any()
}
