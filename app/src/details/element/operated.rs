//! Fields of what a hand operates: breakers and fuses, switches.

use leptos::prelude::*;
use loomwright_core::document::ElementKind;

use super::handle::{Handle, number};
use crate::{
    commands::operate,
    strings,
    widgets::{Amount, Number, rows},
};

/// The current rating of a breaker, fuse, switch, contact or diode.
pub fn rating(handle: Handle) -> AnyView {
    view! {
        <Number
            label=strings::RATING_A
            value=handle.number(ElementKind::rating_a)
            note=handle.origin("rating_a")
            on_commit=move |a: Amount| {
                handle.touch(strings::RATING_A, Box::new(move |kind| {
                    if let Some(rating_a) = kind.rating_mut() {
                        *rating_a = a;
                    }
                }));
            }
        />
    }
    .into_any()
}

/// Fields of a breaker or a fuse.
pub fn protector(handle: Handle) -> AnyView {
    let key = handle.state_key();
    let of = key.clone();
    let pulled = move || {
        handle
            .app
            .derived
            .state
            .with(|state| state.pulled.contains(&of))
    };
    view! {
        <div class="pair">
            {rating(handle)}
            {number!(handle, strings::TRIP_S, Protector, p => p.trip_s; s => p.trip_s = s)}
            <button
                class="operate"
                data-operate=key.clone()
                on:click=move |_| operate::operate(handle.app, &key)
            >
                {move || if pulled() { strings::PUSH_IN } else { strings::PULL }}
            </button>
        </div>
    }
    .into_any()
}

/// Fields of a switch.
pub fn switch(handle: Handle) -> AnyView {
    let key = StoredValue::new(handle.state_key());
    let labels = move || {
        handle
            .with(|e| match &e.is {
                ElementKind::Switch(switch) => switch
                    .positions
                    .iter()
                    .map(|p| p.label.clone())
                    .enumerate()
                    .collect(),
                _ => Vec::new(),
            })
            .unwrap_or_default()
    };
    let at = move || {
        handle
            .with(|e| match &e.is {
                ElementKind::Switch(switch) => handle
                    .app
                    .derived
                    .state
                    .with(|state| key.with_value(|key| state.position(key, switch.rest))),
                _ => 0,
            })
            .unwrap_or_default()
    };
    let button = move |(index, label): (usize, String)| {
        view! {
            <button
                aria-pressed=move || if at() == index { "true" } else { "false" }
                on:click=move |_| operate::throw(handle.app, &key.get_value(), index)
            >
                {label}
            </button>
        }
        .into_any()
    };
    view! {
        <div class="choices" role="group" data-operate=key.get_value()>
            {rows(labels, |(index, label)| format!("{index} {label}"), button)}
        </div>
        {rating(handle)}
    }
    .into_any()
}
