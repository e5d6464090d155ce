//! The check room.

use leptos::prelude::*;

use crate::strings;

/// The room.
#[component]
pub fn Check() -> impl IntoView {
    view! {
        <section class="page">
            <h2>{strings::CHECK}</h2>
        </section>
    }
}
