//! Details of a place.

use leptos::prelude::*;
use loomwright_core::{
    document::Place,
    edit::{Key, Record},
    ids::PlaceId,
};

use crate::{
    app,
    commands::edit,
    strings,
    view::place_choices,
    widgets::{Amount, Choice, Known, Number, Text, Tick, YesNo},
};

/// Something that edits a place.
type Touch = Box<dyn FnOnce(&mut Place)>;

/// The panel.
#[component]
pub fn PlaceDetails(
    /// The place.
    id: PlaceId,
) -> impl IntoView {
    let app = app();
    let key = StoredValue::new(id.clone());
    let place: Memo<Option<Place>> = Memo::new(move |_| {
        app.session
            .with(|document| document.places.get(&id).cloned())
    });
    let touch = move |label: &str, touch: Touch| {
        edit(
            app.session,
            label,
            Key::Place(key.get_value()),
            |record, _| {
                if let Record::Place(place) = record {
                    touch(place);
                }
            },
        );
    };
    view! {
        <Text
            label=strings::PLACE_NAME
            value=Signal::derive(move || {
                place.with(|p| p.as_ref().map(|p| p.title.clone()).unwrap_or_default())
            })
            on_commit=move |title: String| touch(strings::PLACE_NAME, Box::new(move |p| p.title = title))
        />
        <YesNo
            label=strings::MADE_OF
            words=strings::MADE_OF_METAL
            value=Signal::derive(move || place.with(|p| p.as_ref().and_then(|p| p.conductive)))
            note=Signal::derive(move || {
                place.with(|p| p.as_ref().and_then(|p| p.origins.word("conductive")).unwrap_or_default().to_owned())
            })
            on_commit=move |known: Known| {
                touch(strings::MADE_OF, Box::new(move |p| p.conductive = known));
            }
        />
        <Tick
            label=strings::CLOSED_UP
            value=Signal::derive(move || place.with(|p| p.as_ref().is_some_and(|p| p.closed)))
            on_commit=move |on: bool| touch(strings::CLOSED_UP, Box::new(move |p| p.closed = on))
        />
        <Choice
            label=strings::BONDED_TO
            options=Signal::derive(move || app.session.with(place_choices))
            value=Signal::derive(move || {
                let to = place.with(|p| p.as_ref().and_then(|p| p.bonded_to.clone()));
                to.map(|to| to.to_string()).unwrap_or_default()
            })
            on_commit=move |to: String| {
                let to = (!to.is_empty()).then(|| PlaceId::from(to));
                touch(strings::BONDED_TO, Box::new(move |p| p.bonded_to = to));
            }
        />
        <Number
            label=strings::BOND_OHM
            value=Signal::derive(move || place.with(|p| p.as_ref().and_then(|p| p.bond_ohm)))
            on_commit=move |ohm: Amount| touch(strings::BOND_OHM, Box::new(move |p| p.bond_ohm = ohm))
        />
    }
}
