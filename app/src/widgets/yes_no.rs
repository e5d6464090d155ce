//! A yes or no that may be not set.

use leptos::prelude::*;

use super::Choice;
use crate::strings;

/// What is known; its own name because markup takes `>` for the end of a tag.
pub type Known = Option<bool>;

/// Yes, no, or not set.
#[component]
pub fn YesNo(
    /// The question.
    label: &'static str,
    /// The words for yes and for no.
    words: [&'static str; 2],
    /// What is known.
    #[prop(into)]
    value: Signal<Option<bool>>,
    /// Called with what was chosen.
    #[prop(into)]
    on_commit: Callback<Option<bool>>,
    /// Small words after it: where the value comes from.
    #[prop(optional, into)]
    note: Signal<String>,
) -> impl IntoView {
    let [yes, no] = words;
    let all = [("", strings::NOT_SET), ("yes", yes), ("no", no)];
    let options = all.map(|(key, word)| (key.to_owned(), word.to_owned()));
    let key = |known: Option<bool>| match known {
        None => "",
        Some(true) => "yes",
        Some(false) => "no",
    };
    view! {
        <Choice
            label=label
            note=note
            options=options.to_vec()
            value=Signal::derive(move || key(value.get()).to_owned())
            on_commit=move |key: String| {
                on_commit.run(match key.as_str() {
                    "yes" => Some(true),
                    "no" => Some(false),
                    _ => None,
                });
            }
        />
    }
}
