//! Details of a splice.

use crate::{commands::edit, view::place_choices, widgets::Views};
use leptos::prelude::*;
use loomwright_core::{
    document::{End, Splice},
    edit::{Key, Record},
    ids::{PlaceId, SpliceId},
};

use super::{solved, terminals::wires_at};
use crate::{
    app, strings,
    surface::Board,
    widgets::{Amount, Choice, Number, Text},
};

/// Something that edits a splice.
type Touch = Box<dyn FnOnce(&mut Splice)>;

/// The panel.
#[component]
pub fn SpliceDetails(
    /// The board wires are begun on.
    board: Board,
    /// The splice.
    id: SpliceId,
) -> impl IntoView {
    let app = app();
    let end = End::Splice(id.clone());
    let key = StoredValue::new(id.clone());
    let splice: Memo<Option<Splice>> = Memo::new(move |_| {
        app.session
            .with(|document| document.splices.get(&id).cloned())
    });
    let touch = move |label: &str, touch: Touch| {
        edit(
            app.session,
            label,
            Key::Splice(key.get_value()),
            |record, _| {
                if let Record::Splice(splice) = record {
                    touch(splice);
                }
            },
        );
    };
    let at = end.clone();
    let wires = move || {
        let wires = app.session.with(|document| wires_at(document, &at));
        let entries = wires.into_iter().map(|(id, label)| {
            view! {
                <li>
                    <button class="row" on:click=move |_| app.view.select(Key::Wire(id.clone()))>
                        {label}
                    </button>
                </li>
            }
        });
        entries.views()
    };
    let begin = end.clone();
    view! {
        <Text
            label=strings::SPLICE_LABEL
            value=Signal::derive(move || {
                splice.with(|s| s.as_ref().map(|s| s.label.clone()).unwrap_or_default())
            })
            on_commit=move |label: String| touch(strings::SPLICE_LABEL, Box::new(move |s| s.label = label))
        />
        <solved::EndVolts end=end />
        <Choice
            label=strings::PLACE
            options=Signal::derive(move || app.session.with(place_choices))
            value=Signal::derive(move || {
                let place = splice.with(|s| s.as_ref().and_then(|s| s.place.clone()));
                place.map(|place| place.to_string()).unwrap_or_default()
            })
            on_commit=move |place: String| {
                let place = (!place.is_empty()).then(|| PlaceId::from(place));
                touch(strings::PLACE, Box::new(move |s| s.place = place));
            }
        />
        <Number
            label=strings::OHM
            value=Signal::derive(move || splice.with(|s| s.as_ref().and_then(|s| s.ohm)))
            on_commit=move |ohm: Amount| touch(strings::OHM, Box::new(move |s| s.ohm = ohm))
        />
        <h3>{strings::WIRES_HERE}</h3>
        <ul class="parts">{wires}</ul>
        <button on:click=move |_| board.begin_or_end_wire(begin.clone())>{strings::BEGIN_WIRE}</button>
    }
}
