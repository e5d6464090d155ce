//! A field for a length, in the unit that the project shows.

use leptos::prelude::*;
use loomwright_core::units::M_PER_FT;

use crate::{
    app, strings,
    widgets::{Amount, Number},
};

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
