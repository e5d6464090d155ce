//! The plan room.

use leptos::prelude::*;

use crate::strings;

/// The room.
#[component]
pub fn Plan() -> impl IntoView {
    view! {
        <section class="page">
            <h2>{strings::PLAN}</h2>
        </section>
    }
}
