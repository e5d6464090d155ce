//! Papers in the rooms: one is chosen, made, shown, filled in, printed, saved.

use std::{sync::Arc, time::Duration};

use leptos::prelude::*;
use loomwright_core::{
    document::{Document, Marking},
    drawing,
    edit::{self, Key, Record},
    exchange::revisions,
    reports::{
        self, Edition, PAPERS, Paper, PaperInput, findings,
        html::{self, Form},
        log,
        mark::Mark,
        pack, sheets, wires,
    },
};

use super::picker::{self, picker};
use crate::{
    App, app,
    commands::edit_project,
    details::Length,
    platform::{clock, download, paper as page, print},
    session::settings::Settings,
    strings,
    view::paper::{FILE, PaperChoice},
    widgets::{Choice, Known, Number, Text, Views, YesNo},
};

/// The element that holds the paper.
const SHOWN: &str = "shown-paper";
/// What a paper is made from here.
fn asked<'d>(document: &'d Document, before: Option<&'d Document>) -> PaperInput<'d> {
    PaperInput {
        document,
        before,
        zone: drawing::zone_of,
        drawn: drawing::printed,
    }
}

/// The choice of papers of a room, and the one that is chosen.
#[component]
pub fn Papers(
    /// Names of the papers.
    offered: &'static [&'static str],
    /// What the room shows without a paper: its word, if there is such a thing.
    #[prop(optional)]
    first: &'static str,
) -> impl IntoView {
    let app = app();
    app.view.papers.only.set(String::new());
    // The paper of another room is none here.
    if !offered.contains(&app.view.paper.get_untracked()) {
        let none = if first.is_empty() { offered[0] } else { "" };
        app.view.paper.set(none);
    }
    let tab = move |name: &'static str, word: &'static str| {
        view! {
            <button
                aria-pressed=move || (app.view.paper.get() == name).to_string()
                on:click=move |_| app.view.paper.set(name)
            >
                {word}
            </button>
        }
    };
    let tabs = (!first.is_empty()).then_some(("", first));
    let named = offered.iter().map(|name| (*name, title(name)));
    let tabs = tabs
        .into_iter()
        .chain(named)
        .map(|(name, word)| tab(name, word));
    let tabs: Vec<_> = tabs.collect();
    view! {
        <nav class="paper-choice" aria-label=strings::PAPERS>{tabs.views()}</nav>
        {move || match app.view.paper.get() {
            "" => ().into_any(),
            name => shown(app, name),
        }}
    }
}

fn title(name: &str) -> &'static str {
    let found = PAPERS.iter().find(|(known, ..)| *known == name);
    found.map_or("", |(_, title, _)| title)
}

fn shown(app: App, name: &'static str) -> AnyView {
    let look = app.view.papers;
    Effect::new(move |_| {
        app.session.revision();
        look.track();
        // After the cursor has gone to the next field, so that it can be given back there.
        set_timeout(move || show(app, name), Duration::ZERO);
    });
    let save = move |csv: bool| {
        let paper = dated(app, name);
        let (kind, mime, text) = match csv {
            true => ("csv", "text/csv", paper.to_csv()),
            false => ("html", "text/html", paper.to_html()),
        };
        download::download(
            &download::file_name(&paper.title, kind),
            mime,
            text.as_bytes(),
        );
    };
    let filter = (name != "pack").then(|| {
        view! {
            <input
                type="search"
                placeholder=strings::SHOW_ONLY
                aria-label=strings::SHOW_ONLY
                prop:value=move || look.only.get()
                on:input=move |event| look.only.set(event_target_value(&event))
            />
        }
    });
    view! {
        <div class="grid-tools">
            {filter}
            <button on:click=move |_| print::print()>{strings::PRINT_PAPER}</button>
            <button on:click=move |_| save(true)>{strings::SAVE_CSV}</button>
            <button on:click=move |_| save(false)>{strings::SAVE_HTML}</button>
        </div>
        <div class="paper-fields">{fields(app, name)}</div>
        {move || look.under_way.get().map(|done| view! {
            <progress max=app.session.with(pack::steps).to_string() value=done.to_string()></progress>
        })}
        <div
            id=SHOWN
            class="on-paper on-screen"
            on:change=move |event| {
                if let Some((key, done)) = page::done(&event) {
                    take(app, &key, done);
                }
            }
        ></div>
    }
    .into_any()
}

/// Makes a paper with the choices made in the room.
fn made(app: App, name: &str) -> Paper {
    let look = app.view.papers;
    app.session.peek(|document| {
        let before = match look.before.get_untracked().as_str() {
            // No other paper has two states.
            chosen if chosen.is_empty() || name != "loads" => None,
            FILE => look.file.get_untracked(),
            id => revisions::content(document, &id.into()).ok().map(Arc::new),
        };
        let asked = asked(document, before.as_deref());
        let mut paper = match name {
            "wires" => wires::paper_by(&asked, look.group.get_untracked()),
            "findings" => findings::paper(&asked),
            "log" => log::paper(&asked),
            "sheets" => {
                let open = app.view.sheet.get_untracked();
                let all = app.view.print_all.get_untracked();
                sheets::paper(&asked, open.as_ref().filter(|_| !all))
            }
            name => reports::paper(&asked, name).unwrap_or_default(),
        };
        if let ("wires", Some(reports::Part::Table(table))) = (name, paper.parts.first_mut()) {
            look.sorted_by.with_untracked(|key| table.sort_by(key));
        }
        // What is printed without a choice of papers has no such field.
        if app.view.paper.get_untracked() == name && name != "pack" {
            look.only.with_untracked(|only| paper.keep(only));
        }
        paper
    })
}

fn show(app: App, name: &'static str) {
    if app.view.paper.try_get_untracked() != Some(name) {
        return;
    }
    if name == "pack" {
        let document = app.session.peek(Document::clone);
        let paper = pack::empty(&document);
        app.view.papers.under_way.set(Some(0));
        step(app, app.session.revision_now(), (document, paper), 0);
        return;
    }
    let paper = made(app, name);
    page::show(SHOWN, &html::body(&paper, Form::Screen));
}

/// Makes the pack a step at a time, so that the page stays responsive. An edit ends it, since the effect
/// then starts again.
fn step(app: App, revision: u64, (document, mut paper): (Document, Paper), at: usize) {
    let is_wanted = app.view.paper.try_get_untracked() == Some("pack");
    if !is_wanted || app.session.revision_now() != revision {
        return;
    }
    if at == pack::steps(&document) {
        app.view.papers.under_way.set(None);
        page::show(SHOWN, &html::body(&paper, Form::Screen));
        return;
    }
    pack::put(&mut paper, &asked(&document, None), at);
    app.view.papers.under_way.set(Some(at + 1));
    set_timeout(
        move || step(app, revision, (document, paper), at + 1),
        Duration::ZERO,
    );
}

/// A paper for print or a file: its pages say the version and the date.
fn dated(app: App, name: &str) -> Paper {
    let edition = Edition {
        version: app.session.peek(revisions::in_words),
        date: clock::today(),
    };
    Paper {
        edition,
        ..made(app, name)
    }
}

/// A paper as it is printed.
pub fn to_print(app: App, name: &str) -> String {
    let body = html::body(&dated(app, name), Form::Print);
    format!("<div class=\"on-paper\">{body}</div>")
}

/// Takes a tick or a value into the project.
fn take(app: App, key: &str, done: page::Done) {
    let session = app.session;
    match (Mark::of(key), done) {
        (Some(Mark::Step(id, step)), page::Done::Ticked(is_done)) => {
            let change = session.peek(|document| {
                let mut wire = document.wires.get(&id)?.clone();
                wire.status = reports::cuts::ticked(step, is_done);
                Some(edit::update_record(
                    document,
                    &Key::Wire(id),
                    Record::Wire(wire),
                ))
            });
            if let Some(change) = change {
                session.try_run(strings::STEP_OF_WIRE, change);
            }
        }
        (Some(Mark::Stock(line)), page::Done::Typed(text)) => {
            let change = session.peek(|document| {
                let is_length = reports::order_list::is_length(&line);
                edit::put_stock(document, (&line, is_length), &text)
            });
            session.try_run(strings::ON_SHELF, change);
        }
        (Some(Mark::Cable(id, step)), page::Done::Ticked(is_done)) => {
            let change = session.peek(|document| {
                let mut cable = document.cables.get(&id)?.clone();
                cable.set_done(step, is_done);
                let key = Key::Cable(id);
                Some(edit::update_record(document, &key, Record::Cable(cable)))
            });
            if let Some(change) = change {
                session.try_run(strings::STEP_OF_CABLE, change);
            }
        }
        (Some(mark @ (Mark::Read(..) | Mark::BeforeWiring(..))), done) => {
            // A tick says that it is right, without a figure.
            let text = match done {
                page::Done::Typed(text) => text,
                page::Done::Ticked(true) => "ok".into(),
                page::Done::Ticked(false) => String::new(),
            };
            let who = app.settings.with_untracked(Settings::builder);
            let today = clock::today();
            let change = session.peek(|document| match &mark {
                Mark::BeforeWiring(from, to) => {
                    edit::put_before_wiring(document, (from, to), &text, &who, &today)
                }
                Mark::Read(test, from, to, position) => edit::put_reading(
                    document,
                    (*test, from, to, position.as_ref()),
                    &text,
                    &who,
                    &today,
                ),
                _ => Ok(edit::Change::default()),
            });
            session.try_run(strings::READ_VALUE, change);
        }
        _ => {}
    }
}

/// What a paper is made by, in fields above it.
fn fields(app: App, name: &str) -> AnyView {
    match name {
        "wires" => grouping(app.view.papers),
        "cuts" => view! {
            <Length
                label=strings::SPARE_LENGTH
                value_m=Signal::derive(move || app.session.with(|it| it.project.service_loop_m))
                on_commit=move |m| {
                    edit_project(app.session, strings::SPARE_LENGTH, |it| it.service_loop_m = m);
                }
            />
        }
        .into_any(),
        "order" => figure(app, strings::SPARE_PERCENT, |project| {
            &mut project.spare_percent
        }),
        "labels" => numbering(app),
        "loads" => beside(app),
        _ => ().into_any(),
    }
}

/// The choice of an earlier state: a revision that was kept, or a file.
fn beside(app: App) -> AnyView {
    let look = app.view.papers;
    let take = move |file| {
        look.file.set(Some(file));
        look.before.set(FILE.into());
    };
    let options = move || {
        let none = (String::new(), strings::NOTHING_EARLIER.to_owned());
        let file = (FILE.to_owned(), strings::CHOSEN_FILE.to_owned());
        let file = look.file.with(Option::is_some).then_some(file);
        let kept = app.session.with(picker::revisions);
        [none]
            .into_iter()
            .chain(file)
            .chain(kept)
            .collect::<Vec<_>>()
    };
    let choose = move |id: String| {
        let is_own = !id.is_empty() && id != FILE;
        let content = |document: &Document| revisions::content(document, &id.as_str().into());
        match is_own.then(|| app.session.peek(content)) {
            Some(Err(why)) => app.session.say(why.to_string()),
            _ => look.before.set(id),
        }
    };
    view! {
        <Choice
            label=strings::SET_BESIDE
            options=Signal::derive(options)
            value=look.before
            on_commit=choose
        />
        {picker(app, strings::SET_BESIDE_FILE, take)}
    }
    .into_any()
}

fn grouping(look: PaperChoice) -> AnyView {
    let options = wires::Group::ALL
        .iter()
        .map(|(_, name)| (name.to_string(), name.to_string()));
    let none = (String::new(), strings::NOT_GROUPED.to_owned());
    let options: Vec<_> = [none].into_iter().chain(options).collect();
    let columns = wires::columns().map(|(key, title)| (key.to_owned(), title.to_owned()));
    let columns: Vec<_> = columns.collect();
    let chosen = move || {
        let group = look.group.get();
        let found = wires::Group::ALL.iter().find(|(it, _)| Some(*it) == group);
        found.map_or(String::new(), |(_, name)| name.to_string())
    };
    view! {
        <Choice
            label=strings::GROUP_BY
            options=Signal::stored(options)
            value=Signal::derive(chosen)
            on_commit=move |name: String| {
                let found = wires::Group::ALL.iter().find(|(_, known)| *known == name);
                look.group.set(found.map(|(group, _)| *group));
            }
        />
        <Choice
            label=strings::SORTED_BY
            options=Signal::stored(columns)
            value=look.sorted_by
            on_commit=move |key: String| look.sorted_by.set(key)
        />
    }
    .into_any()
}

type ProjectField = fn(&mut loomwright_core::document::Project) -> &mut Option<f64>;

fn figure(app: App, label: &'static str, of: ProjectField) -> AnyView {
    let value = move || {
        let mut project = app.session.with(|document| document.project.clone());
        *of(&mut project)
    };
    view! {
        <Number
            label=label
            value=Signal::derive(value)
            on_commit=move |number| edit_project(app.session, label, |project| *of(project) = number)
        />
    }
    .into_any()
}

fn numbering(app: App) -> AnyView {
    let number = move |_| match app.session.peek(edit::number_wires) {
        Ok((change, built)) => {
            app.session.run(strings::NUMBER_WIRES, change);
            if built > 0 {
                app.session.say(strings::kept_numbers(built));
            }
        }
        Err(error) => app.session.say(error.to_string()),
    };
    view! {
        {figure(app, strings::LABEL_MM, |project| &mut project.label_mm)}
        <YesNo
            label=strings::MARKING
            words=strings::MARKING_IS
            value=Signal::derive(move || {
                let marking = app.session.with(|document| document.project.marking);
                marking.map(|it| it == Marking::Sleeves)
            })
            on_commit=move |known: Known| {
                let marking = known.map(|is| if is { Marking::Sleeves } else { Marking::Insulation });
                edit_project(app.session, strings::MARKING, |project| project.marking = marking);
            }
        />
        <Text
            label=strings::NUMBERING
            value=Signal::derive(move || app.session.with(|document| document.project.numbering.clone()))
            on_commit=move |scheme: String| {
                edit_project(app.session, strings::NUMBERING, |project| project.numbering = scheme);
            }
            offers=&["{letter}{circuit}{segment}{gauge}{ground}", "{circuit}{segment}"]
        />
        <button on:click=number>{strings::NUMBER_WIRES}</button>
    }
    .into_any()
}
