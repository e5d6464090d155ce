//! The build room: the wire list.

use leptos::prelude::*;

use loomwright_core::reports::wires;

use crate::{App, app, grid::WireGrid, platform::download, strings};

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
            <p>
                <button on:click=move |_| save_list(app)>{strings::SAVE_LIST}</button>
            </p>
            <p class="hush">{strings::NOTICE_PRINT}</p>
        </section>
    }
}

/// Hands the wire list to the person as a table for a spreadsheet.
fn save_list(app: App) {
    let (title, csv) = app.session.peek(|document| {
        let csv = wires::table(document).to_csv();
        (document.project.title.clone(), csv)
    });
    let name = download::file_name(&format!("{title} wires"), "csv");
    download::download(&name, "text/csv", csv.as_bytes());
}
