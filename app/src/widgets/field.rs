//! Fields that hand over what was typed when the person leaves them.

use leptos::prelude::*;

use super::{number::small, select::Select, views::Views};

/// One line of text.
#[component]
pub fn Text(
    /// What it is.
    #[prop(into)]
    label: String,
    /// What it holds.
    #[prop(into)]
    value: Signal<String>,
    /// Called with what was typed.
    #[prop(into)]
    on_commit: Callback<String>,
    /// Words to choose from, besides typing.
    #[prop(optional)]
    offers: &'static [&'static str],
) -> impl IntoView {
    let list = (!offers.is_empty()).then(|| format!("offers-{}", label.replace(' ', "-")));
    let options = list.clone().map(|id| {
        view! {
            <datalist id=id>
                {offers.iter().map(|offer| view! { <option value=*offer></option> }).views()}
            </datalist>
        }
    });
    view! {
        <label class="field">
            <span>{label}</span>
            <input
                list=list
                autocomplete="off"
                prop:value=move || value.get()
                on:change=move |event| on_commit.run(event_target_value(&event).trim().to_owned())
            />
            {options}
        </label>
    }
}

/// Several lines of text.
#[component]
pub fn Area(
    /// What it is.
    #[prop(into)]
    label: String,
    /// What it holds.
    #[prop(into)]
    value: Signal<String>,
    /// Called with what was typed.
    #[prop(into)]
    on_commit: Callback<String>,
) -> impl IntoView {
    view! {
        <label class="field">
            <span>{label}</span>
            <textarea
                rows="3"
                prop:value=move || value.get()
                on:change=move |event| on_commit.run(event_target_value(&event))
            ></textarea>
        </label>
    }
}

/// One of several words.
#[component]
pub fn Choice(
    /// What it is.
    #[prop(into)]
    label: String,
    /// Values with their words.
    #[prop(into)]
    options: Signal<Vec<(String, String)>>,
    /// The value chosen.
    #[prop(into)]
    value: Signal<String>,
    /// Called with the value.
    #[prop(into)]
    on_commit: Callback<String>,
    /// Small words after it: where the value comes from.
    #[prop(optional, into)]
    note: Signal<String>,
) -> impl IntoView {
    view! {
        <label class="field">
            <span>{label}</span>
            <Select options=options value=value on_commit=on_commit />
            {small(note)}
        </label>
    }
}

/// Yes or no.
#[component]
pub fn Tick(
    /// What it is.
    #[prop(into)]
    label: String,
    /// What it says.
    #[prop(into)]
    value: Signal<bool>,
    /// Called with what was chosen.
    #[prop(into)]
    on_commit: Callback<bool>,
) -> impl IntoView {
    view! {
        <label class="tick">
            <input
                type="checkbox"
                prop:checked=move || value.get()
                on:change=move |event| on_commit.run(event_target_checked(&event))
            />
            <span>{label}</span>
        </label>
    }
}
