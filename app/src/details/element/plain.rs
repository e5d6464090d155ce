//! Fields of elements with one or two figures.

use leptos::prelude::*;
use loomwright_core::document::ElementKind;

use super::{
    handle::{Handle, number},
    operated::rating,
};
use crate::{
    strings,
    widgets::{Amount, Known, Number, YesNo},
};

/// Fields of a jack.
pub fn jack(handle: Handle) -> AnyView {
    view! {
        <YesNo
            label=strings::JACK_BODY
            words=strings::JACK_BODY_IS
            value=Signal::derive(move || {
                handle.with(|e| match &e.is {
                    ElementKind::Jack(jack) => jack.isolated,
                    _ => None,
                })
                .flatten()
            })
            note=handle.origin("isolated")
            on_commit=move |known: Known| {
                handle.touch(strings::JACK_BODY, Box::new(move |kind| {
                    if let ElementKind::Jack(jack) = kind {
                        jack.isolated = known;
                    }
                }));
            }
        />
        {number!(handle, strings::HOLE_MM, Jack, jack => jack.hole_mm; mm => jack.hole_mm = mm)}
    }
    .into_any()
}

/// Fields of a contact.
pub fn contact(handle: Handle) -> AnyView {
    rating(handle)
}

/// Fields of a resistor.
pub fn resistor(handle: Handle) -> AnyView {
    number!(handle, strings::OHM, Resistor, r => r.ohm, v => r.ohm = v).into_any()
}

/// Fields of a diode.
pub fn diode(handle: Handle) -> AnyView {
    view! {
        <div class="pair">
            {number!(handle, strings::FORWARD_V, Diode, d => d.vf_v, v => d.vf_v = v)}
            {rating(handle)}
        </div>
    }
    .into_any()
}

/// Fields of a coil.
pub fn coil(handle: Handle) -> AnyView {
    view! {
        <div class="pair">
            {number!(handle, strings::OHM, Coil, c => c.ohm, v => c.ohm = v)}
            {number!(handle, strings::PULL_IN_V, Coil, c => c.pull_in_v, v => c.pull_in_v = v)}
        </div>
    }
    .into_any()
}
