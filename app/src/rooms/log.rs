//! The log room: who did what and when, and the papers for the inspector and the next owner.

use leptos::prelude::*;
use loomwright_core::{
    document::{Document, Extra, LogEntry, LogKind},
    edit::{self, Record},
    ids::LogId,
    order,
    reports::pack,
};

use crate::{
    App, app,
    compare::CompareFiles,
    papers::Papers,
    platform::clock,
    settings::Settings,
    strings,
    widgets::{Area, Choice, Given, Number, Views},
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
            <Papers offered=&["loads", "pack"] first=strings::ENTRIES />
            <Given when=move || app.view.paper.get().is_empty()>
                {new_entry(app)}
                <super::revisions::Revisions />
                <CompareFiles />
                {move || app.session.with(entries)}
            </Given>
        </section>
    }
}

/// Latest first.
fn entries(document: &Document) -> AnyView {
    let mut entries: Vec<(&LogId, &LogEntry)> = document.log.iter().collect();
    order::sort_by(&mut entries, |a, b| (&b.1.date, b.0).cmp(&(&a.1.date, a.0)));
    let entry =
        |(_, entry): (&LogId, &LogEntry)| {
            let hours = entry.hours.map_or(String::new(), strings::hours);
            let head = format!(
                "{} · {} · {}{hours}",
                entry.date,
                entry.who,
                pack::kind(entry.kind)
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
    let kind = RwSignal::new(pack::kind(KINDS[0]).to_owned());
    let text = RwSignal::new(String::new());
    let hours = RwSignal::new(None::<f64>);
    let options = KINDS.map(|kind| (pack::kind(kind).to_owned(), pack::kind(kind).to_owned()));
    let add = move |_| {
        let said = text.get_untracked();
        if said.trim().is_empty() {
            app.session.say(strings::WRITE_FIRST.into());
            return;
        }
        let chosen = kind.get_untracked();
        let entry = LogEntry {
            date: clock::today(),
            who: app.settings.with_untracked(Settings::builder),
            kind: KINDS
                .into_iter()
                .find(|it| pack::kind(*it) == chosen)
                .unwrap_or(LogKind::Note),
            text: said.trim().into(),
            hours: hours.get_untracked(),
            results: Vec::new(),
            extra: Extra::new(),
        };
        let change = app
            .session
            .peek(|document| edit::add_record(document, Record::Log(entry)));
        if app.session.try_run(strings::NEW_ENTRY, change) {
            text.set(String::new());
            hours.set(None);
        }
    };
    view! {
        <div class="new-entry">
            <Area label=strings::NEW_ENTRY value=text on_commit=move |said: String| text.set(said) />
            <div class="paper-fields">
                <Choice
                    label=strings::ENTRY_KIND
                    options=Signal::stored(options.to_vec())
                    value=kind
                    on_commit=move |chosen: String| kind.set(chosen)
                />
                <Number label=strings::HOURS value=hours on_commit=move |n| hours.set(n) />
                <button on:click=add>{strings::ADD_ENTRY}</button>
            </div>
        </div>
    }
    .into_any()
}
