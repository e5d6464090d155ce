//! Loads by phase, endurance, what stops if a part fails, what a short does: papers of the core, computed
//! only while they are looked at.

use leptos::prelude::*;
use loomwright_core::{
    document::{Document, State},
    ids::StateId,
    reports::{
        self, Table,
        loads::{by_phase, difference, each},
        shorts::WhatShorts,
        what_stops::WhatStops,
    },
    solve::{
        endurance,
        failures::{Consequence, Review, usual_state},
        load_analysis,
        shorts::{Short, Shorts},
    },
};

use crate::{app, platform::clock, strings};

/// The papers, folded up.
#[component]
pub fn Analysis() -> impl IntoView {
    view! {
        {folded(strings::LOADS_BY_PHASE, loads)}
        {folded(strings::ENDURANCE, lasting)}
        {trials::<Review>(strings::WHAT_STOPS)}
        {trials::<Shorts>(strings::WHAT_SHORTS)}
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

/// A paper of many trials, made in slices, so that it can be stopped and nothing else waits.
trait Trials: Sized + 'static {
    /// What one trial gives.
    type Found: 'static;

    /// Begins in a state.
    fn begin(document: &Document, state: (&StateId, &State)) -> Self;
    /// All there are, and those that are done.
    fn progress(&self) -> (usize, usize);
    /// Makes one more; none if all are done.
    fn one(&mut self) -> Option<Self::Found>;
    /// The paper: what stands over it, and its table.
    fn paper(&self, found: &[Self::Found]) -> (String, Table);
}

impl Trials for Review {
    type Found = Consequence;

    fn begin(document: &Document, state: (&StateId, &State)) -> Self {
        Self::new(document, state)
    }

    fn progress(&self) -> (usize, usize) {
        self.progress()
    }

    fn one(&mut self) -> Option<Consequence> {
        self.next()
    }

    fn paper(&self, found: &[Consequence]) -> (String, Table) {
        let what = WhatStops::of(self, found, None);
        (what.heading(), what.table())
    }
}

impl Trials for Shorts {
    type Found = Short;

    fn begin(document: &Document, state: (&StateId, &State)) -> Self {
        Self::new(document, state)
    }

    fn progress(&self) -> (usize, usize) {
        self.progress()
    }

    fn one(&mut self) -> Option<Short> {
        self.next()
    }

    fn paper(&self, found: &[Short]) -> (String, Table) {
        let what = WhatShorts::of(self, found, None);
        (what.heading(), what.table())
    }
}

fn trials<T: Trials>(title: &'static str) -> AnyView {
    let app = app();
    let open = RwSignal::new(false);
    let shown = RwSignal::new(None::<(String, Table)>);
    let progress = RwSignal::new(None::<(usize, usize)>);
    // Goes up with every start and stop: a review goes on only while it is its own.
    let turn = RwSignal::new(0u32);
    Effect::new(move |_| {
        let state = app.view.state.get();
        let review = open.get().then(|| {
            app.session.with(|document| {
                let chosen = state.and_then(|id| document.states.get_key_value(&id));
                let state = chosen.or_else(|| usual_state(document))?;
                Some(T::begin(document, state))
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
    slices(title, open, shown, progress, turn)
}

/// The paper with its progress and the button that stops it.
fn slices(
    title: &'static str,
    open: RwSignal<bool>,
    shown: RwSignal<Option<(String, Table)>>,
    progress: RwSignal<Option<(usize, usize)>>,
    turn: RwSignal<u32>,
) -> AnyView {
    let stop = move |_| {
        turn.update(|turn| *turn += 1);
        progress.set(None);
    };
    view! {
        <details on:toggle=move |_| open.update(|open| *open = !*open)>
            <summary>{title}</summary>
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
                    .map(|(heading, table)| {
                        view! {
                            <p class="hush">{heading}</p>
                            {sheet(&table)}
                        }
                    })
            }}
        </details>
    }
    .into_any()
}

fn go_through<T: Trials>(
    mut review: T,
    shown: RwSignal<Option<(String, Table)>>,
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
                let Some(one) = review.one() else {
                    progress.set(None);
                    shown.set(Some(review.paper(&found)));
                    return;
                };
                found.push(one);
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
