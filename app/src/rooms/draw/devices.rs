//! The list of devices to add: by family, or search as you type.

use leptos::prelude::*;
use loomwright_core::{
    catalogue::{self, Part},
    document::{Document, folded},
    exchange::pins,
    ids::SheetId,
};

use crate::{
    App, app,
    commands::take_to_add,
    platform::page,
    strings,
    view::{Addition, Panel, items_of},
    widgets::{Fold, Given, Text, Views},
};

/// Devices of the aircraft shown at most; more are found by typing.
const SHOWN_MAX: usize = 60;

/// The list.
#[component]
pub fn Devices() -> impl IntoView {
    let app = app();
    let wanted = RwSignal::new(String::new());
    let parts = move || {
        let wanted = wanted.get();
        if wanted.trim().is_empty() {
            return catalogue::all()
                .chunk_by(|a, b| a.family == b.family)
                .map(|family| {
                    view! {
                        <Fold class="family" title=family[0].family>
                            {rows(app, family.iter())}
                        </Fold>
                    }
                })
                .views();
        }
        match catalogue::search(&wanted) {
            found if found.is_empty() => {
                view! { <p class="hush">{strings::NO_SUCH_PART}</p> }.into_any()
            }
            found => rows(app, found).into_any(),
        }
    };
    let known = Memo::new(move |_| {
        let wanted = folded(&wanted.get());
        let sheet = app.view.sheet.get();
        let mut found = app
            .session
            .with(|document| absent(document, sheet.as_ref()));
        found.retain(|(label, _)| folded(label).contains(wanted.trim()));
        found
    });
    let known_rows = move || {
        known.with(|known| {
            let shown = known.iter().take(SHOWN_MAX);
            shown
                .map(|(label, it)| row(app, label.clone(), label.clone(), it.clone()))
                .views()
        })
    };
    let more = move || {
        let hidden = known.with(Vec::len).saturating_sub(SHOWN_MAX);
        (hidden > 0).then(|| strings::more(hidden))
    };
    view! {
        <label class="field">
            <span>{strings::SEARCH_DEVICES}</span>
            <input
                type="search"
                autocomplete="off"
                on:input=move |event| wanted.set(event_target_value(&event))
            />
        </label>
        {parts}
        <Given when=move || known.with(|known| !known.is_empty())>
            <h3>{strings::IN_AIRCRAFT}</h3>
            <ul class="parts">{known_rows}</ul>
            <p class="hush">{more}</p>
        </Given>
        {pin_table(app)}
    }
}

/// What is in the aircraft and not on this sheet: devices, and the metal of conductive places.
fn absent(document: &Document, sheet: Option<&SheetId>) -> Vec<(String, Addition)> {
    let Some(sheet) = sheet else {
        return Vec::new();
    };
    let shown = |key| !items_of(document, sheet, |there| *there == key).is_empty();
    let devices = document
        .devices
        .iter()
        .filter(|(id, _)| !shown(loomwright_core::edit::Key::Device((*id).clone())))
        .map(|(id, device)| {
            (
                format!("{} {}", device.tag, device.title),
                Addition::Known(id.clone()),
            )
        });
    let metal = document
        .places
        .iter()
        .filter(|(_, place)| place.is_metal())
        .map(|(id, place)| {
            (
                format!("{} {}", strings::METAL, place.title),
                Addition::Structure(id.clone()),
            )
        });
    devices.chain(metal).collect()
}

/// Parts of the catalogue.
fn rows<'p>(app: App, parts: impl IntoIterator<Item = &'p Part>) -> impl IntoView {
    let rows = parts.into_iter().map(|part| {
        let addition = Addition::New(Box::new(part.device()));
        row(app, part.id.clone(), part.name.clone(), addition)
    });
    view! { <ul class="parts">{rows.views()}</ul> }
}

fn row(app: App, name: String, label: String, addition: Addition) -> impl IntoView {
    let addition = StoredValue::new(addition);
    let chosen = move || {
        let chosen = app.view.adding.get();
        addition.with_value(|addition| chosen.as_ref() == Some(addition))
    };
    view! {
        <li>
            <button
                class="row"
                data-part=name
                aria-pressed=move || if chosen() { "true" } else { "false" }
                on:click=move |_| choose(app, addition.get_value())
            >
                {label}
            </button>
        </li>
    }
}

/// A device from the pin table of its manual.
fn pin_table(app: App) -> impl IntoView {
    let (tag, table) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let wrong = RwSignal::new(None::<String>);
    let make = move |_| {
        let made =
            table.with_untracked(|table| tag.with_untracked(|tag| pins::device(table, tag, "")));
        match made {
            Ok(device) => choose(app, Addition::New(Box::new(device))),
            Err(why) => return wrong.set(Some(why.to_string())),
        }
        wrong.set(None);
    };
    view! {
        <details class="pin-table">
            <summary>{strings::FROM_PINS}</summary>
            <p class="hush">{strings::FROM_PINS_HELP}</p>
            <Text label=strings::TAG value=tag on_commit=move |typed: String| tag.set(typed) />
            <textarea
                class="paste-list"
                rows="5"
                aria-label=strings::FROM_PINS
                on:input=move |event| table.set(event_target_value(&event))
            ></textarea>
            <p class="wrong" role="alert">{move || wrong.get()}</p>
            <button
                class="main"
                disabled=move || tag.with(String::is_empty) || table.with(String::is_empty)
                on:click=make
            >
                {strings::FROM_PINS_MAKE}
            </button>
        </details>
    }
}

fn choose(app: App, addition: Addition) {
    take_to_add(app, addition);
    if page::is_narrow() {
        app.view.panel.set(Panel::Closed);
    }
}
