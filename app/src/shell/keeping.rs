//! Where projects are kept, and what may delete them: nobody should learn that from a lost evening.

use leptos::prelude::*;

use crate::{
    App, app,
    platform::page,
    strings,
    widgets::{Dialog, Views},
};

/// What may happen to what this browser keeps, as far as it can be known.
pub fn risks(app: App) -> Vec<&'static str> {
    let trusted = page::is_trusted();
    let deletes = page::is_webkit() && !page::is_on_home_screen();
    let refused = app.session.stays.get() == Some(false);
    let all = [
        (!trusted, strings::RISK_PLAIN_HTTP),
        (deletes, strings::RISK_SEVEN_DAYS),
        (refused, strings::RISK_NO_PROMISE),
    ];
    all.into_iter()
        .filter_map(|(is_so, text)| is_so.then_some(text))
        .collect()
}

/// The box.
#[component]
pub fn Keeping(
    /// Called when it is closed.
    #[prop(into)]
    on_close: Callback<()>,
) -> impl IntoView {
    let app = app();
    let understood = move |()| {
        app.settings.update(|settings| settings.keeping_read = true);
        on_close.run(());
    };
    let promised = move || app.session.stays.get() == Some(true);
    view! {
        <Dialog title=strings::KEEPING on_close=understood>
            <p>{strings::KEPT_WHERE}</p>
            {move || promised().then_some(view! { <p>{strings::KEPT_PROMISED}</p> })}
            {move || risks(app).into_iter().map(|text| view! { <p>{text}</p> }).views()}
            <p>{strings::KEPT_COPY}</p>
            <button class="main" on:click=move |_| understood(())>
                {strings::NOTICE_OK}
            </button>
        </Dialog>
    }
}
