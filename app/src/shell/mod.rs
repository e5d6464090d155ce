//! The frame around the rooms: top bar, the room, the strip at the bottom.

mod bar;
mod find;
mod keeping;
mod next;
mod notice;
mod opening;
mod over;
mod paste;
mod projects;
mod settings;
mod states;
mod strip;

use leptos::{ev, prelude::*};

use crate::{
    App,
    derived::Derived,
    platform::{page, pick, print},
    rooms::{self, papers},
    session::{Session, settings::Settings},
    strings,
    view::{Room, View},
    widgets::Dialog,
};

use opening::open_file;
use over::{Over, Overlaid};

/// The whole app.
#[component]
pub fn Shell() -> impl IntoView {
    let view = View::new();
    let session = Session::new(view);
    let app = App {
        session,
        view,
        derived: Derived::new(session, view),
        settings: Settings::signal(),
    };
    let over = Overlaid(RwSignal::new(
        if app.settings.with_untracked(|s| s.notice_read) {
            Over::Nothing
        } else {
            Over::About
        },
    ));
    provide_context(app);
    provide_context(over);
    session.listen();
    opening::open_last(session);
    let leaving = window_event_listener(ev::beforeunload, move |event| {
        if untrack(|| session.is_unsaved()) {
            event.prevent_default();
        }
    });
    on_cleanup(move || leaving.remove());
    let elsewhere = window_event_listener(ev::storage, move |event| {
        if let Some(name) = event.key() {
            session.written_elsewhere(&name);
        }
    });
    on_cleanup(move || elsewhere.remove());
    // On the window: before anything is pressed nothing has the focus.
    let pressed = window_event_listener(ev::keydown, move |event| keys(app, over.0, &event));
    on_cleanup(move || pressed.remove());
    let room = Memo::new(move |_| view.room.get());
    print::fill_before_print("paper", move || paper(app));
    if page::is_webkit() {
        page::set_root("engine", "webkit");
    }

    view! {
        <div
            class="shell"
            on:dragover=|event: ev::DragEvent| event.prevent_default()
            on:drop=move |event: ev::DragEvent| {
                if let Some(file) = pick::dropped(&event) {
                    open_file(session, over.0, file);
                }
            }
        >
            <bar::Bar />
            <main class="room">
                {move || match room.get() {
                    Room::Plan => rooms::plan::Plan().into_any(),
                    Room::Draw => rooms::draw::Draw().into_any(),
                    Room::Check => rooms::check::Check().into_any(),
                    Room::Build => rooms::build::Build().into_any(),
                    Room::Test => rooms::test::Test().into_any(),
                    Room::Log => rooms::log::Log().into_any(),
                }}
            </main>
            <next::Next />
            <strip::Strip />
            {move || over_view(over.0)}
            <div class="print-only" id="paper"></div>
        </div>
    }
}

fn over_view(over: RwSignal<Over>) -> AnyView {
    let close = move |()| over.set(Over::Nothing);
    match over.get() {
        Over::Nothing => ().into_any(),
        Over::Projects => view! { <projects::Projects on_close=close /> }.into_any(),
        Over::Find => view! { <find::FindBox on_close=close /> }.into_any(),
        Over::PasteList => view! { <paste::PasteList on_close=close /> }.into_any(),
        Over::Settings => view! { <settings::SettingsBox on_close=close /> }.into_any(),
        Over::About => view! { <notice::About on_close=close /> }.into_any(),
        Over::Keeping => view! { <keeping::Keeping on_close=close /> }.into_any(),
        Over::Refused(why) => view! {
            <Dialog title=strings::NOT_OPENED on_close=close>
                <p class="refused" role="alert">{why}</p>
            </Dialog>
        }
        .into_any(),
    }
}

/// The open sheet, or every sheet, if the draw room is printed; the chosen paper in a room of papers; else the paper
/// with what the room holds.
fn paper(app: App) -> String {
    let name = match app.view.room.get_untracked() {
        Room::Draw => "sheets",
        Room::Plan => "loads",
        Room::Check => "findings",
        Room::Build | Room::Test | Room::Log => match app.view.paper.get_untracked() {
            "" => "log",
            name => name,
        },
    };
    papers::to_print(app, name)
}

/// Keys that mean the same in every room.
fn keys(app: App, over: RwSignal<Over>, event: &ev::KeyboardEvent) {
    if over.get_untracked() != Over::Nothing {
        return;
    }
    if event.key() == "/" && !pick::is_typing(event) {
        over.set(Over::Find);
        event.prevent_default();
    }
    if !(event.ctrl_key() || event.meta_key()) {
        return;
    }
    match (event.key().as_str(), event.shift_key()) {
        ("z" | "Z", true) | ("y" | "Y", _) => app.session.redo(),
        ("z", false) => app.session.undo(),
        ("s", _) => opening::save_file(app.session),
        ("f" | "k", _) => over.set(Over::Find),
        _ => return,
    }
    event.prevent_default();
}
