//! The details of what is selected, one record kind a file. An edit is made when a field is left,
//! as one step of undo.

mod cable;
mod circuit;
mod connectors;
mod device;
mod element;
mod found;
mod move_end;
mod place;
mod sheet;
mod solved;
mod splice;
mod terminals;
mod wire;
pub mod words;

use crate::widgets::Views;
use leptos::prelude::*;
use loomwright_core::{
    document::{Document, Origin},
    edit::{Key, Record, update_record},
};

pub use device::place_choices;
pub use place::PlaceDetails;

use crate::{App, app, edits, strings, surface::Board, tools::ToolKind};

/// The details.
#[component]
pub fn Details(
    /// The board it belongs to.
    board: Board,
) -> impl IntoView {
    let app = app();
    let keys: Memo<Vec<Key>> = Memo::new(move |_| {
        let selected = app.view.selection.get();
        // A selected record may have gone with an undo.
        app.session.with(|document| {
            selected
                .into_iter()
                .filter(|key| document.record(key).is_some())
                .collect()
        })
    });
    move || match keys.get().as_slice() {
        [] => view! { <p class="hush">{strings::NOTHING_SELECTED}</p> }.into_any(),
        [key] => one(board, key),
        many => several(board, many),
    }
}

fn one(board: Board, key: &Key) -> AnyView {
    let body = match key.clone() {
        Key::Device(id) => view! { <device::DeviceDetails board=board id=id /> }.into_any(),
        Key::Wire(id) => view! { <wire::WireDetails board=board id=id /> }.into_any(),
        Key::Cable(id) => view! { <cable::CableDetails id=id /> }.into_any(),
        Key::Splice(id) => view! { <splice::SpliceDetails board=board id=id /> }.into_any(),
        Key::Place(id) => view! { <place::PlaceDetails id=id /> }.into_any(),
        Key::Sheet(id) => view! { <sheet::SheetDetails id=id /> }.into_any(),
        _ => ().into_any(),
    };
    let cable = (board.app().view.tool.get_untracked() == ToolKind::Cable
        && matches!(key, Key::Wire(_)))
    .then(|| make_cable(board));
    view! {
        {cable}
        {body}
        <found::FoundHere key=key.clone() />
    }
    .into_any()
}

fn several(board: Board, keys: &[Key]) -> AnyView {
    let app = board.app();
    let names = keys
        .iter()
        .map(|key| {
            let label = app
                .session
                .peek(|document| document.record_label(key.kind(), key.id()));
            let key = key.clone();
            view! {
                <li>
                    <button class="row" on:click=move |_| app.view.select(key.clone())>
                        <span>{label}</span>
                        <span class="hush">{key.kind()}</span>
                    </button>
                </li>
            }
        })
        .views();
    let wires = keys.iter().any(|key| matches!(key, Key::Wire(_)));
    let stand = keys
        .iter()
        .filter(|key| matches!(key, Key::Device(_) | Key::Splice(_) | Key::Place(_)));
    let tidy = (stand.count() > 1).then(|| {
        let tidy = move |_| {
            let (Some(sheet), keys) = (
                app.view.sheet.get_untracked(),
                app.view.selection.get_untracked(),
            ) else {
                return;
            };
            let made = app
                .session
                .peek(|document| edits::tidy(document, &sheet, &keys));
            app.session.try_run(strings::TIDY_CHOSEN, made);
        };
        view! { <button on:click=tidy>{strings::TIDY_CHOSEN}</button> }
    });
    let devices = keys.iter().any(|key| matches!(key, Key::Device(_)));
    view! {
        <p>{strings::count(keys.len(), strings::SELECTED)}</p>
        {tidy}
        {devices.then(|| once_more(app))}
        {wires.then(|| make_cable(board))}
        <ul class="parts">{names}</ul>
    }
    .into_any()
}

/// Makes what is selected once more, with its wires.
pub fn make_once_more(app: App) {
    let (sheet, keys) = (
        app.view.sheet.get_untracked(),
        app.view.selection.get_untracked(),
    );
    let keys: Vec<Key> = keys.into_iter().collect();
    let made = app
        .session
        .peek(|document| edits::duplicate(document, sheet.as_ref(), &keys));
    let new = made.as_ref().ok().map(|(change, open)| {
        let added = change.added().cloned();
        let devices = added.filter(|key| matches!(key, Key::Device(_))).collect();
        (devices, open.join(" · "))
    });
    let change = made.map(|(change, _)| change);
    if app.session.try_run(strings::ONCE_MORE, change)
        && let Some((devices, open)) = new
    {
        app.view.selection.set(devices);
        if !open.is_empty() {
            app.session.say(open);
        }
    }
}

/// The button for that.
fn once_more(app: App) -> AnyView {
    view! { <button on:click=move |_| make_once_more(app)>{strings::ONCE_MORE}</button> }.into_any()
}

/// Makes a cable of the selected wires.
fn make_cable(board: Board) -> impl IntoView {
    let app = board.app();
    let make = move |shielded: bool| {
        let wires: Vec<_> = app.view.selection.with_untracked(|keys| {
            keys.iter()
                .filter_map(|key| match key {
                    Key::Wire(id) => Some(id.clone()),
                    _ => None,
                })
                .collect()
        });
        let made = app
            .session
            .peek(|document| edits::make_cable(document, &wires, shielded));
        match made {
            Ok((change, id)) => {
                app.session.run(strings::MAKE_CABLE, change);
                app.view.tool.set(ToolKind::Select);
                app.view.select(Key::Cable(id));
            }
            Err(why) => app.session.say(why.to_string()),
        }
    };
    view! {
        <div class="choices">
            <button class="main" on:click=move |_| make(true)>
                {strings::MAKE_SHIELDED}
            </button>
            <button on:click=move |_| make(false)>{strings::MAKE_PLAIN}</button>
        </div>
    }
}

/// Edits one record as one step of undo. `touch` gets the record as it is now.
fn edit(app: App, label: &str, key: Key, touch: impl FnOnce(&mut Record, &Document)) {
    let change = app.session.peek(|document| {
        let mut record = document.record(&key)?;
        touch(&mut record, document);
        Some(update_record(document, &key, record))
    });
    if let Some(change) = change {
        app.session.try_run(label, change);
    }
}

/// Where a figure comes from, in words.
pub fn origin_word(origin: Origin) -> String {
    words::words(&words::key_of(&origin))
}
