//! Views of one type. Leptos compiles what puts a view on the page once for every type of view, most of
//! all in lists and in what comes and goes.

use leptos::prelude::*;

/// Views one after another as one view.
pub trait Views {
    /// All of them.
    fn views(self) -> AnyView;
}

impl<I: IntoIterator<Item: IntoAny>> Views for I {
    fn views(self) -> AnyView {
        let views: Vec<AnyView> = self.into_iter().map(IntoAny::into_any).collect();
        views.into_any()
    }
}

/// A view that is there as long as something holds.
#[component]
pub fn Given<W: Fn() -> bool + Send + Sync + 'static>(
    /// What must hold.
    when: W,
    /// The view.
    children: ChildrenFn,
) -> impl IntoView {
    given(Memo::new(move |_| when()).into(), children)
}

/// What is under a line that opens it; made when it is first opened.
#[component]
pub fn Fold(
    /// Its class.
    class: &'static str,
    /// The line.
    title: &'static str,
    /// What is under it.
    children: ChildrenFn,
) -> impl IntoView {
    let opened = RwSignal::new(false);
    view! {
        <details class=class on:toggle=move |_| opened.set(true)>
            <summary>{title}</summary>
            {given(opened.into(), children)}
        </details>
    }
}

fn given(holds: Signal<bool>, children: ChildrenFn) -> AnyView {
    let view = move || {
        if holds.get() {
            children()
        } else {
            ().into_any()
        }
    };
    view.into_any()
}
