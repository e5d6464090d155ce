//! Numbers with a unit. A text that is not a number is reported next to the field, and changes nothing.

use leptos::prelude::*;

use super::{
    typed::{Typed, typed},
    views::Given,
};
use crate::strings;

/// What a number field holds; its own name because markup takes `>` for the end of a tag.
pub type Amount = Option<f64>;

/// A number as a person writes it: no more digits than it has, at most four behind the point.
pub fn spoken(number: f64) -> String {
    let text = format!("{number:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".into()
    } else {
        text.to_owned()
    }
}

/// A number with a unit; may be empty if `needed` is false.
#[component]
pub fn Number(
    /// What it is, with its unit.
    #[prop(into)]
    label: String,
    /// What it holds.
    #[prop(into)]
    value: Signal<Option<f64>>,
    /// Called with what was typed.
    #[prop(into)]
    on_commit: Callback<Option<f64>>,
    /// Smallest number that makes sense.
    #[prop(default = 0.0)]
    min: f64,
    /// True if it must not be empty.
    #[prop(default = false)]
    needed: bool,
    /// Small words after it: where the number comes from.
    #[prop(optional, into)]
    note: Signal<String>,
) -> impl IntoView {
    let wrong = RwSignal::new(None::<String>);
    let commit = move |text: String| match typed(&text) {
        Typed::Number(number) if number < min => {
            wrong.set(Some(strings::at_least(&spoken(min))));
        }
        Typed::Number(number) => {
            wrong.set(None);
            on_commit.run(Some(number));
        }
        Typed::Empty if !needed => {
            wrong.set(None);
            on_commit.run(None);
        }
        Typed::Empty | Typed::Wrong => wrong.set(Some(strings::WANT_NUMBER.into())),
    };
    view! {
        <label class="field">
            <span>{label}</span>
            <input
                inputmode="decimal"
                autocomplete="off"
                aria-invalid=move || wrong.with(Option::is_some).then_some("true")
                prop:value=move || value.get().map(spoken).unwrap_or_default()
                on:change=move |event| commit(event_target_value(&event))
            />
            {small(note)}
            <Given when=move || wrong.with(Option::is_some)>
                <span class="wrong" role="alert">
                    {move || wrong.get()}
                </span>
            </Given>
        </label>
    }
}

/// Small words after a field, as long as there are any.
pub(super) fn small(note: Signal<String>) -> impl IntoView {
    view! {
        <Given when=move || note.with(|note| !note.is_empty())>
            <span class="hush">{move || note.get()}</span>
        </Given>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_without_needless_digits() {
        assert_eq!(spoken(2.5), "2.5");
        assert_eq!(spoken(3.0), "3");
        assert_eq!(spoken(0.002), "0.002");
        assert_eq!(spoken(-0.000_01), "0");
    }
}
