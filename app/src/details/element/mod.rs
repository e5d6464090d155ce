//! What is inside a device: loads, breakers and fuses, switches, jacks.

mod add;
mod handle;
mod load;
mod operated;
mod plain;
mod supply;

use leptos::prelude::*;
use loomwright_core::{
    document::{Device, ElementKind},
    edit::remove_element,
    ids::DeviceId,
};

use self::{
    add::add,
    handle::Handle,
    load::load,
    operated::{protector, switch},
    plain::{coil, contact, diode, jack, resistor},
    supply::{alternator, battery, over_voltage},
};
use crate::{
    app, strings,
    widgets::{Icon, rows},
};

/// The elements, one after another.
#[component]
pub fn Elements(
    /// The device.
    id: DeviceId,
    /// The device's record.
    device: Memo<Device>,
) -> impl IntoView {
    let key = StoredValue::new(id);
    let elements =
        move || device.with(|d| d.elements.iter().map(|e| e.id.clone()).collect::<Vec<_>>());
    let list = rows(elements, ToString::to_string, move |element| {
        one(Handle {
            app: app(),
            device,
            key: StoredValue::new((key.get_value(), element)),
        })
    });
    view! {
        {list}
        {add(key, device)}
    }
}

fn one(handle: Handle) -> AnyView {
    let label = move || handle.with(|e| e.label.clone()).unwrap_or_default();
    let Some(kind) = handle.with(|e| e.is.clone()) else {
        return ().into_any();
    };
    let (word, body) = match kind {
        ElementKind::Load(_) => (strings::LOAD, load(handle)),
        ElementKind::Protector(_) => (strings::PROTECTION, protector(handle)),
        ElementKind::Switch(_) => (strings::SWITCH, switch(handle)),
        ElementKind::Jack(_) => (strings::JACK, jack(handle)),
        ElementKind::Battery(_) => (strings::BATTERY, battery(handle)),
        ElementKind::Alternator(_) => (strings::ALTERNATOR, alternator(handle)),
        ElementKind::OverVoltage(_) => (strings::OVER_VOLTAGE_MODULE, over_voltage(handle)),
        ElementKind::Resistor(_) => (strings::RESISTOR, resistor(handle)),
        ElementKind::Coil(_) => (strings::COIL, coil(handle)),
        ElementKind::Contact(_) => (strings::CONTACT, contact(handle)),
        ElementKind::Diode(_) => (strings::DIODE, diode(handle)),
        // Nothing to set: metal as the catalogue has it.
        _ => return ().into_any(),
    };
    let remove = move |_| {
        let (id, element) = handle.key.get_value();
        let change = handle
            .app
            .session
            .peek(|document| remove_element(document, &id, &element));
        handle.app.session.try_run(strings::REMOVE_ELEMENT, change);
    };
    view! {
        <section class="element">
            <h3 class="ends">
                <span>{word} " " {label}</span>
                <button
                    class="plain"
                    aria-label=strings::REMOVE_ELEMENT
                    title=strings::REMOVE_ELEMENT
                    on:click=remove
                >
                    <Icon name="delete" />
                </button>
            </h3>
            {body}
        </section>
    }
    .into_any()
}
