//! The build room: the wire list.

use leptos::prelude::*;

use crate::{app, grid::WireGrid, strings};

/// The room.
#[component]
pub fn Build() -> impl IntoView {
    let app = app();
    let count = move || app.session.with(|document| document.wires.len());
    view! {
        <section class="page wires-page">
            <h2>{strings::WIRE_LIST}</h2>
            <p class="hush">
                {move || strings::count(count(), strings::WIRES)} ". " {strings::GRID_HINT}
            </p>
            <WireGrid />
            <p class="hush">{strings::NOTICE_PRINT}</p>
        </section>
    }
}
