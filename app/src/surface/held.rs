//! What waiting does: a finger that rests on something opens its menu, since not every browser reports that by
//! itself, and a pen that is away for long is put down.

use std::time::Duration;

use leptos::prelude::*;

use super::{
    board::{Board, Held},
    gestures::{Gestures, Kind, Pointer},
};
use crate::{platform::clock, view::ToolKind};

/// How long a finger rests on something before its menu opens (common practice, no source).
const REST: Duration = Duration::from_millis(500);
/// Pixels a finger that rests may tremble.
const SLOP_PX: f64 = 8.0;

/// A pointer has gone down; `grip` is true if there is something under it.
pub fn begin(board: Board, at: Pointer, grip: bool) {
    stop(board);
    // With other tools a finger aims, and takes its time.
    let selects = board.app().view.tool.get_untracked() == ToolKind::Select;
    if at.kind != Kind::Touch || !grip || !selects {
        return;
    }
    let rested = move || {
        if drop_begun(board) {
            board.show_menu(at.x, at.y);
        }
    };
    let timer = set_timeout_with_handle(rested, REST).ok();
    (board.held).set_value(timer.map(|timer| Held { at, timer }));
}

/// A pointer moves: a finger that leaves its place does not rest.
pub fn moved(board: Board, to: Pointer) {
    let left = |held: Held| (to.x - held.at.x).hypot(to.y - held.at.y) > SLOP_PX;
    if board.held.get_value().is_some_and(left) {
        stop(board);
    }
}

/// No finger rests any more.
pub fn stop(board: Board) {
    let held = board.held.try_update_value(Option::take);
    if let Some(Some(held)) = held {
        held.timer.clear();
    }
}

/// Drops what a pointer that rests has begun. False if none rests.
pub fn drop_begun(board: Board) -> bool {
    stop(board);
    let acts = board.gestures(Gestures::hold).flatten();
    acts.map(|acts| board.obey(acts)).is_some()
}

/// Shows that a pen is in use, until it is not.
pub fn watch_pen(board: Board) {
    if !board.pen.get_untracked() {
        look_for_pen(board);
    }
}

fn look_for_pen(board: Board) {
    // The board may be gone with its room.
    let Some(left_ms) = board.gestures(|gestures| gestures.pen_left_ms(clock::now_ms())) else {
        return;
    };
    if board.pen.get_untracked() != left_ms.is_some() {
        board.pen.set(left_ms.is_some());
    }
    if let Some(left_ms) = left_ms {
        let rest = Duration::from_secs_f64(left_ms / 1_000.0 + 0.1);
        set_timeout(move || look_for_pen(board), rest);
    }
}
