//! The tabs of the sheets.

use crate::widgets::Views;
use leptos::prelude::*;
use loomwright_core::{
    document::SheetSize,
    edit::{self, Key},
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
                    .views()
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
    let made = app.session.peek(|document| {
        let number = document
            .sheets
            .values()
            .map(|sheet| sheet.number)
            .max()
            .unwrap_or(0)
            + 1;
        edit::add_sheet(
            document,
            &format!("{} {number}", strings::SHEET),
            SheetSize::default(),
        )
    });
    let id = made.as_ref().ok().and_then(|change| {
        change.added().find_map(|key| match key {
            Key::Sheet(id) => Some(id.clone()),
            _ => None,
        })
    });
    if app.session.try_run(strings::ADD_SHEET, made) && id.is_some() {
        app.view.sheet.set(id.clone());
        app.view
            .selection
            .set(id.map(Key::Sheet).into_iter().collect());
        app.view.panel.set(view::Panel::Details);
    }
}
