//! Fields of what supplies: batteries and alternators.

use leptos::prelude::*;
use loomwright_core::document::{Battery, Chemistry, Element, ElementKind, Reserve};

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
        {chemistry(handle)}
        <div class="pair">{ELECTRONICS.map(|(label, field)| electronics(handle, label, field))}</div>
        <p class="hush">{strings::RESERVE_HELP}</p>
        <div class="pair">{RESERVE.map(|(label, field)| reserve(handle, label, field))}</div>
    }
    .into_any()
}

/// Its chemistry.
fn chemistry(handle: Handle) -> AnyView {
    let is_lithium = move || {
        handle.with(|element| match &element.is {
            ElementKind::Battery(battery) => {
                (battery.chemistry).map(|it| it == Chemistry::LithiumIronPhosphate)
            }
            _ => None,
        })
    };
    view! {
        <YesNo
            label=strings::CHEMISTRY
            words=strings::CHEMISTRY_IS
            value=Signal::derive(move || is_lithium().flatten())
            on_commit=move |known: Known| {
                handle.touch(strings::CHEMISTRY, Box::new(move |kind| {
                    if let ElementKind::Battery(battery) = kind {
                        battery.chemistry = known.map(|is_lithium| match is_lithium {
                            true => Chemistry::LithiumIronPhosphate,
                            false => Chemistry::LeadAcid,
                        });
                    }
                }));
            }
        />
    }
    .into_any()
}

/// A limit of a battery's electronics, or of its maker.
type BatteryField = fn(&mut Battery) -> &mut Option<f64>;

const ELECTRONICS: [(&str, BatteryField); 5] = [
    (strings::OPENS_ABOVE_A, |it| &mut it.opens_above_a),
    (strings::OPENS_SLOWLY_ABOVE_A, |it| {
        &mut it.opens_slowly_above_a
    }),
    (strings::OPENS_BELOW_V, |it| &mut it.opens_below_v),
    (strings::OPENS_ABOVE_V, |it| &mut it.opens_above_v),
    (strings::CHARGE_LIMIT_A, |it| &mut it.charge_limit_a),
];

fn electronics(handle: Handle, label: &'static str, field: BatteryField) -> AnyView {
    view! {
        <Number
            label=label
            value=handle.number(move |kind| match kind {
                ElementKind::Battery(battery) => *field(&mut battery.clone()),
                _ => None,
            })
            on_commit=move |value: Amount| {
                handle.touch(label, Box::new(move |kind| {
                    if let ElementKind::Battery(battery) = kind {
                        *field(battery) = value;
                    }
                }));
            }
        />
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

/// Fields of an over-voltage module.
pub fn over_voltage(handle: Handle) -> AnyView {
    number!(handle, strings::TRIP_V, OverVoltage, it => it.trip_v; v => it.trip_v = v).into_any()
}
