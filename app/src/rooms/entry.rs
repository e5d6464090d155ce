//! A form for what is written down: what a person says, one of several words, and a button.

use leptos::prelude::*;

use crate::{
    App, strings,
    widgets::{Area, Choice},
};

/// What stands in a form.
pub struct Form {
    /// Over what is written.
    pub label: &'static str,
    /// Over the words to choose from, the first of which is chosen.
    pub choice: &'static str,
    /// The words.
    pub words: Vec<&'static str>,
    /// What else is asked.
    pub more: AnyView,
    /// On the button.
    pub button: &'static str,
}

/// The form. `add` gets what was written and the word that was chosen, and says whether it took them; then
/// the form is emptied. Nothing written is not taken.
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
