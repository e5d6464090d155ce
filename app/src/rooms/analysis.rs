//! Loads by phase, endurance, what stops if a part fails, what a short does: papers of the core, computed
//! only while they are looked at.

use leptos::prelude::*;
use loomwright_core::{
    analysis::{endurance, load_analysis},
    document::Document,
    reports::{
        self, Table,
        loads::{by_phase, difference, each},
    },
};

use crate::{
    app,
    derived::worker_review::{self, News, Of},
    platform::worker::Running,
    strings,
};

/// The papers, folded up.
#[component]
pub fn Analysis() -> impl IntoView {
    view! {
        {folded(strings::LOADS_BY_PHASE, loads)}
        {folded(strings::ENDURANCE, lasting)}
        {folded(strings::ALWAYS_HOT, |document| sheet(&reports::always_hot::table(document)))}
        {trials(strings::WHAT_STOPS, Of::Failures)}
        {trials(strings::WHAT_SHORTS, Of::Shorts)}
    }
}

/// A paper that is made when it is opened, and again when the project changes while it is open.
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

/// A review of many trials, made by a worker while its paper is open, and again when the project or the
/// phase changes.
fn trials(title: &'static str, of: Of) -> AnyView {
    let app = app();
    let open = RwSignal::new(false);
    // What the worker said last, and how often one had been started when it did.
    let said = RwSignal::new((0_u64, None::<News>));
    let running = StoredValue::new_local(None::<Running>);
    let started = Memo::new(move |before: Option<&u64>| {
        app.session.revision();
        app.view.state.track();
        open.track();
        before.map_or(0, |times| times + 1)
    });
    Effect::new(move |_| {
        let turn = started.get();
        // What runs was of the project before.
        running.set_value(None);
        if open.get_untracked() {
            let tell = move |it| {
                let _ = said.try_set((turn, Some(it)));
            };
            let state = app.view.state.get_untracked();
            running.set_value(
                app.session
                    .peek(|document| worker_review::start(of, document, state.as_ref(), tell)),
            );
        }
    });
    let news = move || {
        let (turn, news) = said.get();
        news.filter(|_| turn == started.get())
    };
    let stop = move |_| {
        running.set_value(None);
        said.update(|(_, news)| *news = None);
    };
    let told = move || {
        Some(match news()? {
            News::Progress(all, done) => view! {
                <p class="ends">
                    <progress max=all.to_string() value=done.to_string()></progress>
                    <button on:click=stop>{strings::STOP}</button>
                </p>
            }
            .into_any(),
            News::Done(paper) => {
                let rows = paper.cells.chunks(paper.columns.len().max(1));
                view! {
                    <p class="hush">{paper.heading.clone()}</p>
                    {grid(paper.columns.clone(), rows.map(<[String]>::to_vec))}
                }
                .into_any()
            }
            News::Broken => view! { <p>{strings::REVIEW_BROKEN}</p> }.into_any(),
        })
    };
    view! {
        <details on:toggle=move |_| open.update(|open| *open = !*open)>
            <summary>{title}</summary>
            {told}
        </details>
    }
    .into_any()
}

/// A table as printed.
fn sheet(table: &Table) -> AnyView {
    let rows = table.rows.iter();
    grid(
        table.headings(),
        rows.map(|row| row.iter().map(reports::Cell::show).collect()),
    )
}

fn grid(headings: Vec<String>, rows: impl Iterator<Item = Vec<String>>) -> AnyView {
    let cells = |texts: Vec<String>| -> Vec<AnyView> {
        let cell = |text| view! { <td>{text}</td> }.into_any();
        texts.into_iter().map(cell).collect()
    };
    let row = |texts| view! { <tr>{cells(texts)}</tr> }.into_any();
    let rows: Vec<AnyView> = rows.map(row).collect();
    view! {
        <div class="wide">
            <table class="list">
                <thead>
                    <tr>{cells(headings)}</tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
    }
    .into_any()
}
