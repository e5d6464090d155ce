//! The log room: who did what and when, and the papers for the inspector and the next owner.

use leptos::prelude::*;
use loomwright_core::order::InOrder;
use loomwright_core::{
    document::{Document, Extra, LogEntry, LogKind},
    edit::{self, Record},
    ids::LogId,
    reports::log,
};

use super::entry::{self, Form};
use crate::{
    App, app,
    platform::clock,
    rooms::{compare::CompareFiles, papers::Papers, swap::SwapUnit},
    session::settings::Settings,
    strings,
    widgets::{Given, Number, Views},
};

const KINDS: [LogKind; 4] = [
    LogKind::Note,
    LogKind::Change,
    LogKind::Test,
    LogKind::AsBuilt,
];

/// The room.
#[component]
pub fn Log() -> impl IntoView {
    let app = app();
    view! {
        <section class="page">
            <h2>{strings::LOG}</h2>
            <Papers offered=&["loads", "alternator-out", "low-volts", "smoke", "stays-live", "pack"] first=strings::ENTRIES />
            <Given when=move || app.view.paper.get().is_empty()>
                {new_entry(app)}
                <super::revisions::Revisions />
                <CompareFiles />
                <SwapUnit />
                {move || app.session.with(entries)}
            </Given>
        </section>
    }
}

/// Latest first.
fn entries(document: &Document) -> AnyView {
    let mut entries: Vec<(&LogId, &LogEntry)> = document.log.iter().collect();
    entries.order_by(|a, b| (&b.1.date, b.0).cmp(&(&a.1.date, a.0)));
    let entry =
        |(_, entry): (&LogId, &LogEntry)| {
            let hours = entry.hours.map_or(String::new(), strings::hours);
            let head = format!(
                "{} · {} · {}{hours}",
                entry.date,
                entry.who,
                log::kind(entry.kind)
            );
            let results = entry.results.iter().map(|it| {
            let passed = if it.passed { strings::PASSED } else { strings::FAILED };
            view! { <li>{format!("{}: {} ({}), {passed}", it.what, it.measured, it.expected)}</li> }
        });
            view! {
                <article class="entry">
                    <h3>{head}</h3>
                    <p>{entry.text.clone()}</p>
                    <ul>{results.views()}</ul>
                </article>
            }
        };
    entries.into_iter().map(entry).views()
}

fn new_entry(app: App) -> AnyView {
    let hours = RwSignal::new(None::<f64>);
    let number =
        view! { <Number label=strings::HOURS value=hours on_commit=move |n| hours.set(n) /> };
    let form = Form {
        label: strings::NEW_ENTRY,
        choice: strings::ENTRY_KIND,
        words: KINDS.map(log::kind).to_vec(),
        more: number.into_any(),
        button: strings::ADD_ENTRY,
    };
    entry::form(app, form, move |said, chosen| {
        let entry = LogEntry {
            date: clock::today(),
            who: app.settings.with_untracked(Settings::builder),
            kind: KINDS
                .into_iter()
                .find(|it| log::kind(*it) == chosen)
                .unwrap_or(LogKind::Note),
            text: said.into(),
            hours: hours.get_untracked(),
            results: Vec::new(),
            extra: Extra::new(),
        };
        let change = app
            .session
            .peek(|document| edit::add_record(document, Record::Log(entry)));
        let is_made = app.session.try_run(strings::NEW_ENTRY, change);
        if is_made {
            hours.set(None);
        }
        is_made
    })
}
