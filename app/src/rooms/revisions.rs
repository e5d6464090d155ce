//! Revisions in the log room: keeping one, what changed since, going back; and the earlier states that the
//! browser keeps by itself.

use leptos::{prelude::*, task::spawn_local};
use loomwright_core::{
    document::{Document, RevisionMark},
    edit::{self, Key},
    exchange::{
        compare::{Difference, compare},
        revisions::{self, Kept},
    },
    ids::RevisionId,
};

use crate::{
    App, app, file,
    platform::clock,
    settings::Settings,
    storage::{self, Earlier},
    strings,
    widgets::{Area, Choice, Given, Text, Views},
};

const MARKS: [Option<RevisionMark>; 3] = [
    None,
    Some(RevisionMark::AsBuilt),
    Some(RevisionMark::Inspected),
];

fn words(mark: Option<RevisionMark>) -> &'static str {
    let at = MARKS.iter().position(|it| *it == mark).unwrap_or(0);
    strings::MARKS[at]
}

/// The part of the room, folded up.
#[component]
pub fn Revisions() -> impl IntoView {
    let app = app();
    // What is told under the lists: a heading, and lines.
    let told = RwSignal::new(None::<(String, Vec<String>)>);
    let earlier = RwSignal::new(None::<Vec<Earlier>>);
    let look = move |_| {
        spawn_local(async move { earlier.set(Some(storage::earlier_of(&app.session.id()).await)) });
    };
    view! {
        <details class="revisions">
            <summary>{strings::REVISIONS}</summary>
            <p class="hush">{strings::REVISIONS_HELP}</p>
            {new_revision(app)}
            {move || app.session.with(|document| list(app, told, document))}
            <h4>{strings::EARLIER}</h4>
            <p class="hush">{strings::EARLIER_HELP}</p>
            <button on:click=look>{strings::LOOK_FOR}</button>
            {move || earlier.get().map(|all| earlier_list(app, told, all))}
            <Given when=move || told.with(Option::is_some)>
                <div class="told" role="status">{move || told.get().map(told_view)}</div>
            </Given>
        </details>
    }
}

fn new_revision(app: App) -> AnyView {
    let reason = RwSignal::new(String::new());
    let mark = RwSignal::new(strings::MARKS[0].to_owned());
    let options = strings::MARKS.map(|mark| (mark.to_owned(), mark.to_owned()));
    let keep = move |_| {
        let said = reason.get_untracked();
        if said.trim().is_empty() {
            app.session.say(strings::WRITE_FIRST.into());
            return;
        }
        let who = app.settings.with_untracked(Settings::builder);
        let chosen = mark.get_untracked();
        let kept = Kept {
            who: &who,
            date: &clock::today(),
            reason: &said,
            mark: MARKS.into_iter().find(|it| words(*it) == chosen).flatten(),
        };
        let change = app.session.peek(|document| revisions::keep(document, kept));
        app.session.run(strings::KEPT_REVISION, change);
        reason.set(String::new());
    };
    view! {
        <div class="new-entry">
            <Area label=strings::REASON_WHY value=reason on_commit=move |said: String| reason.set(said) />
            <div class="paper-fields">
                <Choice
                    label=strings::STANDS_FOR
                    options=Signal::stored(options.to_vec())
                    value=mark
                    on_commit=move |chosen: String| mark.set(chosen)
                />
                <button on:click=keep>{strings::KEEP_REVISION}</button>
            </div>
        </div>
    }
    .into_any()
}

type Told = RwSignal<Option<(String, Vec<String>)>>;

fn list(app: App, told: Told, document: &Document) -> AnyView {
    let all = revisions::newest_first(document);
    let inspected = all.iter().find(|id| {
        let revision = document.revisions.get(**id);
        revision.is_some_and(|it| it.mark == Some(RevisionMark::Inspected))
    });
    let inspected = inspected.map(|id| {
        let id = RevisionId::clone(id);
        let tell = move |_| tell_since(app, told, &id);
        view! { <button on:click=tell>{strings::SINCE_INSPECTION}</button> }
    });
    let rows = all
        .into_iter()
        .filter_map(|id| row(app, told, document, id));
    view! {
        {inspected}
        <ul class="revision-list">{rows.views()}</ul>
    }
    .into_any()
}

fn row(app: App, told: Told, document: &Document, id: &RevisionId) -> Option<AnyView> {
    let it = document.revisions.get(id)?;
    let mark = it.mark.map_or(String::new(), |mark| {
        format!(" \u{b7} {}", words(Some(mark)))
    });
    let head = format!("{} \u{b7} {} \u{b7} {}{mark}", it.date, it.who, it.reason);
    let key = Key::Revision(id.clone());
    let name = move |name: String| {
        let change = app
            .session
            .peek(|document| edit::rename(document, &key, &name));
        app.session.try_run(strings::RENAME, change);
    };
    let (since, back) = (id.clone(), id.clone());
    let go_back = move |_| {
        let change = app
            .session
            .peek(|document| revisions::back_to(document, &back));
        app.session.try_run(strings::WENT_BACK, change);
    };
    let view = view! {
        <li>
            <p>{head}</p>
            <Text label=strings::RENAME value=Signal::stored(it.name.clone()) on_commit=name />
            <button on:click=move |_| tell_since(app, told, &since)>{strings::WHAT_CHANGED}</button>
            <button on:click=go_back>{strings::GO_BACK}</button>
        </li>
    };
    Some(view.into_any())
}

fn tell_since(app: App, told: Told, id: &RevisionId) {
    let found = app.session.peek(|document| revisions::since(document, id));
    match found {
        Ok(all) => told.set(Some((strings::WHAT_CHANGED.into(), lines(&all)))),
        Err(why) => app.session.say(why.to_string()),
    }
}

fn lines(all: &[Difference]) -> Vec<String> {
    all.iter().map(Difference::words).collect()
}

fn told_view((heading, lines): (String, Vec<String>)) -> AnyView {
    let none = lines.is_empty().then_some(strings::NOTHING_DIFFERS);
    let lines = lines.into_iter().map(|line| view! { <li>{line}</li> });
    view! {
        <h4>{heading}</h4>
        {none}
        <ul>{lines.views()}</ul>
    }
    .into_any()
}

fn earlier_list(app: App, told: Told, all: Vec<Earlier>) -> AnyView {
    if all.is_empty() {
        return view! { <p>{strings::NONE_KEPT}</p> }.into_any();
    }
    let row = move |it: Earlier| {
        let when = clock::spoken(it.time_ms);
        let (seen, back) = (it.clone(), it);
        view! {
            <li>
                <span>{when}</span>
                <button on:click=move |_| tell_earlier(app, told, seen.clone())>{strings::WHAT_CHANGED}</button>
                <button on:click=move |_| go_earlier(app, back.clone())>{strings::GO_BACK}</button>
            </li>
        }
    };
    view! { <ul class="revision-list">{all.into_iter().map(row).views()}</ul> }.into_any()
}

async fn read(app: App, earlier: &Earlier) -> Option<Document> {
    let text = storage::earlier_text(earlier).await.unwrap_or_default();
    match file::open(text.as_bytes()) {
        Ok(opened) => Some(opened.document),
        Err(why) => {
            app.session.say(why);
            None
        }
    }
}

fn tell_earlier(app: App, told: Told, earlier: Earlier) {
    spawn_local(async move {
        if let Some(before) = read(app, &earlier).await {
            let all = app
                .session
                .peek(|document| lines(&compare(&before, document)));
            told.set(Some((strings::WHAT_CHANGED.into(), all)));
        }
    });
}

fn go_earlier(app: App, earlier: Earlier) {
    spawn_local(async move {
        if let Some(before) = read(app, &earlier).await {
            let change = app
                .session
                .peek(|document| revisions::back_to_content(document, before));
            app.session.run(strings::WENT_BACK, change);
        }
    });
}
