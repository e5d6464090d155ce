//! Another pin for one end of a wire: what that would change is shown before it is done.

use leptos::prelude::*;
use loomwright_core::{
    document::{Document, EndNames, WireEnd},
    edit::{self, Change},
    ids::WireId,
    rules,
};

use crate::{
    app, strings,
    widgets::{Given, Text, Views},
};

/// What a move would do.
#[derive(Clone, Default)]
struct Trial {
    change: Change,
    comes: Vec<String>,
    goes: Vec<String>,
}

/// The fields.
#[component]
pub fn MoveEnd(
    /// The wire.
    id: WireId,
) -> impl IntoView {
    let app = app();
    let trial = RwSignal::new(None::<Trial>);
    let wrong = RwSignal::new(String::new());
    let key = StoredValue::new(id.clone());
    let attempt = move |which: WireEnd, pin: String| {
        let made = app.session.peek(|document| {
            let before = app.derived.verdict.get_untracked();
            try_it(document, &before, &key.get_value(), which, &pin)
        });
        match made {
            Ok(made) => {
                wrong.set(String::new());
                trial.set(Some(made));
            }
            Err(why) => {
                wrong.set(why);
                trial.set(None);
            }
        }
    };
    let label = move |which: WireEnd| {
        let id = id.clone();
        Signal::derive(move || {
            app.session.with(|document| {
                let wire = document.wires.get(&id);
                let end = wire.map(|wire| wire.end(which));
                end.map_or(String::new(), |end| document.end_label(end))
            })
        })
    };
    let apply = move |_| {
        if let Some(made) = trial.get_untracked() {
            app.session.run(strings::MOVE_END, made.change);
            trial.set(None);
        }
    };
    let told = move |word: &'static str, read: fn(&Trial) -> &Vec<String>| {
        move || {
            let lines = trial.with(|it| it.as_ref().map(|it| read(it).clone()).unwrap_or_default());
            let shown = !lines.is_empty();
            let lines = lines
                .into_iter()
                .map(|line| view! { <li>{line}</li> })
                .views();
            shown.then(|| view! { <p>{word}</p><ul>{lines}</ul> })
        }
    };
    let nothing = move || {
        trial.with(|it| {
            it.as_ref()
                .is_some_and(|it| it.comes.is_empty() && it.goes.is_empty())
        })
    };
    view! {
        <details class="move-end">
            <summary>{strings::MOVE_END}</summary>
            <p class="hush">{strings::MOVE_END_HELP}</p>
            <div class="pair">
                <Text
                    label=strings::FROM
                    value=label(WireEnd::From)
                    on_commit=move |pin: String| attempt(WireEnd::From, pin)
                />
                <Text
                    label=strings::TO
                    value=label(WireEnd::To)
                    on_commit=move |pin: String| attempt(WireEnd::To, pin)
                />
            </div>
            <p class="wrong" role="alert">{move || wrong.get()}</p>
            <Given when=move || trial.with(Option::is_some)>
                {told(strings::WOULD_COME, |it| &it.comes)}
                {told(strings::WOULD_GO, |it| &it.goes)}
                <Given when=nothing>
                    <p>{strings::NO_NEW_FINDINGS}</p>
                </Given>
                <button class="main" on:click=apply>{strings::DO_IT}</button>
            </Given>
        </details>
    }
}

fn try_it(
    document: &Document,
    before: &rules::Verdict,
    id: &WireId,
    which: WireEnd,
    pin: &str,
) -> Result<Trial, String> {
    let end = EndNames::new(document).find(pin);
    let end = end.map_err(|error| error.to_string())?;
    let change = edit::set_end(document, id, which, &end).map_err(|error| error.to_string())?;
    let after = change
        .applied(document)
        .map_err(|error| error.to_string())?;
    let after = rules::check(&after);
    let [comes, goes] = after.comes_and_goes(before);
    Ok(Trial {
        change,
        comes,
        goes,
    })
}
