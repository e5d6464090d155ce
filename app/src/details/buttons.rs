//! Buttons that several details have.

use leptos::prelude::*;

use crate::{App, commands, strings};

/// Duplicates what is selected.
pub fn duplicate(app: App) -> AnyView {
    let duplicate = move |_| commands::duplicate(app);
    view! { <button on:click=duplicate>{strings::ONCE_MORE}</button> }.into_any()
}
