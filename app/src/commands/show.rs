//! Showing something: a record on its sheet, the wires of the sheet.

use leptos::prelude::*;
use loomwright_core::edit::Key;

use super::sight::bring;
use crate::{
    App,
    view::{Panel, Room, sheet_showing},
};

/// Centres records on the drawing and selects them.
pub fn show(app: App, keys: Vec<Key>) {
    let sheet = app.view.sheet.get_untracked();
    let better = app
        .session
        .peek(|document| sheet_showing(document, &keys, sheet.as_ref()));
    if let Some(sheet) = better.filter(|better| Some(better) != sheet.as_ref()) {
        app.view.sheet.set(Some(sheet));
    }
    app.view.room.set(Room::Draw);
    bring(app, keys);
}

/// Goes to a record: on its sheet, selected.
pub fn go_to(app: App, key: Key) {
    show(app, vec![key.clone()]);
    app.view.select(key);
}

/// Opens the wires of the sheet next to the drawing, or closes them.
pub fn toggle_wires(app: App) {
    app.view.room.set(Room::Draw);
    app.view.panel.update(|panel| {
        *panel = if *panel == Panel::Wires {
            Panel::Closed
        } else {
            Panel::Wires
        };
    });
}
