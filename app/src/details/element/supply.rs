//! Fields of what supplies: batteries and alternators.

use leptos::prelude::*;
use loomwright_core::document::{Element, ElementKind, Reserve};

use super::handle::{Handle, number, yes_no};
use crate::{
    strings,
    widgets::{Amount, Known, Number, YesNo},
};

/// Fields of a battery.
pub fn battery(handle: Handle) -> AnyView {
    view! {
        <div class="pair">
            {number!(handle, strings::EMF_V, Battery, b => b.emf_v, v => b.emf_v = v)}
            {number!(handle, strings::INNER_OHM, Battery, b => b.ohm, v => b.ohm = v)}
        </div>
        {number!(handle, strings::CAPACITY_AH, Battery, b => b.capacity_ah; ah => b.capacity_ah = ah)}
        <p class="hush">{strings::RESERVE_HELP}</p>
        <div class="pair">{RESERVE.map(|(label, field)| reserve(handle, label, field))}</div>
    }
    .into_any()
}

/// A figure of what a battery can give.
type ReserveField = fn(&mut Reserve) -> &mut Option<f64>;

const RESERVE: [(&str, ReserveField); 8] = [
    (strings::CHARGE_FACTOR, |it| &mut it.charge_factor),
    (strings::AGE_FACTOR, |it| &mut it.age_factor),
    (strings::RATE_FACTOR, |it| &mut it.rate_factor),
    (strings::TEMPERATURE_FACTOR, |it| &mut it.temperature_factor),
    (strings::RATED_H, |it| &mut it.rated_h),
    (strings::EMPTY_OHM, |it| &mut it.empty_ohm),
    (strings::BATTERY_CUTOFF_V, |it| &mut it.cutoff_v),
    (strings::PEUKERT, |it| &mut it.peukert),
];

fn reserve(handle: Handle, label: &'static str, field: ReserveField) -> AnyView {
    view! {
        <Number
            label=label
            value=handle.number(move |kind| match kind {
                ElementKind::Battery(battery) => *field(&mut battery.reserve.clone()?),
                _ => None,
            })
            on_commit=move |value: Amount| {
                handle.touch(label, Box::new(move |kind| {
                    if let ElementKind::Battery(battery) = kind {
                        let mut reserve = battery.reserve.take().unwrap_or_default();
                        *field(&mut reserve) = value;
                        battery.reserve = Some(reserve).filter(|it| *it != Reserve::default());
                    }
                }));
            }
        />
    }
    .into_any()
}

/// Fields of an alternator.
pub fn alternator(handle: Handle) -> AnyView {
    view! {
        <div class="pair">
            {number!(handle, strings::SET_V, Alternator, a => a.set_v, v => a.set_v = v)}
            {number!(handle, strings::LIMIT_A, Alternator, a => a.limit_a, v => a.limit_a = v)}
        </div>
        <div class="pair">
            {yes_no!(handle, strings::OVER_VOLTAGE, strings::OVER_VOLTAGE_IS, Alternator, over_voltage_trip)}
            {yes_no!(handle, strings::FAILURE_WARNING, strings::FAILURE_WARNING_IS, Alternator, failure_warning)}
        </div>
    }
    .into_any()
}
