//! What the app is, and what comes before it.

use leptos::prelude::*;

use crate::{app, strings, widgets::Dialog};

/// The about box with the safety notice; shown on the first run.
#[component]
pub fn About(
    /// Called when it is closed.
    #[prop(into)]
    on_close: Callback<()>,
) -> impl IntoView {
    let settings = app().settings;
    let understood = move |()| {
        settings.update(|settings| settings.notice_read = true);
        on_close.run(());
    };
    view! {
        <Dialog title=strings::NOTICE_TITLE on_close=understood>
            {strings::NOTICE.map(|line| view! { <p>{line}</p> })}
            <p class="hush">
                {strings::NAME} " " {env!("CARGO_PKG_VERSION")}
            </p>
            <button class="main" on:click=move |_| understood(())>
                {strings::NOTICE_OK}
            </button>
        </Dialog>
    }
}
