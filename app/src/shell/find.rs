//! Find anything: a tag, a number, a function, a pin.

use leptos::{ev, prelude::*};
use loomwright_core::{
    document::{Found, find},
    edit::Key,
};

use crate::{
    app,
    commands::go_to,
    platform::focus,
    strings,
    widgets::{Dialog, Views},
};

/// Most hits that are shown.
const MOST: usize = 30;

/// The box.
#[component]
pub fn FindBox(
    /// Called when it is closed.
    #[prop(into)]
    on_close: Callback<()>,
) -> impl IntoView {
    let app = app();
    let text = RwSignal::new(String::new());
    let found = Memo::new(move |_| {
        let text = text.get();
        app.session.with(|document| find(document, &text, MOST))
    });
    let go = move |found: Found| {
        on_close.run(());
        match Key::parse(found.kind, &found.id) {
            Some(Key::Sheet(id)) => {
                app.view.room.set(crate::view::Room::Draw);
                app.view.sheet.set(Some(id));
            }
            Some(key) => go_to(app, key),
            None => {}
        }
    };
    let row = move |found: Found| {
        let (label, about) = (found.label.clone(), found.about.clone());
        view! {
            <li>
                <button class="row" on:click=move |_| go(found.clone())>
                    <b>{label}</b>
                    <span class="hush">{about}</span>
                </button>
            </li>
        }
    };
    // After the box has taken the focus itself.
    Effect::new(move |_| {
        leptos::task::spawn_local(async {
            leptos::task::tick().await;
            focus::focus("find");
        });
    });
    view! {
        <Dialog title=strings::FIND on_close=on_close>
            <input
                id="find"
                type="search"
                class="find"
                autocomplete="off"
                aria-label=strings::FIND
                placeholder=strings::FIND_HELP
                on:input=move |event| text.set(event_target_value(&event))
                on:keydown=move |event: ev::KeyboardEvent| {
                    let first = found.with(|found| found.first().cloned());
                    if event.key() == "Enter" && let Some(first) = first {
                        go(first);
                    }
                }
            />
            <p class="hush">
                {move || {
                    let none = !text.with(String::is_empty) && found.with(Vec::is_empty);
                    none.then_some(strings::FOUND_NOTHING)
                }}
            </p>
            <ul class="parts found-list">{move || found.get().into_iter().map(row).views()}</ul>
        </Dialog>
    }
}
