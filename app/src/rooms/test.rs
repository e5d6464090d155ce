//! The test room: ringing out and first power-up, with what was read.

use leptos::prelude::*;

use crate::{rooms::papers::Papers, strings};

/// The room.
#[component]
pub fn Test() -> impl IntoView {
    view! {
        <section class="page">
            <h2>{strings::TEST_ROOM}</h2>
            <Papers offered=&["ring-out", "power-up"] />
        </section>
    }
}
