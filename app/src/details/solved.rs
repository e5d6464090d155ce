//! Volts and amps of what is selected, in the chosen state.

use crate::widgets::Views;
use leptos::prelude::*;
use loomwright_core::{
    document::End,
    ids::{DeviceId, WireId},
    units::fixed,
};

use crate::{app, strings};

/// "13.42 V".
fn volts(v: f64) -> String {
    format!("{} V", fixed(v, 2))
}

/// "2.50 A", "340 mA".
fn amps(a: f64) -> String {
    let a = a.abs();
    if a < 0.0005 {
        "0 A".into()
    } else if a < 1.0 {
        format!("{:.0} mA", a * 1000.0)
    } else {
        format!("{a:.2} A")
    }
}

/// Volts at an end.
#[component]
pub fn EndVolts(
    /// The end.
    end: End,
) -> impl IntoView {
    let app = app();
    let text = move || {
        app.derived
            .solved
            .with(|solved| solved.volts(&end).map(volts))
    };
    view! { <span class="volts">{text}</span> }
}

/// What a wire carries, and its volts at both ends.
#[component]
pub fn WireSolved(
    /// The wire.
    id: WireId,
) -> impl IntoView {
    let app = app();
    let text = move || {
        let ends = app.session.with(|document| {
            document
                .wires
                .get(&id)
                .map(|wire| (wire.from.clone(), wire.to.clone()))
        });
        app.derived.solved.with(|solved| {
            let (from, to) = ends.as_ref()?;
            let carried = solved
                .wire_amps(&id)
                .map_or_else(|| strings::NOT_SOLVED.into(), amps);
            let at = [solved.volts(from), solved.volts(to)];
            if at == [None, None] {
                return Some(format!("{carried}; {}", strings::NO_VOLTS));
            }
            let at = at.map(|v| v.map_or_else(|| strings::NO_VOLTS.into(), volts));
            let drop = solved
                .volts(from)
                .zip(solved.volts(to))
                .map(|(a, b)| format!(", {} {:.3} V", strings::DROP, (a - b).abs()));
            Some(format!(
                "{carried}; {} → {}{}",
                at[0],
                at[1],
                drop.unwrap_or_default()
            ))
        })
    };
    view! { <p class="solved">{text}</p> }
}

/// What a device's elements carry, and why a load does not run.
#[component]
pub fn DeviceSolved(
    /// The device.
    id: DeviceId,
) -> impl IntoView {
    let app = app();
    let lines = move || {
        let elements = app.session.with(|document| {
            let device = document.devices.get(&id);
            device.map_or_else(Vec::new, |device| {
                device
                    .elements
                    .iter()
                    .map(|element| (element.id.clone(), device.element_label(element)))
                    .collect()
            })
        });
        app.derived.solved.with(|solved| {
            let lines = elements.iter().filter_map(|(element, label)| {
                let carried = solved.element_amps(&id, element)?;
                Some(format!("{label}: {}", amps(carried)))
            });
            lines.map(|line| view! { <li>{line}</li> }).views()
        })
    };
    view! { <ul class="solved">{lines}</ul> }
}
