//! What can be done with the ink of a sheet: shown once there is some, or a pen is in use.

use leptos::prelude::*;
use loomwright_core::{document::SheetInk, edit::hide_ink};

use crate::{
    strings,
    surface::Board,
    view::{InkHand, ToolKind},
    widgets::Given,
};

/// The buttons.
#[component]
pub fn InkButtons(
    /// The board they belong to.
    board: Board,
) -> impl IntoView {
    let app = board.app();
    let view = app.view;
    let of_sheet = move |read: fn(&SheetInk) -> bool| {
        let sheet = view.sheet.get();
        app.session.with(|document| {
            let found = sheet.as_ref().and_then(|id| document.sheets.get(id));
            found.is_some_and(|sheet| read(&sheet.ink))
        })
    };
    let is_hidden = Memo::new(move |_| of_sheet(|ink| ink.hidden));
    let has_ink = Memo::new(move |_| of_sheet(|ink| !ink.strokes.is_empty()));
    let hide = move |_| {
        let Some(sheet) = view.sheet.get_untracked() else {
            return;
        };
        let hidden = !is_hidden.get_untracked();
        let change = app
            .session
            .peek(|document| hide_ink(document, &sheet, hidden));
        app.session.try_run(word(hidden), change);
    };
    let hand = move |hand: InkHand, word: &'static str| {
        view! {
            <button
                aria-pressed=move || (view.ink.get() == hand).to_string()
                on:click=move |_| {
                    view.ink.update(|now| *now = if *now == hand { InkHand::Write } else { hand });
                }
            >
                {word}
            </button>
        }
    };
    let is_shown = move || {
        view.tool.get() == ToolKind::Select && (has_ink.get() || is_hidden.get() || board.pen.get())
    };
    view! {
        <Given when=is_shown>
            <div class="inks" role="group" aria-label=strings::INK>
                <Given when=move || has_ink.get() && !is_hidden.get()>
                    {hand(InkHand::Erase, strings::ERASE_INK)} {hand(InkHand::Move, strings::MOVE_INK)}
                </Given>
                <button on:click=hide>{move || word(!is_hidden.get())}</button>
            </div>
        </Given>
    }
}

fn word(hide: bool) -> &'static str {
    if hide {
        strings::HIDE_INK
    } else {
        strings::SHOW_INK
    }
}
