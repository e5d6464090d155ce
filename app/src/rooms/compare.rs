//! Another file compared with the open project: what differs, what that does to the findings, and merging it.

use std::sync::Arc;

use leptos::prelude::*;
use loomwright_core::{
    document::Document,
    edit::Change,
    exchange::{
        merge::{Conflict, MergeError, Merged, merge_by},
        revisions,
    },
    order::Sorted,
    reports::effects::{Effects, Side, effects},
    rules,
};

use super::{
    differences::{Differs, list, loads},
    picker::picker,
};
use crate::{
    App, app, strings,
    widgets::{Given, Views},
};

/// What the parts of the view share.
#[derive(Clone, Copy)]
struct Taken {
    app: App,
    /// The other file.
    other: RwSignal<Option<Arc<Document>>>,
    /// What both began with.
    base: RwSignal<Option<Arc<Document>>>,
    /// Fields that get the other file's value.
    theirs: RwSignal<Sorted<String>>,
}

/// What merging gives, and what it does.
#[derive(Clone, PartialEq)]
struct Preview {
    /// True if it is known what both began with.
    begins: bool,
    change: Change,
    conflicts: Vec<Choice>,
    /// What it does, unless that takes too long.
    effects: Option<Effects>,
}

/// A field of which both say something else.
#[derive(Clone, PartialEq)]
struct Choice {
    path: String,
    /// Both values, in words.
    words: String,
    /// Findings that appear and that are resolved with the other side's value.
    turned: [Vec<String>; 2],
}

/// More conflicts than this are listed without the effect of each: computing them takes long, and nobody
/// with so many begins there.
const MOST_TURNED: usize = 30;

/// The view, folded up.
#[component]
pub fn CompareFiles() -> impl IntoView {
    let it = Taken {
        app: app(),
        other: RwSignal::new(None),
        base: RwSignal::new(None),
        theirs: RwSignal::new(Sorted::new()),
    };
    let differences = move || {
        let other = it.other.get()?;
        Some(
            it.app
                .session
                .with(|document| Differs::new(document, &other)),
        )
    };
    let preview = Memo::new(move |_| preview(it).map_err(|error| error.to_string()));
    view! {
        <details class="compare">
            <summary>{strings::COMPARE}</summary>
            <p class="hush">{strings::COMPARE_HELP}</p>
            <div class="paper-fields">
                {picker(it.app, strings::OTHER_FILE, move |file| it.other.set(Some(file)))}
                <Given when=move || it.other.with(Option::is_some)>
                    {picker(it.app, strings::BEGAN_WITH, move |file| it.base.set(Some(file)))}
                </Given>
            </div>
            {move || differences().map(|it| it.shown(strings::IN_OTHER_FILE, [strings::HERE, strings::IN_OTHER_FILE]))}
            {move || match preview.get() {
                Ok(Some(made)) => shown(it, made),
                Ok(None) => ().into_any(),
                Err(why) => view! { <p role="alert">{why}</p> }.into_any(),
            }}
        </details>
    }
}

fn preview(it: Taken) -> Result<Option<Preview>, MergeError> {
    let (Some(other), given) = (it.other.get(), it.base.get()) else {
        return Ok(None);
    };
    it.app.session.with(|document| {
        let theirs = it.theirs.get();
        // Without a file to begin with, the newest revision that both have in common.
        let common = || revisions::content(document, &revisions::common(document, &other)?).ok();
        let base = given.or_else(|| common().map(Arc::new));
        let begins = base.is_some();
        let Merged {
            document: merged,
            conflicts,
        } = merge_by(base.as_deref(), document, &other, &theirs)?;
        let may_work = it.app.derived.worker_check.may_work();
        let sides = may_work.then(|| [Side::new(document), Side::new(&merged)]);
        let turned = |path: &str| {
            let verdict = sides.as_ref()?[1].verdict();
            let mut turned = theirs.clone();
            if !turned.remove(path) {
                turned.insert(path.to_owned());
            }
            let made = merge_by(base.as_deref(), document, &other, &turned).ok()?;
            Some(rules::check(&made.document).comes_and_goes(verdict))
        };
        let choice = |(at, it): (usize, Conflict)| Choice {
            words: it.words(document),
            turned: Some(&*it.path)
                .filter(|_| at < MOST_TURNED)
                .and_then(turned)
                .unwrap_or_default(),
            path: it.path,
        };
        Ok(Some(Preview {
            begins,
            effects: sides.as_ref().map(|[before, after]| effects(before, after)),
            conflicts: conflicts.into_iter().enumerate().map(choice).collect(),
            change: Change::between(document, &merged),
        }))
    })
}

fn shown(it: Taken, made: Preview) -> AnyView {
    let conflicts = made.conflicts.into_iter().map(|conflict| {
        let Choice {
            path,
            words,
            turned: [comes, goes],
        } = conflict;
        let does = [(strings::WOULD_COME, comes), (strings::WOULD_GO, goes)];
        let does = does.map(|(head, lines)| {
            let lines = lines.into_iter();
            lines
                .map(move |line| view! { <li>{head} " " {line}</li> })
                .views()
        });
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
                <ul class="hush">{does}</ul>
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
        {it.app.derived.worker_check.ask()}
        {made.effects.map(|effects| view! {
            {list(strings::WOULD_COME, "", effects.new.clone())}
            {list(strings::WORSE, "", effects.worse.clone())}
            {list(strings::WOULD_GO, "", effects.gone.clone())}
            {loads(&effects)}
        })}
        <button class="main" disabled=nothing_to_do on:click=take>{strings::TAKE_IN}</button>
    }
    .into_any()
}
