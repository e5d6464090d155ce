//! Another file beside the open project: what differs, what it does to the findings, and taking it in.

use std::sync::Arc;

use leptos::{ev, prelude::*};
use loomwright_core::{
    document::Document,
    edit::Change,
    exchange::{
        compare::{Difference, compare},
        merge::{Conflict, Merged, merge_by},
        revisions,
    },
    order::Sorted,
    rules::{self, Finding, Verdict},
};

use crate::{
    App, app, file,
    platform::pick,
    strings,
    widgets::{Given, Views},
};

/// What the parts of the view share.
#[derive(Clone, Copy)]
struct Beside {
    app: App,
    /// The other file.
    other: RwSignal<Option<Arc<Document>>>,
    /// What both began with.
    base: RwSignal<Option<Arc<Document>>>,
    /// Fields in which the other file is to stand.
    theirs: RwSignal<Sorted<String>>,
}

/// What merging gives, and what it does.
#[derive(Clone, PartialEq)]
struct Preview {
    /// True if it is known what both began with.
    begins: bool,
    change: Change,
    conflicts: Vec<(Conflict, String)>,
    comes: Vec<String>,
    goes: Vec<String>,
}

/// The view, folded up.
#[component]
pub fn CompareFiles() -> impl IntoView {
    let it = Beside {
        app: app(),
        other: RwSignal::new(None),
        base: RwSignal::new(None),
        theirs: RwSignal::new(Sorted::new()),
    };
    let differences = move || -> Option<Vec<String>> {
        let other = it.other.get()?;
        let told = |document: &Document| {
            let all = compare(document, &other);
            all.iter().map(Difference::words).collect()
        };
        Some(it.app.session.with(told))
    };
    let preview = Memo::new(move |_| preview(it));
    view! {
        <details class="compare">
            <summary>{strings::COMPARE}</summary>
            <p class="hush">{strings::COMPARE_HELP}</p>
            <div class="paper-fields">
                {picker(it.app, strings::OTHER_FILE, it.other)}
                <Given when=move || it.other.with(Option::is_some)>
                    {picker(it.app, strings::BEGAN_WITH, it.base)}
                </Given>
            </div>
            {move || differences().map(|lines| list(strings::IN_OTHER_FILE, strings::NOTHING_DIFFERS, lines))}
            {move || preview.get().map(|made| shown(it, made))}
        </details>
    }
}

/// A button that takes a project file, which is not opened but kept here to look at.
pub fn picker(app: App, label: &'static str, into: RwSignal<Option<Arc<Document>>>) -> AnyView {
    let open = move |event: ev::Event| {
        let Some(chosen) = pick::chosen(&event) else {
            return;
        };
        leptos::task::spawn_local(async move {
            let opened = match pick::read(chosen, file::BYTES_MAX).await {
                Some(picked) => file::open(&picked.bytes),
                None => Err(strings::FILE_TOO_LARGE.into()),
            };
            match opened {
                // What a newer program means by its fields cannot be taken in.
                Ok(opened) if opened.newer.is_some() => app.session.say(strings::NEWER_FILE.into()),
                Ok(opened) => into.set(Some(Arc::new(opened.document))),
                Err(why) => app.session.say(why),
            }
        });
    };
    view! {
        <label class="button">
            {label}
            <input class="spoken" type="file" accept=".json,application/json" on:change=open />
        </label>
    }
    .into_any()
}

/// Lines under a heading, or a sentence if there are none.
pub fn list(heading: &'static str, nothing: &'static str, lines: Vec<String>) -> AnyView {
    if lines.is_empty() {
        return view! { <p>{nothing}</p> }.into_any();
    }
    let lines = lines.into_iter().map(|line| view! { <li>{line}</li> });
    view! {
        <h4>{heading}</h4>
        <ul>{lines.views()}</ul>
    }
    .into_any()
}

/// The findings that a change brings, and those that it takes away, in lines.
pub fn comes_and_goes(before: &Verdict, after: &Verdict) -> [Vec<String>; 2] {
    let line = |it: &Finding| format!("{}: {}", it.title, it.message);
    let told = |findings: Vec<&Finding>| findings.into_iter().map(line).collect();
    [told(after.without(before)), told(before.without(after))]
}

fn preview(it: Beside) -> Option<Preview> {
    let (other, given) = (it.other.get()?, it.base.get());
    let before = it.app.derived.verdict.get();
    it.app.session.with(|document| {
        let theirs = it.theirs.get();
        // Without a file to begin with, the newest revision that both have in common.
        let common = || revisions::content(document, &revisions::common(document, &other)?).ok();
        let base = given.or_else(|| common().map(Arc::new));
        let begins = base.is_some();
        let made = merge_by(base.as_deref(), document, &other, &theirs);
        let Merged {
            document: merged,
            conflicts,
        } = made
            .map_err(|error| it.app.session.say(error.to_string()))
            .ok()?;
        let after = rules::check(&merged);
        let [comes, goes] = comes_and_goes(&before, &after);
        let words = |it: Conflict| {
            let words = it.words(document);
            (it, words)
        };
        Some(Preview {
            begins,
            comes,
            goes,
            conflicts: conflicts.into_iter().map(words).collect(),
            change: Change::between(document, &merged),
        })
    })
}

fn shown(it: Beside, made: Preview) -> AnyView {
    let conflicts = made.conflicts.into_iter().map(|(conflict, words)| {
        let path = conflict.path.clone();
        let is_theirs = it.theirs.with_untracked(|all| all.contains(&path));
        let choose = move |_| {
            it.theirs.update(|all| {
                if !all.remove(&path) {
                    all.insert(path.clone());
                }
            });
        };
        view! {
            <li>
                {words} " "
                <button aria-pressed=is_theirs.to_string() on:click=choose>
                    {strings::TAKE_THEIRS}
                </button>
            </li>
        }
    });
    let conflicts: Vec<_> = conflicts.collect();
    let none = conflicts.is_empty();
    let base_missing = !made.begins;
    let change = made.change;
    let nothing_to_do = change.is_empty();
    let take = move |_| {
        it.app.session.run(strings::TAKEN_IN, change.clone());
        it.other.set(None);
        it.base.set(None);
        it.theirs.set(Sorted::new());
    };
    view! {
        <h4>{strings::TAKEN_TOGETHER}</h4>
        {base_missing.then(|| view! { <p class="hush">{strings::NO_BEGINNING}</p> })}
        {(!none).then(|| view! { <p>{strings::BOTH_CHANGED}</p> })}
        <ul>{conflicts.views()}</ul>
        {list(strings::WOULD_COME, "", made.comes)}
        {list(strings::WOULD_GO, "", made.goes)}
        <button class="main" disabled=nothing_to_do on:click=take>{strings::TAKE_IN}</button>
    }
    .into_any()
}
