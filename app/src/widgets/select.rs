//! A list field.

use leptos::prelude::*;
use loomwright_core::markup::{attribute, escape};

/// One of several words, without a visible label. Its entries are markup: made one by one in the page, those
/// of a device with 25 pins took longer than all else of its panel.
#[component]
pub fn Select(
    /// What it is, for screen readers, where no label says so.
    #[prop(optional)]
    spoken: Option<&'static str>,
    /// Values with their words.
    #[prop(into)]
    options: Signal<Vec<(String, String)>>,
    /// The value chosen.
    #[prop(into)]
    value: Signal<String>,
    /// Called with the value.
    #[prop(into)]
    on_commit: Callback<String>,
) -> impl IntoView {
    let entries = move || {
        let chosen = value.get();
        options.with(|options| {
            let entry = |(key, word): &(String, String)| {
                let chosen = if *key == chosen { " selected" } else { "" };
                format!(
                    "<option value=\"{}\"{chosen}>{}</option>",
                    attribute(key),
                    escape(word)
                )
            };
            options.iter().map(entry).collect::<String>()
        })
    };
    view! {
        <select
            aria-label=spoken
            inner_html=entries
            on:change=move |event| on_commit.run(event_target_value(&event))
        ></select>
    }
}
