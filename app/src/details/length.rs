//! A field for a length, in the unit that the project shows.

use leptos::prelude::*;
use loomwright_core::{document::ValueOrigin, units::M_PER_FT};

use crate::{
    app,
    strings::{self, words},
    widgets::{Amount, Choice, Number},
};

/// The origin of a length; its own name because markup takes `>` for the end of a tag.
pub type LengthFrom = Option<ValueOrigin>;

/// How a length is known: typed or measured; pasted as long as it is.
#[component]
pub fn LengthOrigin(
    /// What is known.
    #[prop(into)]
    value: Signal<LengthFrom>,
    /// Called with what was chosen.
    #[prop(into)]
    on_commit: Callback<LengthFrom>,
) -> impl IntoView {
    let options = Signal::derive(move || {
        let now = value.get().filter(|it| *it != ValueOrigin::Measured);
        let first = (String::new(), strings::TYPED_VALUE.to_owned());
        let others = [Some(ValueOrigin::Measured), now].into_iter().flatten();
        let others = others.map(|it| (words::key_of(&it), it.word().to_owned()));
        std::iter::once(first).chain(others).collect::<Vec<_>>()
    });
    view! {
        <Choice
            label=strings::LENGTH_ORIGIN
            options=options
            value=Signal::derive(move || value.get().map_or(String::new(), |it| words::key_of(&it)))
            on_commit=move |origin: String| on_commit.run(words::value_of(&origin))
        />
    }
}

/// A length. It is kept in metres, whatever is shown and typed.
#[component]
pub fn Length(
    /// What it is, without its unit.
    label: &'static str,
    /// What it holds, m.
    #[prop(into)]
    value_m: Signal<Amount>,
    /// Called with what was typed, m.
    #[prop(into)]
    on_commit: Callback<Amount>,
    /// True if it must not be empty.
    #[prop(default = false)]
    needed: bool,
) -> impl IntoView {
    let session = app().session;
    let in_feet = Memo::new(move |_| session.with(|document| document.project.show_feet));
    move || {
        let in_feet = in_feet.get();
        let unit_m = if in_feet { M_PER_FT } else { 1.0 };
        view! {
            <Number
                label=strings::length(label, in_feet)
                needed=needed
                value=Signal::derive(move || value_m.get().map(|m| m / unit_m))
                on_commit=move |length: Amount| on_commit.run(length.map(|it| it * unit_m))
            />
        }
    }
}
