//! The list of findings, worst first, each with its explanation, source and mend.

use crate::widgets::{Given, Views};
use leptos::prelude::*;
use loomwright_core::{
    document::Accepted,
    drawing::item_size,
    edit::{self, Key},
    rules::{self, Finding, Level, Mend, MendKind, Verdict},
};

use crate::{
    App, app, platform::clock, settings::Settings, shell::flag_path, strings, surface::record_of,
};

/// Findings and what was not checked.
#[component]
pub fn Findings() -> impl IntoView {
    let app = app();
    let counts = move || app.derived.verdict.with(|verdict| verdict.counts);
    let groups = [
        (Level::Hazard, strings::HAZARDS),
        (Level::Fault, strings::FAULTS),
        (Level::Caution, strings::CAUTIONS),
        (Level::Note, strings::NOTES),
    ];
    view! {
        <p class="hush">
            {move || {
                let c = counts();
                strings::examined(c.examined, c.clear, c.found, c.accepted, c.not_checked)
            }}
        </p>
        {groups
            .map(|(level, words)| {
                view! { <Group level=level words=words /> }
            })
            .views()}
        <details class="unchecked">
            <summary>
                {move || strings::count(counts().not_checked, strings::NOT_CHECKED)}
            </summary>
            <ul>{move || app.derived.verdict.with(|verdict| unchecked(app, verdict))}</ul>
        </details>
        <details class="unchecked">
            <summary>
                {move || strings::count(counts().accepted, strings::ACCEPTED)}
            </summary>
            <ul class="findings">
                {move || {
                    app.derived
                        .verdict
                        .with(|verdict| {
                            list(app, verdict, |finding| finding.accepted.is_some())
                        })
                }}
            </ul>
        </details>
    }
}

#[component]
fn Group(level: Level, words: [&'static str; 2]) -> impl IntoView {
    let app = app();
    let here = move |finding: &Finding| finding.level == level && finding.accepted.is_none();
    let n = move || {
        app.derived
            .verdict
            .with(|verdict| verdict.findings.iter().filter(|f| here(f)).count())
    };
    view! {
        <Given when=move || { n() > 0 }>
            <h3>{move || strings::count(n(), words)}</h3>
            <ul class="findings">
                {move || app.derived.verdict.with(|verdict| list(app, verdict, here))}
            </ul>
        </Given>
    }
}

/// The findings of a verdict that are wanted, each as an entry of a list.
pub fn list(app: App, verdict: &Verdict, wanted: impl Fn(&Finding) -> bool) -> Vec<AnyView> {
    let findings = verdict.findings.iter().enumerate();
    findings
        .filter(|(_, finding)| wanted(finding))
        .map(|(index, finding)| entry(app, index, finding.clone()))
        .collect()
}

fn unchecked(app: App, verdict: &Verdict) -> Vec<AnyView> {
    verdict
        .not_checked
        .iter()
        .map(|missing| {
            let at = missing.at.clone();
            let because = &missing.because;
            let text = match because.contains(&at.label) {
                true => because.clone(),
                false => format!("{}: {because}", at.label),
            };
            let rule = rules::rule(missing.rule).map_or(missing.rule, |rule| rule.title);
            view! {
                <li>
                    <button class="row" on:click=move |_| show(app, record_of(&at).into_iter().collect())>
                        <span>{text}</span>
                        <span class="hush">{rule}</span>
                    </button>
                </li>
            }
            .into_any()
        })
        .collect()
}

/// Centres records on the drawing and selects them.
pub fn show(app: App, keys: Vec<Key>) {
    let sheet = app.view.sheet.get_untracked();
    let better = app
        .session
        .peek(|document| crate::view::sheet_showing(document, &keys, sheet.as_ref()));
    if let Some(sheet) = better.filter(|better| Some(better) != sheet.as_ref()) {
        app.view.sheet.set(Some(sheet));
    }
    app.view.room.set(crate::view::Room::Draw);
    app.view.bring(keys);
}

/// Goes to a record: on its sheet, selected.
pub fn go_to(app: App, key: Key) {
    show(app, vec![key.clone()]);
    app.view.select(key);
}

fn entry(app: App, index: usize, finding: Finding) -> AnyView {
    let word = level_word(finding.level);
    let open = move || app.view.marked.get() == Some(index);
    let keys: Vec<Key> = finding.at.iter().filter_map(record_of).collect();
    let tap = move |_| {
        if app.view.marked.get_untracked() == Some(index) {
            app.view.marked.set(None);
        } else {
            app.view.marked.set(Some(index));
            show(app, keys.clone());
        }
    };
    let at: Vec<String> = finding
        .at
        .iter()
        .map(|at| format!("{}:{}", at.kind, at.id))
        .collect();
    let at = at.join(" ");
    let (rule, title, message) = (finding.rule, finding.title, finding.message.clone());
    view! {
        <li
            class="finding"
            data-rule=rule
            data-level=word
            data-at=at
        >
            <button class="row" aria-expanded=move || if open() { "true" } else { "false" } on:click=tap>
                <svg class="flag full" data-level=word viewBox="-10 -10 20 20" role="img" aria-label=word>
                    <path d=flag_path(word) />
                    <text class="flag-number" y="3.2" text-anchor="middle">{index + 1}</text>
                </svg>
                <span>
                    <b>{title}</b>
                    <span class="message">{message}</span>
                </span>
            </button>
            {move || open().then(|| body(app, &finding))}
        </li>
    }
    .into_any()
}

fn body(app: App, finding: &Finding) -> impl IntoView + use<> {
    // Tried when the finding is opened: a fix must never make it worse.
    let proved = app
        .session
        .peek(|document| rules::proved_fixes(document, finding));
    let mends = proved.offered.iter().map(|fix| offer(app, fix)).views();
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
fn offer(app: App, fix: &Mend) -> AnyView {
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
    view! {
        <button class="mend" on:click=tap>
            <b>{label}</b>
            <span class="hush">{words}</span>
        </button>
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
        reason: reason.into(),
        who: app.settings.with_untracked(Settings::builder),
        date: clock::today(),
        extra: loomwright_core::document::Extra::default(),
    };
    let change = app.session.peek(|document| edit::accept(document, record));
    app.session.try_run(strings::ACCEPT, change);
    app.view.marked.set(None);
}

/// The level as it stands in files and styles.
pub fn level_word(level: Level) -> &'static str {
    match level {
        Level::Hazard => "hazard",
        Level::Fault => "fault",
        Level::Caution => "caution",
        Level::Note => "note",
    }
}
