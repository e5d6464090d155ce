//! The project menu: projects in this browser, samples, files.

use crate::widgets::Views;
use leptos::prelude::*;
use loomwright_core::document::Document;

use super::{
    opening,
    over::{Over, Overlaid},
};
use crate::{
    App, app,
    platform::{page, pick, print},
    storage::Entry,
    strings,
    view::Room,
    widgets::{Dialog, Icon},
};

/// The project menu.
#[component]
pub fn Projects(
    /// Called when it is closed.
    #[prop(into)]
    on_close: Callback<()>,
) -> impl IntoView {
    let app = app();
    let over = expect_context::<Overlaid>().0;
    let sample = move |name| {
        opening::open_sample(app.session, name);
        on_close.run(());
    };
    let new = move |_| {
        app.session.open_new(new_document());
        app.view.room.set(Room::Draw);
        on_close.run(());
    };
    let print_sheets = move |all| {
        on_close.run(());
        app.view.room.set(Room::Draw);
        app.view.print_all.set(all);
        print::print();
    };
    view! {
        <Dialog title=strings::PROJECT_MENU on_close=on_close>
            <div class="menu">
                <button on:click=move |_| {
                    opening::save_file(app.session);
                    on_close.run(());
                }>{strings::SAVE_FILE}</button>
                <button on:click=move |_| {
                    opening::share_file(app.session);
                    on_close.run(());
                }>{strings::SHARE_FILE}</button>
                <button on:click=move |_| {
                    opening::copy_link(app.session);
                    on_close.run(());
                }>{strings::COPY_LINK}</button>
                <label class="button">
                    {strings::OPEN_FILE}
                    <input
                        type="file"
                        class="hidden-file"
                        accept=".json,application/json"
                        on:change=move |event| {
                            if let Some(file) = pick::chosen(&event) {
                                opening::open_file(app.session, over, file);
                            }
                        }
                    />
                </label>
                <button on:click=move |_| over.set(Over::PasteList)>{strings::PASTE_LIST}</button>
                <button on:click=move |_| print_sheets(false)>{strings::PRINT_SHEET}</button>
                <button on:click=move |_| print_sheets(true)>{strings::PRINT_ALL}</button>
                <button on:click=new>{strings::NEW_PROJECT}</button>
                <button on:click=move |_| sample("sorrel")>{strings::OPEN_SORREL}</button>
                <button on:click=move |_| sample("teasel")>{strings::OPEN_TEASEL}</button>
                <button on:click=move |_| sample("bryony")>{strings::OPEN_BRYONY}</button>
                <button on:click=move |_| over.set(Over::Keeping)>{strings::KEEPING}</button>
                <button on:click=move |_| over.set(Over::About)>{strings::ABOUT}</button>
            </div>
            <h3>{strings::PROJECTS_HERE}</h3>
            <ul class="projects">
                {move || {
                    app.session
                        .index
                        .get()
                        .projects
                        .into_iter()
                        .rev()
                        .map(|entry| row(app, entry, on_close))
                        .views()
                }}
            </ul>
        </Dialog>
    }
}

fn row(app: App, entry: Entry, on_close: Callback<()>) -> impl IntoView {
    let Entry { id, title, edited } = entry;
    let open_id = id.clone();
    let open = move |_| {
        let id = open_id.clone();
        leptos::task::spawn_local(async move {
            match app.session.open_kept(id).await {
                Ok(()) => on_close.run(()),
                Err(why) => app.session.say(why),
            }
        });
    };
    let is_open = app.session.id() == id;
    let forget = move |_| {
        if page::confirm(strings::FORGET_ASK) {
            app.session.forget(&id);
        }
    };
    view! {
        <li>
            <button aria-current=is_open.then_some("true") on:click=open>
                <b>{if title.is_empty() { strings::UNTITLED.to_owned() } else { title }}</b>
                <span class="hush">{edited}</span>
            </button>
            <button class="plain" aria-label=strings::FORGET disabled=is_open on:click=forget>
                <Icon name="delete" />
            </button>
        </li>
    }
}

/// An empty project with one sheet to draw on.
pub fn new_document() -> Document {
    use loomwright_core::{document::Sheet, ids::SheetId};
    let mut document = Document::default();
    document.sheets.insert(
        SheetId::new("sheet1"),
        Sheet {
            number: 1,
            title: strings::NEW_SHEET.into(),
            ..Sheet::default()
        },
    );
    document
}
