//! The menu of a record on the drawing: the other mouse button, or a finger held on it.

use leptos::{ev, prelude::*};
use loomwright_core::{
    document::End,
    edit::{Key, reach},
};

use super::board::Board;
use crate::{
    commands::{again, delete, discard, duplicate, edits, remove_here},
    platform::focus,
    strings,
    view::Panel,
    widgets::Views,
};

/// Width and height that the menu takes at most, pixels.
const MOST_PX: (f64, f64) = (240.0, 260.0);

/// What can be done with the record.
pub fn menu(board: Board, at: (f64, f64), key: Key) -> AnyView {
    let app = board.app();
    let entry = move |word: String, act: Box<dyn Fn() + Send + Sync>| {
        let chosen = move |_| {
            board.menu.set(None);
            act();
        };
        view! { <button role="menuitem" on:click=chosen>{word}</button> }
    };
    let title = (app.session).peek(|document| document.record_label(key.kind(), key.id()));
    let (own, heading) = (key.clone(), title.clone());
    let mut entries = vec![entry(
        strings::DETAILS.into(),
        Box::new(move || {
            app.view.select(own.clone());
            app.view.panel.set(Panel::Details);
        }),
    )];
    match &key {
        Key::Wire(_) => entries.push(entry(strings::AGAIN.into(), Box::new(move || again(app)))),
        Key::Device(id) => {
            let sheets = app.session.peek(|document| reach(document, id).sheets);
            let ids = [id.clone(), id.clone()];
            let [here, gone] = ids.map(StoredValue::new);
            let own: [(String, Box<dyn Fn() + Send + Sync>); 3] = [
                (strings::ONCE_MORE.into(), Box::new(move || duplicate(app))),
                (
                    strings::REMOVE_HERE.into(),
                    Box::new(move || remove_here(app, here.get_value())),
                ),
                (
                    strings::delete_device(sheets),
                    Box::new(move || discard(app, gone.get_value())),
                ),
            ];
            entries.extend(own.map(|(word, act)| entry(word, act)));
        }
        _ => {}
    }
    if !matches!(key, Key::Device(_)) {
        entries.push(entry(strings::DELETE.into(), Box::new(move || delete(app))));
    }
    boxed(board, at, title, heading, entries.views().into_any())
}

/// The pins that a wire may end at, the nearest first.
pub fn pins(board: Board, at: (f64, f64), from: End, pins: Vec<End>) -> AnyView {
    let app = board.app();
    let from = StoredValue::new(from);
    let label = |end: &End| app.session.peek(|document| document.end_label(end));
    let entries = pins.into_iter().map(|end| {
        let name = label(&end);
        let chosen = move |_| {
            board.offered.set(None);
            let made =
                (app.session).peek(|document| edits::connect(document, &from.get_value(), &end));
            let wire = made.as_ref().ok().map(|(_, id)| Key::Wire(id.clone()));
            if (app.session).try_run(strings::DRAW_WIRE, made.map(|(change, _)| change)) {
                app.view.selection.set(wire.into_iter().collect());
            }
        };
        view! { <button role="menuitem" on:click=chosen>{name}</button> }
    });
    let entries: Vec<_> = entries.collect();
    let title = strings::WHICH_PIN.to_owned();
    boxed(board, at, title.clone(), title, entries.views().into_any())
}

/// A box of choices at a place of the surface. Esc closes it.
fn boxed(
    board: Board,
    (x, y): (f64, f64),
    title: String,
    heading: String,
    entries: AnyView,
) -> AnyView {
    let (wide, high) = board.app().view.size.get_untracked();
    let left = x.min(wide - MOST_PX.0).max(4.0);
    let top = y.min(high - MOST_PX.1).max(4.0);
    let away = move |event: ev::KeyboardEvent| {
        if event.key() == "Escape" {
            board.menu.set(None);
            board.offered.set(None);
            focus::focus("drawing");
        }
    };
    Effect::new(move |_| focus::focus("menu-here"));
    view! {
        <div
            id="menu-here"
            class="menu-here"
            role="menu"
            tabindex="-1"
            aria-label=title
            style=format!("left:{left:.0}px;top:{top:.0}px")
            on:keydown=away
        >
            <b>{heading}</b>
            {entries}
        </div>
    }
    .into_any()
}
