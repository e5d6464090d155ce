//! The state switcher of the top bar, and what was operated by hand since.

use crate::widgets::{Given, Select};
use leptos::prelude::*;
use loomwright_core::{
    edit::{Change, Key, Record},
    ids::StateId,
};

use crate::{App, app, strings, view};

/// Chooses the state everything is shown in.
#[component]
pub fn StateSwitch() -> impl IntoView {
    let app = app();
    let options = Memo::new(move |_| {
        let states = app.session.with(view::states_in_order).into_iter();
        let states = states.map(|(id, title)| (id.to_string(), title));
        std::iter::once((String::new(), strings::STATE_NONE.to_owned()))
            .chain(states)
            .collect::<Vec<_>>()
    });
    let value = Signal::derive(move || {
        let state = app.view.state.get();
        state.map(|id| id.to_string()).unwrap_or_default()
    });
    let choose = move |chosen: String| {
        app.view.moves.set(view::Moves::default());
        app.view
            .state
            .set((!chosen.is_empty()).then(|| StateId::from(chosen)));
    };
    view! {
        <label class="state">
            <span class="hush">{strings::STATE}</span>
            <Select spoken=strings::STATE options=options value=value on_commit=choose />
        </label>
    }
}

/// What was operated by hand since, in the strip: the top bar has no room for it, and the sheet must not move
/// under the finger that throws a switch.
#[component]
pub fn Moved() -> impl IntoView {
    let app = app();
    let moved = move || app.view.moves.with(view::Moves::len);
    view! {
        <Given when=move || { moved() > 0 }>
            <span class="moved" role="status">
                {move || strings::count(moved(), strings::MOVED)}
                <button on:click=move |_| app.view.moves.set(view::Moves::default())>
                    {strings::PUT_BACK}
                </button>
                <Given when=move || app.view.state.get().is_some()>
                    <button on:click=move |_| keep(app)>{strings::KEEP_IN_STATE}</button>
                </Given>
            </span>
        </Given>
    }
}

/// Makes what was operated by hand part of the chosen state.
fn keep(app: App) {
    let Some(id) = app.view.state.get_untracked() else {
        return;
    };
    let state = app.derived.state.get_untracked();
    let change = app
        .session
        .peek(|document| Change::set(document, Key::State(id), Some(Record::State(state))));
    app.session.run(strings::KEEP_IN_STATE, change);
    app.view.moves.set(view::Moves::default());
}
