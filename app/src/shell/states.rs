//! The state switcher, and what was operated by hand since.

use crate::widgets::{Given, Views};
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
    let states = Memo::new(move |_| app.session.with(view::states_in_order));
    let choose = move |event| {
        let chosen = event_target_value(&event);
        app.view.moves.set(view::Moves::default());
        app.view
            .state
            .set((!chosen.is_empty()).then(|| StateId::from(chosen)));
    };
    let moved = move || app.view.moves.with(view::Moves::len);
    view! {
        <label class="state">
            <span class="hush">{strings::STATE}</span>
            <select on:change=choose aria-label=strings::STATE>
                <option value="" selected=move || app.view.state.get().is_none()>
                    {strings::STATE_NONE}
                </option>
                {move || {
                    states
                        .get()
                        .into_iter()
                        .map(|(id, title)| {
                            let value = id.to_string();
                            view! {
                                <option
                                    value=value
                                    selected=move || app.view.state.get().as_ref() == Some(&id)
                                >
                                    {title}
                                </option>
                            }
                        })
                        .views()
                }}
            </select>
        </label>
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
