//! Fields of elements with one or two figures.

use leptos::prelude::*;
use loomwright_core::document::{Element, ElementKind};

use super::{
    handle::{Handle, number, yes_no},
    operated::rating,
};
use crate::{
    strings,
    widgets::{Amount, Known, Number, YesNo},
};

/// Fields of a jack.
pub fn jack(handle: Handle) -> AnyView {
    view! {
        {yes_no!(handle, strings::JACK_BODY, strings::JACK_BODY_IS, Jack, isolated)}
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
        <div class="pair">
            {yes_no!(handle, strings::SUPPRESSOR, strings::SUPPRESSOR_IS, Coil, suppressed)}
            {yes_no!(handle, strings::DUTY_OF_COIL, strings::DUTY_OF_COIL_IS, Coil, continuous_duty)}
        </div>
    }
    .into_any()
}
