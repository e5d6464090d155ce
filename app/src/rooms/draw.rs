//! The draw room.

use leptos::prelude::*;

use crate::strings;

/// The room.
#[component]
pub fn Draw() -> impl IntoView {
    view! {
        <section class="page">
            <h2>{strings::DRAW}</h2>
        </section>
    }
}
