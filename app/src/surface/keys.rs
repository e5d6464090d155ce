//! The keyboard on the drawing.

use leptos::{ev, prelude::*};
use loomwright_core::{drawing::geometry::LATTICE_MM, edit::Key};

use super::board::Board;
use crate::{
    App,
    commands::{
        again, delete, edits,
        sight::{fit, look, zoom},
        take,
    },
    strings,
    tools::Input,
    view::{Panel, ToolKind, item_key, items_of},
};

/// Pixels the sheet moves with an arrow key.
const PAN_PX: f64 = 60.0;

/// A key goes down while the drawing has the focus.
pub fn down(board: Board, event: &ev::KeyboardEvent) {
    if event.ctrl_key() || event.meta_key() || event.alt_key() {
        return;
    }
    let view = board.app().view;
    let key = event.key();
    match key.as_str() {
        "Escape" => board.tell(&Input::Escape),
        "+" | "=" => zoom(board.app(), 1.25),
        "-" => zoom(board.app(), 0.8),
        "0" => fit(board.app()),
        "Delete" | "Backspace" => delete(board.app()),
        "Enter" | " " => enter(board, event),
        "ArrowLeft" => arrow(board, -1.0, 0.0, event.shift_key()),
        "ArrowRight" => arrow(board, 1.0, 0.0, event.shift_key()),
        "ArrowUp" => arrow(board, 0.0, -1.0, event.shift_key()),
        "ArrowDown" => arrow(board, 0.0, 1.0, event.shift_key()),
        "n" | "N" => again(board.app()),
        letter => {
            let tool = ToolKind::ALL
                .into_iter()
                .find(|tool| letter.eq_ignore_ascii_case(tool.key()));
            let Some(tool) = tool else { return };
            take(board.app(), tool);
            if tool == ToolKind::Device {
                view.panel.set(Panel::Devices);
            }
        }
    }
    event.prevent_default();
}

/// Selects the item or wire that has the focus.
fn enter(board: Board, event: &ev::KeyboardEvent) {
    use wasm_bindgen::JsCast;
    let App { session, view, .. } = board.app();
    let Some(element) = event
        .target()
        .and_then(|target| target.dyn_into::<web_sys::Element>().ok())
    else {
        return;
    };
    if let Some(finding) = element.get_attribute("data-finding") {
        view.marked.set(finding.parse().ok());
        view.panel.set(Panel::Findings);
        return;
    }
    let key = match (
        element.get_attribute("data-item"),
        element.get_attribute("data-wire"),
    ) {
        (Some(item), _) => view
            .sheet
            .get_untracked()
            .and_then(|sheet| session.peek(|document| item_key(document, &sheet, &item.into()))),
        (_, Some(wire)) => Some(Key::Wire(wire.into())),
        _ => None,
    };
    if let Some(key) = key {
        view.select(key);
    }
}

/// Moves what is selected by a step, or the sheet if nothing is.
fn arrow(board: Board, dx: f64, dy: f64, far: bool) {
    let App { session, view, .. } = board.app();
    let keys = view.selection.get_untracked();
    let Some(sheet) = view.sheet.get_untracked() else {
        return;
    };
    let items = session.peek(|document| items_of(document, &sheet, |key| keys.contains(key)));
    if items.is_empty() {
        look(
            board.app(),
            board.camera().panned(-dx * PAN_PX, -dy * PAN_PX),
        );
        return;
    }
    let mm = if far { 4.0 * LATTICE_MM } else { LATTICE_MM };
    match session.peek(|document| edits::step(document, &sheet, &items, (dx * mm, dy * mm))) {
        Some(change) => {
            session.try_run(strings::MOVE, change);
        }
        None => session.say(strings::NO_ROOM_THERE.into()),
    }
}
