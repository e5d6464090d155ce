//! The strip at the bottom: what the rules say, in numbers, and the last thing that was done.

use crate::widgets::{Given, Views, flag::flag_path};
use leptos::prelude::*;
use loomwright_core::rules::Counts;

use super::{
    keeping, opening,
    over::{Over, Overlaid},
    states,
};
use crate::{
    app,
    platform::page,
    session::Role,
    strings,
    view::{Panel, Room},
    widgets::Icon,
};

/// The strip.
#[component]
pub fn Strip() -> impl IntoView {
    let app = app();
    let counts = Memo::new(move |_| app.derived.verdict.with(|verdict| verdict.counts));
    // Nothing found yet is not nothing found.
    let is_known =
        move || counts.with(|it| it.examined > 0) || !app.derived.worker_check.is_checking();
    let steps = move || app.session.steps();
    let show = move |_| {
        if app.view.room.get_untracked() == Room::Draw {
            app.view.panel.update(|panel| {
                *panel = if *panel == Panel::Findings {
                    Panel::Closed
                } else {
                    Panel::Findings
                };
            });
        } else {
            app.view.room.set(Room::Check);
        }
    };
    let newer = RwSignal::new(page::has_newer());
    let ready = window_event_listener_untyped(page::NEWER, move |_| newer.set(true));
    on_cleanup(move || ready.remove());
    let over = expect_context::<Overlaid>().0;
    let at_risk =
        move || !app.settings.with(|it| it.keeping_read) && !keeping::risks(app).is_empty();
    let save_now = move |_| opening::save_file(app.session);
    view! {
        <footer class="strip">
            <button class="counts" on:click=show>
                <span class="spoken">{move || is_known().then(|| sentence(counts.get()))}</span>
                {move || numbers(counts.get(), is_known())}
            </button>
            <Given when=move || app.derived.worker_check.is_checking()>
                <span class="checking" role="status">{strings::CHECKING}</span>
            </Given>
            <Given when=move || app.session.refused.get().is_some()>
                <span class="refused" role="alert">
                    {move || app.session.refused.get().map(|why| why.to_string())}
                    <button on:click=save_now>{strings::SAVE_FILE}</button>
                </span>
            </Given>
            <Given when=move || app.session.role.get() != Role::Edits>
                <span class="refused" role="status">
                    {move || match app.session.role.get() {
                        Role::Looks => strings::NEWER_FILE,
                        _ => strings::FOLLOWS,
                    }}
                    <Given when=move || app.session.role.get() == Role::Follows>
                        <button on:click=move |_| app.session.edit_here()>{strings::EDIT_HERE}</button>
                    </Given>
                </span>
            </Given>
            <Given when=at_risk>
                <button class="at-risk" on:click=move |_| over.set(Over::Keeping)>{strings::KEEPING}</button>
            </Given>
            <states::Moved />
            <Given when=move || newer.get()>
                <span class="newer" role="status">
                    {strings::NEWER_PROGRAM}
                    <button disabled=move || app.session.is_unsaved() on:click=|_| page::take_newer()>
                        {strings::USE_IT}
                    </button>
                </span>
            </Given>
            <span class="said" role="status">
                {move || app.session.said.get()}
            </span>
            <button
                class="plain"
                disabled=move || steps().0.is_none()
                aria-label=move || label(strings::UNDO, steps().0)
                title=move || label(strings::UNDO, steps().0)
                on:click=move |_| app.session.undo()
            >
                <Icon name="undo" />
            </button>
            <button
                class="plain"
                disabled=move || steps().1.is_none()
                aria-label=move || label(strings::REDO, steps().1)
                title=move || label(strings::REDO, steps().1)
                on:click=move |_| app.session.redo()
            >
                <Icon name="redo" />
            </button>
        </footer>
    }
}

fn label(word: &str, what: Option<String>) -> String {
    what.map_or(word.to_owned(), |what| format!("{word}: {what}"))
}

/// The counts by level, as shown.
fn levels(counts: Counts) -> [(&'static str, usize, [&'static str; 2]); 5] {
    [
        ("hazard", counts.hazards, strings::HAZARDS),
        ("fault", counts.faults, strings::FAULTS),
        ("caution", counts.cautions, strings::CAUTIONS),
        ("note", counts.notes, strings::NOTES),
        ("unchecked", counts.not_checked, strings::UNCHECKED),
    ]
}

fn numbers(counts: Counts, is_known: bool) -> impl IntoView {
    levels(counts)
        .map(|(level, n, words)| {
            view! {
                <span class="count" aria-hidden="true" data-level=level data-n=n.to_string() class:none=n == 0>
                    <svg class="flag" viewBox="-10 -10 20 20" aria-hidden="true">
                        <path d=flag_path(level) />
                    </svg>
                    <b>{if is_known { n.to_string() } else { "–".into() }}</b>
                    <span class="word">{words[usize::from(n != 1)]}</span>
                </span>
            }
        })
        .views()
}

fn sentence(counts: Counts) -> String {
    levels(counts)
        .map(|(_, n, words)| strings::count(n, words))
        .join(", ")
}
