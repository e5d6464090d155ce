//! The settings box.

use crate::widgets::Views;
use leptos::prelude::*;

use crate::{
    app,
    session::settings::{Hand, Theme},
    strings,
    widgets::Dialog,
};

/// Inks, hand, name.
#[component]
pub fn SettingsBox(
    /// Called when it is closed.
    #[prop(into)]
    on_close: Callback<()>,
) -> impl IntoView {
    let settings = app().settings;
    let themes = [
        strings::THEME_DEVICE,
        strings::THEME_LIGHT,
        strings::THEME_DARK,
        strings::THEME_SUN,
    ];
    view! {
        <Dialog title=strings::SETTINGS on_close=on_close>
            <fieldset class="choices">
                <legend>{strings::THEME}</legend>
                {Theme::ALL
                    .into_iter()
                    .zip(themes)
                    .map(|(theme, label)| {
                        view! {
                            <button
                                aria-pressed=move || pressed(settings.with(|s| s.theme == theme))
                                on:click=move |_| settings.update(|s| s.theme = theme)
                            >
                                {label}
                            </button>
                        }
                    })
                    .views()}
            </fieldset>
            <fieldset class="choices">
                <legend>{strings::HAND}</legend>
                {[(Hand::Left, strings::HAND_LEFT), (Hand::Right, strings::HAND_RIGHT)]
                    .map(|(hand, label)| {
                        view! {
                            <button
                                aria-pressed=move || pressed(settings.with(|s| s.hand == hand))
                                on:click=move |_| settings.update(|s| s.hand = hand)
                            >
                                {label}
                            </button>
                        }
                    })
                    .views()}
            </fieldset>
            <fieldset class="choices">
                <legend>{strings::FINGERS}</legend>
                {[(false, strings::FINGERS_MOVE), (true, strings::FINGERS_DRAW)]
                    .map(|(draw, label)| {
                        view! {
                            <button
                                aria-pressed=move || pressed(settings.with(|s| s.fingers_draw == draw))
                                on:click=move |_| settings.update(|s| s.fingers_draw = draw)
                            >
                                {label}
                            </button>
                        }
                    })
                    .views()}
            </fieldset>
            <label class="tick">
                <input
                    type="checkbox"
                    prop:checked=move || !settings.with(|s| s.next_hidden)
                    on:change=move |event| {
                        let shown = event_target_checked(&event);
                        settings.update(|s| s.next_hidden = !shown);
                    }
                />
                <span>{strings::SHOW_NEXT}</span>
            </label>
            <label class="field">
                <span>{strings::YOUR_NAME}</span>
                <input
                    prop:value=move || settings.with(|s| s.who.clone())
                    on:change=move |event| {
                        let who = event_target_value(&event);
                        settings.update(|s| s.who = who);
                    }
                />
            </label>
        </Dialog>
    }
}

/// The value of `aria-pressed`.
fn pressed(on: bool) -> &'static str {
    if on { "true" } else { "false" }
}
