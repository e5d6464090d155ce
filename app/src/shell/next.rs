//! What comes next in the job, in one line under every room.

use leptos::prelude::*;
use loomwright_core::{
    document::Document,
    rules::{NextAt, NextStep, next},
};

use crate::{
    App, app,
    commands::{go_to, show},
    strings,
    view::Room,
    widgets::{Given, Icon},
};

/// The line.
#[component]
pub fn Next() -> impl IntoView {
    let app = app();
    let step = Memo::new(move |_| {
        // Nothing is said of a check that is not done yet.
        let is_off =
            app.settings.with(|it| it.next_hidden) || app.derived.worker_check.is_checking();
        let counts = app.derived.verdict.with(|verdict| verdict.counts);
        let find = |document: &Document| next(document, counts);
        (!is_off).then(|| app.session.with(find)).flatten()
    });
    let text = move || step.with(|step| step.as_ref().map(|it| it.text.clone()));
    let go = move |_| {
        if let Some(step) = step.get_untracked() {
            go_there(app, step);
        }
    };
    let hide = move |_| {
        app.settings.update(|it| it.next_hidden = true);
        app.session.say(strings::NEXT_HIDDEN.into());
    };
    view! {
        <Given when=move || step.with(Option::is_some)>
            <div class="next-step">
                <button class="plain" on:click=go>
                    <span class="hush">{strings::NEXT}</span>
                    <span class="next-text">{text}</span>
                </button>
                <button class="plain" aria-label=strings::HIDE_NEXT title=strings::HIDE_NEXT on:click=hide>
                    <Icon name="close" />
                </button>
            </div>
        </Given>
    }
}

fn go_there(app: App, step: NextStep) {
    let paper = |room: Room, name: &'static str| {
        app.view.paper.set(name);
        app.view.room.set(room);
    };
    match step.at {
        NextAt::Plan => app.view.room.set(Room::Plan),
        NextAt::Drawing(keys) => match keys.as_slice() {
            [] => app.view.room.set(Room::Draw),
            [one] => go_to(app, one.clone()),
            _ => {
                app.view.selection.set(keys.iter().cloned().collect());
                show(app, keys);
            }
        },
        NextAt::Findings => app.view.room.set(Room::Check),
        NextAt::Wires => paper(Room::Build, ""),
        NextAt::Paper(name @ ("ring-out" | "power-up")) => paper(Room::Test, name),
        NextAt::Paper(name) => paper(Room::Build, name),
        NextAt::Log => paper(Room::Log, ""),
    }
}
