//! Puts something between two terminals of a device.

use leptos::prelude::*;
use loomwright_core::{
    document::{Device, Element, ElementKind, Extra, Terminal, read::read},
    edit::add_element,
    ids::DeviceId,
};
use serde_json::json;

use crate::{
    app,
    strings::{self, words},
    widgets::{Choice, Fold},
};

/// What can be put between two terminals, as files write it, with the figures it begins with.
fn new_element(kind: &str, a: &str, b: &str) -> Option<ElementKind> {
    let is = match kind {
        "load" => json!({"plus": a, "minus": b, "law": "constant_power", "at_v": 13.8}),
        "switch" => json!({"positions": [{"label": "OFF"}, {"label": "ON", "joins": [[a, b]]}]}),
        "protector" => json!({"line": a, "load": b, "style": "breaker"}),
        "resistor" => json!({"a": a, "b": b, "ohm": 120.0}),
        "diode" => json!({"anode": a, "cathode": b, "vf_v": 0.7, "ohm": 0.02}),
        "bar" => json!({"terminals": [a, b], "used_as": "joint"}),
        _ => return None,
    };
    read(&json!({ kind: is })).ok()
}

/// Puts something between two terminals of a device.
pub fn add(key: StoredValue<DeviceId>, device: Memo<Device>) -> AnyView {
    let app = app();
    let kind = RwSignal::new(words::ELEMENTS[0].to_owned());
    let ends = [RwSignal::new(String::new()), RwSignal::new(String::new())];
    let terminals = Signal::derive(move || {
        let choice = |terminal: &Terminal| {
            let words = format!("{} {}", terminal.label, terminal.name);
            (terminal.id.to_string(), words)
        };
        let first = std::iter::once((String::new(), String::new()));
        first
            .chain(device.with(|it| it.terminals.iter().map(choice).collect::<Vec<_>>()))
            .collect::<Vec<_>>()
    });
    let end = move |label: &'static str, at: usize| {
        let end = ends[at];
        view! {
            <Choice label=label options=terminals value=end on_commit=move |id| end.set(id) />
        }
        .into_any()
    };
    let put = move |_| {
        let [a, b] = ends.map(|it| it.get_untracked());
        let Some(is) = kind.with_untracked(|kind| new_element(kind, &a, &b)) else {
            return;
        };
        let element = Element {
            id: "e1".into(),
            label: String::new(),
            is,
            extra: Extra::default(),
        };
        let change = app
            .session
            .peek(|document| key.with_value(|id| add_element(document, id, element)));
        app.session.try_run(strings::ADD_ELEMENT, change);
    };
    let is_incomplete = move || {
        let [a, b] = ends.map(|it| it.get());
        a.is_empty() || b.is_empty() || a == b
    };
    view! {
        <Fold class="add-element" title=strings::ADD_ELEMENT>
            <Choice
                label=strings::KIND
                options=words::choices(words::ELEMENTS)
                value=kind
                on_commit=move |it| kind.set(it)
            />
            <div class="pair">{end(strings::FROM, 0)} {end(strings::TO, 1)}</div>
            <button disabled=is_incomplete on:click=put>
                {strings::ADD_ELEMENT}
            </button>
        </Fold>
    }
    .into_any()
}
