//! The tabs of the sheets.

use leptos::prelude::*;
use loomwright_core::{
    document::Sheet,
    edit::{Change, Key, Record},
    ids::SheetId,
};

use crate::{App, app, strings, view, widgets::Icon};

/// Choose a sheet, add one. A second tap on the open sheet's tab shows its details.
#[component]
pub fn Tabs() -> impl IntoView {
    let app = app();
    let sheets = Memo::new(move |_| app.session.with(view::sheets_in_order));
    view! {
        <nav class="tabs" aria-label=strings::SHEETS>
            {move || {
                sheets
                    .get()
                    .into_iter()
                    .map(|(id, number, title)| {
                        let tab = id.clone();
                        view! {
                            <button
                                aria-current=move || {
                                    (app.view.sheet.get().as_ref() == Some(&tab)).then_some("page")
                                }
                                on:click=move |_| choose(app, id.clone())
                            >
                                <b>{number}</b>
                                <span>{title}</span>
                            </button>
                        }
                    })
                    .collect_view()
            }}
            <button class="plain" aria-label=strings::ADD_SHEET on:click=move |_| add(app)>
                <Icon name="plus" />
            </button>
        </nav>
    }
}

fn choose(app: App, id: SheetId) {
    if app.view.sheet.get_untracked().as_ref() == Some(&id) {
        app.view.select(Key::Sheet(id));
        return;
    }
    app.view.select_none();
    app.view.sheet.set(Some(id));
}

fn add(app: App) {
    let (id, change) = app.session.peek(|document| {
        let number = document.sheets.values().map(|sheet| sheet.number).max().unwrap_or(0) + 1;
        let id = (number..)
            .map(|n| SheetId::new(format!("sheet{n}")))
            .find(|id| !document.sheets.contains_key(id))
            .unwrap_or_else(|| SheetId::new("sheet"));
        let sheet = Sheet {
            number,
            title: format!("{} {number}", strings::SHEET),
            ..Sheet::default()
        };
        let change = Change::set(document, Key::Sheet(id.clone()), Some(Record::Sheet(sheet)));
        (id, change)
    });
    app.session.run(strings::ADD_SHEET, change);
    app.view.sheet.set(Some(id.clone()));
    app.view.select(Key::Sheet(id));
}
