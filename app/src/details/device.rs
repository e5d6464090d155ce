//! Details of a device.

use leptos::prelude::*;
use loomwright_core::{
    document::{Device, Document},
    edit::reach,
    ids::{DeviceId, PlaceId},
};

use super::{buttons, connectors::Connectors, element::Elements, solved, terminals::Terminals};
use crate::{
    App, app,
    commands::{discard, edit_device, remove_here},
    strings::{self, words},
    surface::Board,
    view::{Room, place_choices},
    widgets::{Area, Choice, Known, Number, Text, Tick, YesNo},
};

/// The panel.
#[component]
pub fn DeviceDetails(
    /// The board it belongs to.
    board: Board,
    /// The device.
    id: DeviceId,
) -> impl IntoView {
    let app = app();
    let key = StoredValue::new(id.clone());
    let device: Memo<Device> = Memo::new({
        let id = id.clone();
        move |before: Option<&Device>| {
            let found = app
                .session
                .with(|document| document.devices.get(&id).cloned());
            // The panel goes away with its device; until then it shows the last one.
            found
                .or_else(|| before.cloned())
                .unwrap_or_else(|| Device::plain("", ""))
        }
    });
    let touch = move |label: &str, touch: Box<dyn FnOnce(&mut Device)>| {
        edit_device(app.session, label, &key.get_value(), touch);
    };
    let text = move |read: fn(&Device) -> String| Signal::derive(move || device.with(read));
    view! {
        <div class="pair">
            <Text
                label=strings::TAG
                value=text(|d| d.tag.clone())
                on_commit=move |tag: String| touch(strings::TAG, Box::new(move |d| d.tag = tag))
            />
            <Text
                label=strings::WHAT
                value=text(|d| d.title.clone())
                on_commit=move |title: String| touch(strings::WHAT, Box::new(move |d| d.title = title))
            />
        </div>
        <solved::DeviceSolved id=id.clone() />
        <Terminals board=board id=id.clone() device=device />
        <Elements id=id.clone() device=device />
        <div class="pair">
            <Choice
                label=strings::PLACE
                options=Signal::derive(move || app.session.with(place_choices))
                value=text(|d| d.place.as_ref().map(ToString::to_string).unwrap_or_default())
                on_commit=move |place: String| {
                    let place = (!place.is_empty()).then(|| PlaceId::from(place));
                    touch(strings::PLACE, Box::new(move |d| d.place = place));
                }
            />
            <Choice
                label=strings::KIND
                options=words::choices(words::DEVICE_KINDS)
                value=text(|d| words::key_of(&d.kind))
                on_commit=move |kind: String| {
                    if let Some(kind) = words::value_of(&kind) {
                        touch(strings::KIND, Box::new(move |d| d.kind = kind));
                    }
                }
            />
        </div>
        <Tick
            label=strings::CRITICAL
            value=Signal::derive(move || device.with(|d| d.critical))
            on_commit=move |on: bool| touch(strings::CRITICAL, Box::new(move |d| d.critical = on))
        />
        <YesNo
            label=strings::IN_REACH
            words=strings::IN_REACH_IS
            value=Signal::derive(move || device.with(|d| d.in_reach))
            on_commit=move |known: Known| touch(strings::IN_REACH, Box::new(move |d| d.in_reach = known))
        />
        <Text
            label=strings::INDEPENDENT_OF
            value=Signal::derive(move || {
                app.session
                    .with(|document| {
                        device
                            .with(|d| {
                                let tags = d.independent_of.iter();
                                let tags: Vec<String> = tags
                                    .map(|id| document.record_label("device", id.as_str()))
                                    .collect();
                                tags.join(", ")
                            })
                    })
            })
            on_commit=move |tags: String| {
                let ids = app.session.peek(|document| with_tags(document, &tags));
                touch(strings::INDEPENDENT_OF, Box::new(move |d| d.independent_of = ids));
            }
        />
        <Connectors id=id device=device />
        <Text
            label=strings::SOURCE
            value=text(|d| d.source.clone())
            on_commit=move |source: String| touch(strings::SOURCE, Box::new(move |d| d.source = source))
        />
        <Area
            label=strings::NOTE
            value=text(|d| d.note.clone())
            on_commit=move |note: String| touch(strings::NOTE, Box::new(move |d| d.note = note))
        />
        <Number
            label=strings::WEIGHT_KG
            value=Signal::derive(move || device.with(|d| d.weight_kg))
            on_commit=move |kg| touch(strings::WEIGHT_KG, Box::new(move |d| d.weight_kg = kg))
        />
        {buttons::duplicate(app)}
        <button on:click=move |_| {
            app.view.swap.set(Some(key.get_value()));
            app.view.paper.set("");
            app.view.room.set(Room::Log);
        }>{strings::SWAP_THIS}</button>
        {removal(app, key)}
    }
}

/// Off this sheet, or out of the aircraft, with how far that reaches.
fn removal(app: App, key: StoredValue<DeviceId>) -> AnyView {
    let reach = move || {
        let reach = (app.session).with(|document| key.with_value(|id| reach(document, id)));
        (reach.sheets, reach.wires)
    };
    view! {
        <p class="hush">{move || { let (sheets, wires) = reach(); strings::reach(sheets, wires) }}</p>
        <div class="choices">
            <button on:click=move |_| remove_here(app, key.get_value())>{strings::REMOVE_HERE}</button>
            <button on:click=move |_| discard(app, key.get_value())>
                {move || strings::delete_device(reach().0)}
            </button>
        </div>
    }
    .into_any()
}

/// The devices with these tags, separated by commas; a tag that no device has is left out.
fn with_tags(document: &Document, tags: &str) -> Vec<DeviceId> {
    let wanted: Vec<&str> = tags.split(',').map(str::trim).collect();
    let devices = document.devices.iter();
    let named = devices.filter(|(_, device)| wanted.contains(&device.tag.as_str()));
    named.map(|(id, _)| id.clone()).collect()
}
