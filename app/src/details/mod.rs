//! The details of what is selected, one record kind a file. An edit is made when a field is left,
//! as one step of undo.

mod buttons;
mod cable;
mod circuit;
mod connectors;
mod device;
mod element;
mod found;
mod length;
mod move_end;
mod place;
mod sheet;
mod solved;
mod splice;
mod terminals;
pub mod tidy_look;
mod wire;

use crate::widgets::Views;
use leptos::prelude::*;
use loomwright_core::edit::Key;

pub use length::{Length, LengthFrom, LengthOrigin};
pub use place::PlaceDetails;

use crate::{
    app,
    commands::{make_cable, tidy},
    strings,
    surface::Board,
    view::ToolKind,
};

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
    .then(|| cables(board));
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
        view! { <button on:click=move |_| tidy(app)>{strings::TIDY_CHOSEN}</button> }
    });
    let devices = keys.iter().any(|key| matches!(key, Key::Device(_)));
    view! {
        <p>{strings::count(keys.len(), strings::SELECTED)}</p>
        {tidy}
        {devices.then(|| buttons::duplicate(app))}
        {wires.then(|| cables(board))}
        <ul class="parts">{names}</ul>
    }
    .into_any()
}

/// Buttons that make a cable of the selected wires.
fn cables(board: Board) -> impl IntoView {
    let app = board.app();
    view! {
        <div class="choices">
            <button class="main" on:click=move |_| make_cable(app, true)>
                {strings::MAKE_SHIELDED}
            </button>
            <button on:click=move |_| make_cable(app, false)>{strings::MAKE_PLAIN}</button>
        </div>
    }
}
