//! Revisions in the log room: keeping one, what changed since, going back; and the earlier states that the
//! browser keeps by itself.

use leptos::{prelude::*, task::spawn_local};
use loomwright_core::{
    document::{Document, RevisionMark},
    edit::{self, Key},
    exchange::revisions::{self, RevisionNote},
    ids::RevisionId,
};

use super::{
    differences::Differs,
    entry::{self, Form},
    picker,
};
use crate::{
    App, app,
    platform::clock,
    session::{file, settings::Settings},
    storage::{self, Earlier},
    strings,
    widgets::{Choice, Given, Text, Views},
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
    let told = Told {
        differs: RwSignal::new(None),
        until: RwSignal::new(None),
    };
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
            <Given when=move || told.differs.with(Option::is_some)>
                <div class="told" role="status">
                    {move || told.differs.get().map(|it| it.shown(strings::WHAT_CHANGED, [strings::THEN, strings::NOW]))}
                </div>
            </Given>
        </details>
    }
}

fn new_revision(app: App) -> AnyView {
    let form = Form {
        label: strings::REASON_WHY,
        choice: strings::STANDS_FOR,
        words: strings::MARKS.to_vec(),
        more: ().into_any(),
        button: strings::KEEP_REVISION,
    };
    entry::form(app, form, move |said, chosen| {
        let who = app.settings.with_untracked(Settings::builder);
        let kept = RevisionNote {
            who: &who,
            date: &clock::today(),
            reason: said,
            mark: MARKS.into_iter().find(|it| words(*it) == chosen).flatten(),
        };
        let change = app.session.peek(|document| revisions::keep(document, kept));
        app.session.run(strings::KEPT_REVISION, change);
        true
    })
}

/// What changed, and up to which revision.
#[derive(Clone, Copy)]
struct Told {
    differs: RwSignal<Option<Differs>>,
    until: RwSignal<Option<RevisionId>>,
}

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
    let rows = all.iter().filter_map(|id| row(app, told, document, id));
    let now = (String::new(), strings::NOW.to_owned());
    let until = Signal::stored(
        [now]
            .into_iter()
            .chain(picker::revisions(document))
            .collect::<Vec<_>>(),
    );
    let chosen = move || told.until.get().map_or(String::new(), |id| id.to_string());
    view! {
        <Choice
            label=strings::UP_TO
            options=until
            value=Signal::derive(chosen)
            on_commit=move |id: String| told.until.set((!id.is_empty()).then(|| id.as_str().into()))
        />
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
    let until = told.until.get_untracked();
    let both = app
        .session
        .peek(|document| revisions::two(document, id, until.as_ref()));
    match both {
        Ok([before, after]) => {
            let differs = Differs::new(&before, &after).judged(app, &before, &after);
            told.differs.set(Some(differs));
        }
        Err(why) => app.session.say(why.to_string()),
    }
}

fn earlier_list(app: App, told: Told, all: Vec<Earlier>) -> AnyView {
    if all.is_empty() {
        return view! { <p>{strings::NONE_KEPT}</p> }.into_any();
    }
    let row = move |it: Earlier| {
        let when = clock::spoken(it.state.time_ms);
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
                .peek(|document| Differs::new(&before, document).judged(app, &before, document));
            told.differs.set(Some(all));
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
