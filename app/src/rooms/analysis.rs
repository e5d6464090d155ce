//! Loads by phase and endurance: papers of the core, computed only while they are looked at.

use leptos::prelude::*;
use loomwright_core::{
    document::Document,
    reports::{
        self, Table,
        loads::{by_phase, difference, each},
    },
    solve::{endurance, load_analysis},
};

use crate::{app, strings};

/// Both papers, folded up.
#[component]
pub fn Analysis() -> impl IntoView {
    view! {
        {folded(strings::LOADS_BY_PHASE, loads)}
        {folded(strings::ENDURANCE, lasting)}
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
