//! The list of findings, worst first, and what was not checked.

use leptos::prelude::*;
use loomwright_core::{
    edit::Key,
    rules::{self, Finding, Level, Verdict},
};

use super::finding::body;
use crate::{
    App, app,
    commands::show,
    derived::flags::record_of,
    strings,
    widgets::{Given, Views, flag::flag_path},
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
    let here = move |finding: &Finding| {
        finding.level == level && finding.accepted.is_none() && finding.follows.is_none()
    };
    let n = move || {
        app.derived
            .verdict
            .with(|verdict| verdict.findings.iter().filter(|f| here(f)).count())
    };
    view! {
        <Given when=move || { n() > 0 }>
            <h3>{move || strings::count(n(), words)}</h3>
            <ul class="findings">
                {move || app.derived.verdict.with(|verdict| with_effects(app, verdict, here))}
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

/// The same, each with what follows from it folded under it.
fn with_effects(app: App, verdict: &Verdict, wanted: impl Fn(&Finding) -> bool) -> Vec<AnyView> {
    let mut entries = Vec::new();
    for (index, finding) in verdict.findings.iter().enumerate() {
        if !wanted(finding) {
            continue;
        }
        entries.push(entry(app, index, finding.clone()));
        let effects = list(app, verdict, |it| it.follows == Some(index));
        if !effects.is_empty() {
            let summary = strings::count(effects.len(), strings::EFFECTS);
            let folded = view! {
                <li>
                    <details class="following">
                        <summary>{summary}</summary>
                        <ul class="findings">{effects}</ul>
                    </details>
                </li>
            };
            entries.push(folded.into_any());
        }
    }
    entries
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

/// The level as written in files and style sheets.
pub fn level_word(level: Level) -> &'static str {
    match level {
        Level::Hazard => "hazard",
        Level::Fault => "fault",
        Level::Caution => "caution",
        Level::Note => "note",
    }
}
