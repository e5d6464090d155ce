//! Another file beside the open project: what differs, what it does to the findings, and taking it in.

use std::sync::Arc;

use leptos::{ev, prelude::*};
use loomwright_core::{
    document::Document,
    drawing::{
        beside::{SheetComparison, beside},
        overlay::FlagAt,
    },
    edit::{Change, Key},
    exchange::{
        compare::{Difference, compare},
        merge::{Conflict, Merged, merge_by},
        revisions,
    },
    order::Sorted,
    reports::{
        Paper,
        effects::{Effects, Side, comes_and_goes, effects},
        html::{self, Form},
    },
    rules,
};

use crate::{
    App, app, file,
    platform::pick,
    strings,
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
    /// Fields in which the other file is to stand.
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

/// What differs between two states of a project: in words, and on the sheets.
#[derive(Clone, PartialEq)]
pub struct Differs {
    lines: Vec<String>,
    drawn: Vec<SheetComparison>,
    /// What it did to the rest of the aircraft, where that was asked for.
    effects: Option<Effects>,
}

impl Differs {
    /// Sets two states beside each other.
    pub fn new(before: &Document, after: &Document) -> Self {
        let all = compare(before, after);
        let numbered = all.iter().zip(1..);
        let marks = numbered.filter_map(|(it, number)| Some((number, mark(&it.key)?)));
        Self {
            drawn: beside(before, after, &marks.collect::<Vec<_>>()),
            lines: all.iter().map(Difference::words).collect(),
            effects: None,
        }
    }

    /// With what it did to the rest of the aircraft, unless that takes too long.
    #[must_use]
    pub fn judged(self, app: App, before: &Document, after: &Document) -> Self {
        let may_work = untrack(|| app.derived.apart.may_work());
        Self {
            effects: may_work.then(|| effects(&Side::new(before), &Side::new(after))),
            ..self
        }
    }

    /// A numbered list, and the sheets with those numbers as flags.
    pub fn shown(self, heading: &'static str, sides: [&'static str; 2]) -> AnyView {
        if self.lines.is_empty() {
            return view! { <p>{strings::NOTHING_DIFFERS}</p> }.into_any();
        }
        let lines = self.lines.into_iter().map(|line| view! { <li>{line}</li> });
        let drawn = self.drawn.into_iter().map(move |sheet| {
            let pieces = [sheet.before, sheet.after].into_iter().zip(sides);
            let figures = pieces.map(|(svg, side)| {
                let none = svg.is_empty().then_some(strings::NOT_THERE);
                view! {
                    <figure>
                        <figcaption>{side} {none}</figcaption>
                        <div inner_html=svg></div>
                    </figure>
                }
            });
            view! {
                <h5>{sheet.title}</h5>
                <div class="beside">{figures.collect::<Vec<_>>().views()}</div>
            }
        });
        view! {
            <h4>{heading}</h4>
            <ol>{lines.views()}</ol>
            {self.effects.map(|it| view! {
                {list(strings::CAME, strings::NONE_CAME, it.new.clone())}
                {list(strings::WORSE, "", it.worse.clone())}
                {list(strings::WENT, strings::NONE_WENT, it.gone.clone())}
                {loads(&it)}
            })}
            {drawn.views()}
        }
        .into_any()
    }
}

/// Where the flag of a record stands; none for what no sheet shows.
fn mark(key: &Key) -> Option<FlagAt> {
    match key {
        Key::Wire(id) => Some(FlagAt::Wire(id.clone())),
        Key::Device(id) => Some(FlagAt::Device(id.clone())),
        Key::Cable(id) => Some(FlagAt::Cable(id.clone())),
        Key::Splice(id) => Some(FlagAt::Splice(id.clone())),
        Key::Place(id) => Some(FlagAt::Place(id.clone())),
        _ => None,
    }
}

/// A field of which both say something else.
#[derive(Clone, PartialEq)]
struct Choice {
    path: String,
    /// Both values, in words.
    words: String,
    /// What would come and go if the other side's stood there.
    turned: [Vec<String>; 2],
}

/// More conflicts than this are told without what each does: whoever has so many begins elsewhere.
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
            {move || differences().map(|it| it.shown(strings::IN_OTHER_FILE, [strings::HERE, strings::IN_OTHER_FILE]))}
            {move || preview.get().map(|made| shown(it, made))}
        </details>
    }
}

/// Every revision that was kept, newest first: its key, and its date and name.
pub fn revisions(document: &Document) -> Vec<(String, String)> {
    let named = revisions::newest_first(document)
        .into_iter()
        .filter_map(|id| {
            let it = document.revisions.get(id)?;
            let name = match it.name.as_str() {
                "" => &it.reason,
                name => name,
            };
            Some((id.to_string(), format!("{} \u{b7} {name}", it.date)))
        });
    named.collect()
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

fn preview(it: Taken) -> Option<Preview> {
    let (other, given) = (it.other.get()?, it.base.get());
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
        let may_work = it.app.derived.apart.may_work();
        let sides = may_work.then(|| [Side::new(document), Side::new(&merged)]);
        let turned = |path: &str| {
            let verdict = sides.as_ref()?[1].verdict();
            let mut turned = theirs.clone();
            if !turned.remove(path) {
                turned.insert(path.to_owned());
            }
            let made = merge_by(base.as_deref(), document, &other, &turned).ok()?;
            Some(comes_and_goes(verdict, &rules::check(&made.document)))
        };
        let choice = |(at, it): (usize, Conflict)| Choice {
            words: it.words(document),
            turned: Some(&*it.path)
                .filter(|_| at < MOST_TURNED)
                .and_then(turned)
                .unwrap_or_default(),
            path: it.path,
        };
        Some(Preview {
            begins,
            effects: sides.as_ref().map(|[before, after]| effects(before, after)),
            conflicts: conflicts.into_iter().enumerate().map(choice).collect(),
            change: Change::between(document, &merged),
        })
    })
}

/// What a change does to loads and endurance; a sentence if that is nothing.
pub fn loads(effects: &Effects) -> AnyView {
    if effects.is_same_load() {
        return view! { <p>{strings::SAME_LOADS}</p> }.into_any();
    }
    let mut paper = Paper::default();
    for table in effects.tables() {
        paper.table(table.clone());
    }
    let markup = html::body(&paper, Form::Screen);
    view! { <div class="on-paper on-screen" inner_html=markup></div> }.into_any()
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
        {it.app.derived.apart.ask()}
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
