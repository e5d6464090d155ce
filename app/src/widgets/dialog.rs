//! A box over the page that takes the focus and gives it back on Escape.

use leptos::{ev, prelude::*};

use super::icon::Icon;
use crate::{platform::focus, strings};

/// A dialogue with a title and a way out.
#[component]
pub fn Dialog(
    /// What it is about.
    title: &'static str,
    /// Called when the person leaves it.
    #[prop(into)]
    on_close: Callback<()>,
    /// What is in it.
    children: Children,
) -> impl IntoView {
    Effect::new(move |_| focus::focus("dialog"));
    view! {
        <div class="veil" on:click=move |_| on_close.run(())>
            <div
                id="dialog"
                class="dialog"
                role="dialog"
                aria-modal="true"
                aria-label=title
                tabindex="-1"
                on:click=|event: ev::MouseEvent| event.stop_propagation()
                on:keydown=move |event: ev::KeyboardEvent| {
                    event.stop_propagation();
                    if event.key() == "Escape" {
                        on_close.run(());
                    }
                }
            >
                <header>
                    <h2>{title}</h2>
                    <button class="plain" aria-label=strings::CLOSE on:click=move |_| on_close.run(())>
                        <Icon name="close" />
                    </button>
                </header>
                {children()}
            </div>
        </div>
    }
}
