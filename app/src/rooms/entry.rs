//! A form for an entry: a text, a choice of words, and a button.

use leptos::prelude::*;

use crate::{
    App, strings,
    widgets::{Area, Choice},
};

/// The labels and choices of a form.
pub struct Form {
    /// Label of the text.
    pub label: &'static str,
    /// Label of the choice. Its first word is chosen at first.
    pub choice: &'static str,
    /// The words.
    pub words: Vec<&'static str>,
    /// Further fields.
    pub more: AnyView,
    /// On the button.
    pub button: &'static str,
}

/// The form. `add` gets the text and the chosen word, and returns whether it accepted them; then the form is
/// emptied. An empty text is refused.
pub fn form(app: App, form: Form, add: impl Fn(&str, &str) -> bool + 'static) -> AnyView {
    let text = RwSignal::new(String::new());
    let word = RwSignal::new(form.words.first().copied().unwrap_or_default().to_owned());
    let options = form
        .words
        .into_iter()
        .map(|it| (it.to_owned(), it.to_owned()));
    let take = move |_| {
        let said = text.get_untracked();
        if said.trim().is_empty() {
            app.session.say(strings::WRITE_FIRST.into());
        } else if add(said.trim(), &word.get_untracked()) {
            text.set(String::new());
        }
    };
    view! {
        <div class="new-entry">
            <Area label=form.label value=text on_commit=move |said: String| text.set(said) />
            <div class="paper-fields">
                <Choice
                    label=form.choice
                    options=Signal::stored(options.collect())
                    value=word
                    on_commit=move |chosen: String| word.set(chosen)
                />
                {form.more}
                <button on:click=take>{form.button}</button>
            </div>
        </div>
    }
    .into_any()
}
