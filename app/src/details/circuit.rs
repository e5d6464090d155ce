//! The circuit that a wire is part of, from end to end.

use leptos::{ev, prelude::*};
use loomwright_core::{edit::Key, ids::WireId, reports::circuit};

use crate::{app, commands::go_to, strings, widgets::Views};

/// The list, made when it is opened.
#[component]
pub fn Circuit(
    /// The wire.
    id: WireId,
) -> impl IntoView {
    let app = app();
    let open = RwSignal::new(false);
    let toggle = move |event: ev::MouseEvent| {
        event.prevent_default();
        open.update(|open| *open = !*open);
    };
    let own = Key::Wire(id.clone());
    let lines = move || {
        if !open.get() {
            return Vec::new();
        }
        app.session.with(|document| circuit::follow(document, &id))
    };
    let line = move |line: circuit::Line| {
        let key = Key::parse(line.record.0, &line.record.1);
        let is_own = key.as_ref() == Some(&own);
        let go = move |_| {
            if let Some(key) = key.clone() {
                go_to(app, key);
            }
        };
        let indent = format!("padding-inline-start: {}rem", line.depth as f64 + 0.25);
        view! {
            <li style=indent>
                <button class="row" aria-current=is_own.then_some("true") on:click=go>
                    {line.text}
                </button>
            </li>
        }
    };
    view! {
        <details class="circuit" open=move || open.get()>
            <summary on:click=toggle>{strings::FOLLOW}</summary>
            <ul class="parts">{move || lines().into_iter().map(line.clone()).views()}</ul>
        </details>
    }
}
