//! Details of a sheet.

use leptos::prelude::*;
use loomwright_core::{
    document::Sheet,
    drawing,
    edit::{Key, Record, delete},
    ids::SheetId,
};

use super::tidy_look::tidy_look;
use crate::{
    App, app,
    commands::edit,
    platform::download,
    strings::{self, words},
    view,
    widgets::{Amount, Choice, Number, Text, Tick},
};

/// Something that edits a sheet.
type Touch = Box<dyn FnOnce(&mut Sheet)>;

/// Hands a sheet to the person as a drawing that needs nothing else.
fn save_drawing(app: App, id: &SheetId) {
    let scene = app.derived.scene.get_untracked();
    let svg = drawing::svg(&scene, drawing::Theme::BlackAndWhite, None);
    let title = app.session.peek(|document| {
        let sheet = document.record_label("sheet", id.as_str());
        format!("{} {sheet}", document.project.title)
    });
    let name = download::file_name(&title, "svg");
    download::download(&name, "image/svg+xml", svg.as_bytes());
}

/// The panel.
#[component]
pub fn SheetDetails(
    /// The sheet.
    id: SheetId,
) -> impl IntoView {
    let app = app();
    let key = StoredValue::new(id.clone());
    let sheet: Memo<Option<Sheet>> = Memo::new(move |_| {
        app.session
            .with(|document| document.sheets.get(&id).cloned())
    });
    let touch = move |label: &str, touch: Touch| {
        edit(
            app.session,
            label,
            Key::Sheet(key.get_value()),
            |record, _| {
                if let Record::Sheet(sheet) = record {
                    touch(sheet);
                }
            },
        );
    };
    let remove = move |_| {
        let change = app
            .session
            .peek(|document| delete(document, &[Key::Sheet(key.get_value())]));
        app.view.select_none();
        app.session.try_run(strings::REMOVE_SHEET, change);
        app.view.sheet.set(app.session.peek(view::first_sheet));
    };
    view! {
        <Text
            label=strings::SHEET_TITLE
            value=Signal::derive(move || {
                sheet.with(|s| s.as_ref().map(|s| s.title.clone()).unwrap_or_default())
            })
            on_commit=move |title: String| touch(strings::SHEET_TITLE, Box::new(move |s| s.title = title))
        />
        <div class="pair">
            <Number
                label=strings::SHEET_NUMBER
                needed=true
                min=1.0
                value=Signal::derive(move || sheet.with(|s| s.as_ref().map(|s| f64::from(s.number))))
                on_commit=move |number: Amount| {
                    if let Some(number) = number {
                        touch(strings::SHEET_NUMBER, Box::new(move |s| s.number = number as u32));
                    }
                }
            />
            <Choice
                label=strings::PAPER
                options=words::choices(words::PAPERS)
                value=Signal::derive(move || {
                    sheet.with(|s| s.as_ref().map(|s| words::key_of(&s.size)).unwrap_or_default())
                })
                on_commit=move |size: String| {
                    if let Some(size) = words::value_of(&size) {
                        touch(strings::PAPER, Box::new(move |s| s.size = size));
                    }
                }
            />
        </div>
        <Tick
            label=strings::SHEET_LEGEND
            value=Signal::derive(move || sheet.with(|s| s.as_ref().is_some_and(|s| s.legend)))
            on_commit=move |shown: bool| touch(strings::SHEET_LEGEND, Box::new(move |s| s.legend = shown))
        />
        {tidy_look(key)}
        <button on:click=move |_| save_drawing(app, &key.get_value())>{strings::SAVE_SVG}</button>
        <p class="hush">{strings::REMOVE_SHEET_HELP}</p>
        <button
            disabled=move || app.session.with(|document| document.sheets.len() < 2)
            on:click=remove
        >
            {strings::REMOVE_SHEET}
        </button>
    }
}
