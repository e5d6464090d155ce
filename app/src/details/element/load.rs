//! Fields of a load.

use leptos::prelude::*;
use loomwright_core::document::{ElementKind, Extra, Figure, Load, Origin};

use super::handle::{Handle, number};
use crate::{
    strings::{self, words},
    widgets::{Amount, Choice, Number, Tick},
};

macro_rules! choice {
    ($handle:ident, $label:expr, $words:expr, $load:ident => $read:expr, $chosen:ident => $write:expr) => {
        view! {
            <Choice
                label=$label
                options=words::choices($words)
                value=$handle.word(|kind| match kind {
                    ElementKind::Load($load) => $read.map(words::key_of).unwrap_or_default(),
                    _ => String::new(),
                })
                on_commit=move |chosen: String| {
                    let $chosen = words::value_of(&chosen);
                    $handle.touch($label, Box::new(move |kind| {
                        if let ElementKind::Load($load) = kind {
                            $write;
                        }
                    }));
                }
            />
        }
    };
}

/// The fields.
pub fn load(handle: Handle) -> AnyView {
    view! {
        {figure(handle, strings::CONTINUOUS_A, |l| l.continuous_a.as_ref(), |l, f| l.continuous_a = f)}
        {figure(handle, strings::INTERMITTENT_A, |l| l.intermittent_a.as_ref(), |l, f| l.intermittent_a = f)}
        {figure(handle, strings::PEAK_A, |l| l.peak_a.as_ref(), |l, f| l.peak_a = f)}
        {number!(handle, strings::DUTY, Load, l => l.duty; duty => l.duty = duty)}
        {number!(handle, strings::LOAD_CUTOFF_V, Load, l => l.cutoff_v; v => l.cutoff_v = v)}
        <Tick
            label=strings::EITHER_WAY
            value=Signal::derive(move || {
                handle.with(|e| matches!(&e.is, ElementKind::Load(load) if load.either_way)).unwrap_or(false)
            })
            on_commit=move |on: bool| {
                handle.touch(strings::EITHER_WAY, Box::new(move |kind| {
                    if let ElementKind::Load(load) = kind {
                        load.either_way = on;
                    }
                }));
            }
        />
        <div class="pair">
            {number!(handle, strings::AT_V, Load, l => l.at_v, v => l.at_v = v)}
            {choice!(handle, strings::LAW, words::LAWS, l => Some(&l.law), law => if let Some(law) = law { l.law = law })}
        </div>
        <div class="pair">
            {choice!(handle, strings::SORT, words::SORTS, l => Some(&l.sort), sort => if let Some(sort) = sort { l.sort = sort })}
            {choice!(handle, strings::PULSES, words::PULSES, l => l.pulses.as_ref(), pulses => l.pulses = pulses)}
        </div>
    }
    .into_any()
}

fn figure(
    handle: Handle,
    label: &'static str,
    read: fn(&Load) -> Option<&Figure>,
    write: fn(&mut Load, Option<Figure>),
) -> impl IntoView {
    let get = move || {
        handle
            .with(|e| match &e.is {
                ElementKind::Load(load) => read(load).cloned(),
                _ => None,
            })
            .flatten()
    };
    let set = move |figure: Option<Figure>| {
        handle.touch(
            label,
            Box::new(move |kind| {
                if let ElementKind::Load(load) = kind {
                    write(load, figure);
                }
            }),
        );
    };
    let make = |amps, origin| Figure {
        amps,
        origin,
        extra: Extra::default(),
    };
    view! {
        <div class="pair">
            <Number
                label=label
                value=Signal::derive(move || get().map(|f| f.amps))
                on_commit=move |amps: Amount| {
                    let origin = untrack(get).map_or(Origin::Estimate, |f| f.origin);
                    set(amps.map(|amps| make(amps, origin)));
                }
            />
            <Choice
                label=strings::ORIGIN
                options=words::choices(words::ORIGINS)
                value=Signal::derive(move || {
                    get().map_or_else(String::new, |f| words::key_of(&f.origin))
                })
                on_commit=move |origin: String| {
                    if let (Some(origin), Some(was)) = (words::value_of(&origin), untrack(get)) {
                        set(Some(Figure { origin, ..was }));
                    }
                }
            />
        </div>
    }
}
