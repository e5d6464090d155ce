//! The check room: every finding with its arithmetic, and what was not checked.

use leptos::prelude::*;

use crate::{
    findings::Findings,
    rooms::{analysis::Analysis, noise::noise_in_the_headset},
    strings,
};

/// The room.
#[component]
pub fn Check() -> impl IntoView {
    view! {
        <section class="page narrow">
            <h2>{strings::CHECK}</h2>
            <Findings />
            <Analysis />
            {noise_in_the_headset()}
            <p class="hush">{strings::NOTICE_PRINT}</p>
        </section>
    }
}
