//! One finding, opened: why, how it was computed, fixes, sources, acceptance.

use leptos::prelude::*;
use loomwright_core::{
    document::Accepted,
    drawing::item_size,
    edit,
    rules::{self, Finding, MendKind, Offer},
};

use crate::{
    App,
    platform::clock,
    session::settings::Settings,
    strings,
    widgets::{Given, Views},
};

/// What the list shows under a finding.
pub fn body(app: App, finding: &Finding) -> impl IntoView + use<> {
    // Tried when the finding is opened: a fix must never make it worse.
    let proved = app
        .session
        .peek(|document| rules::proved_fixes(document, finding));
    let mends = proved.offered.iter().map(|it| offer(app, it)).views();
    let refused = proved.refused.into_iter();
    let refused = refused
        .map(|it| view! { <li>{format!("{}: {}", it.title, it.because)}</li> })
        .collect::<Vec<_>>();
    let any_refused = !refused.is_empty();
    let sources = finding
        .sources
        .iter()
        .map(|source| view! { <li>{format!("{}, {}", source.document, source.place)}</li> })
        .views();
    let working = finding.working.join("\n");
    view! {
        <div class="finding-body">
            <p>{finding.why}</p>
            <p class="help">{finding.help.clone()}</p>
            <div class="mends">{mends}</div>
            {any_refused.then(|| view! {
                <details class="refused">
                    <summary>{strings::NOT_OFFERED}</summary>
                    <ul class="hush">{refused.views()}</ul>
                </details>
            })}
            <Given when={
                let any = !working.is_empty();
                move || any
            }>
                <pre class="working">{working.clone()}</pre>
            </Given>
            <details>
                <summary>{strings::SOURCES}</summary>
                <ul class="hush">{sources}</ul>
            </details>
            {acceptance(app, finding)}
        </div>
    }
}

/// A fix to tap. One that changes a breaker or a fuse says so first and is made with a second tap.
fn offer(app: App, offer: &Offer) -> AnyView {
    let fix = &offer.fix;
    let (title, change) = (fix.title.clone(), fix.change.clone());
    let kind = match fix.kind {
        MendKind::Safe => strings::MEND_SAFE,
        MendKind::Ask => strings::MEND_ASK,
    };
    let protectors = fix.protectors().join("; ");
    let asked = RwSignal::new(protectors.is_empty());
    let label = title.clone();
    let tap = move |_| {
        if !asked.get_untracked() {
            asked.set(true);
            return;
        }
        let shown = app
            .session
            .peek(|document| edit::show_splices(document, &change, item_size));
        app.session.run(&title, shown);
        app.view.marked.set(None);
    };
    let asks = !protectors.is_empty();
    let words = move || match asks && asked.get() {
        true => format!("{protectors}. {}", strings::MEND_AGAIN),
        false => kind.to_string(),
    };
    let line = |word: &'static str| move |text: &String| format!("{word} {text}");
    let comes = offer.comes.iter().map(line(strings::COMES));
    let goes = offer.goes.iter().map(line(strings::GOES));
    let lines = comes.chain(goes).map(|text| view! { <li>{text}</li> });
    view! {
        <button class="mend" on:click=tap>
            <b>{label}</b>
            <span class="hush">{words}</span>
        </button>
        <ul class="hush effects">{lines.collect::<Vec<_>>()}</ul>
    }
    .into_any()
}

fn acceptance(app: App, finding: &Finding) -> AnyView {
    if let Some(id) = finding.accepted.clone() {
        let text = app.session.peek(|document| {
            document.accepted.get(&id).map(|accepted| {
                format!("{} ({}, {})", accepted.reason, accepted.who, accepted.date)
            })
        });
        return view! {
            <p>{strings::ACCEPTED_BECAUSE} " " {text}</p>
            <button on:click=move |_| {
                let change = app
                    .session
                    .peek(|document| edit::reopen(document, &id));
                app.session.try_run(strings::ACCEPT_NO_MORE, change);
            }>{strings::ACCEPT_NO_MORE}</button>
        }
        .into_any();
    }
    let finding = finding.clone();
    let reason = RwSignal::new(String::new());
    view! {
        <form
            class="accept"
            on:submit=move |event| {
                event.prevent_default();
                accept(app, &finding, reason.get_untracked().trim());
            }
        >
            <label class="field">
                <span>{strings::ACCEPT_REASON}</span>
                <input on:input=move |event| reason.set(event_target_value(&event)) />
            </label>
            <button disabled=move || reason.with(|reason| reason.trim().is_empty())>
                {strings::ACCEPT}
            </button>
        </form>
    }
    .into_any()
}

fn accept(app: App, finding: &Finding, reason: &str) {
    if reason.is_empty() {
        return;
    }
    let record = Accepted {
        rule: finding.rule.into(),
        at: finding
            .at
            .iter()
            .map(|at| format!("{}:{}", at.kind, at.id))
            .collect(),
        measured: finding.measured,
        limit: finding.limit,
        drawn: loomwright_core::order::Map::new(),
        reason: reason.into(),
        who: app.settings.with_untracked(Settings::builder),
        date: clock::today(),
        extra: loomwright_core::document::Extra::default(),
    };
    let change = app.session.peek(|document| edit::accept(document, record));
    app.session.try_run(strings::ACCEPT, change);
    app.view.marked.set(None);
}
