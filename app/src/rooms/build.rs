//! The build room.

use leptos::prelude::*;

use crate::strings;

/// The room.
#[component]
pub fn Build() -> impl IntoView {
    view! {
        <section class="page">
            <h2>{strings::BUILD}</h2>
        </section>
    }
}
