//! The frame around the rooms: top bar, the room, the strip at the bottom.

mod bar;
mod find;
mod keeping;
mod notice;
mod opening;
mod over;
mod paste;
mod projects;
mod settings;
mod states;
mod strip;

use leptos::{ev, prelude::*};
use loomwright_core::{drawing, ids::SheetId};

use crate::{
    App,
    derived::Derived,
    platform::{page, pick, print},
    rooms::{self, papers},
    session::{Session, settings::Settings},
    strings,
    view::{Room, View, sheets_in_order},
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
            <strip::Strip />
            {move || over_view(over.0)}
            <div class="print-only" id="paper"></div>
            <p class="print-only notice-print">{strings::NOTICE_PRINT}</p>
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

/// The open sheet, or every sheet, in black and white, each on a page of its own size, if the draw room
/// is printed; the chosen paper in a room of papers.
fn paper(app: App) -> String {
    page::set_root("paper", "");
    match app.view.room.get_untracked() {
        Room::Draw => {}
        Room::Build | Room::Test | Room::Log => return papers::to_print(app),
        Room::Plan | Room::Check => return String::new(),
    }
    let open = app.view.sheet.get_untracked();
    let all = app.view.print_all.get_untracked();
    app.session.peek(|document| {
        let size = |id: &SheetId| {
            let size = document.sheets.get(id).map(|sheet| sheet.size);
            format!("{:?}", size.unwrap_or_default()).to_ascii_lowercase()
        };
        let sheets = sheets_in_order(document).into_iter().map(|(id, ..)| id);
        let wanted: Vec<SheetId> = sheets
            .filter(|id| all || Some(id) == open.as_ref())
            .collect();
        // Not every browser gives the first page the size of what is on it: the styles say it of the whole page.
        page::set_root("paper", &wanted.first().map(size).unwrap_or_default());
        let page = |id: &SheetId| {
            // On paper a switch is at rest, whatever phase the screen shows.
            let svg = drawing::svg::in_page(&drawing::scene(document, id));
            format!("<div class=\"sheet-page {}\">{svg}</div>", size(id))
        };
        wanted.iter().map(page).collect()
    })
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
