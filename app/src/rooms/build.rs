//! The build room: the wires typed like a spreadsheet, and the papers for the bench.

use leptos::prelude::*;

use crate::{app, grid::WireGrid, rooms::papers::Papers, strings, widgets::Given};

/// The papers of the bench.
const OFFERED: &[&str] = &[
    "wires",
    "cuts",
    "labels",
    "connectors",
    "jacks",
    "order",
    "progress",
    "schedule",
    "grounds",
    "placards",
];

/// The room.
#[component]
pub fn Build() -> impl IntoView {
    let app = app();
    let count = move || app.session.with(|document| document.wires.len());
    view! {
        <section class="page wires-page">
            <Papers offered=OFFERED first=strings::TYPE_WIRES />
            <Given when=move || app.view.paper.get().is_empty()>
                <p class="hush">
                    {move || strings::count(count(), strings::WIRES)} ". " {strings::GRID_HINT}
                </p>
                <WireGrid />
                <p class="hush">{strings::NOTICE_PRINT}</p>
            </Given>
        </section>
    }
}
