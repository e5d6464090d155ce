//! Operating switches and breakers by hand: moves over the chosen state, kept only if the person
//! says so.

use leptos::prelude::*;
use loomwright_core::document::{ElementKind, State, Switch};

use crate::{App, view::Moves};

/// Throws the switch to its next position, or pulls the breaker or pushes it back in.
pub fn operate(app: App, key: &str) {
    let base = base_state(app);
    let now = app.derived.state.get_untracked();
    let moved = app.session.peek(|document| {
        let (_, _, element) = document.element_at(key)?;
        let mut moves = app.view.moves.get_untracked();
        match &element.is {
            ElementKind::Switch(switch) => {
                let next = (now.position(key, switch.rest) + 1) % switch.positions.len().max(1);
                set_switch(&mut moves, &base, key, switch, next);
            }
            ElementKind::Protector(_) => {
                let pulled = !now.pulled.iter().any(|there| there == key);
                set_pulled(&mut moves, &base, key, pulled);
            }
            _ => return None,
        }
        Some(moves)
    });
    if let Some(moves) = moved {
        app.view.moves.set(moves);
    }
}

/// Throws a switch to one of its positions.
pub fn throw(app: App, key: &str, to: usize) {
    let base = base_state(app);
    app.session.peek(|document| {
        if let Some((_, _, element)) = document.element_at(key)
            && let ElementKind::Switch(switch) = &element.is
        {
            app.view
                .moves
                .update(|moves| set_switch(moves, &base, key, switch, to));
        }
    });
}

fn base_state(app: App) -> State {
    let id = app.view.state.get_untracked();
    app.session
        .peek(|document| id.and_then(|id| document.states.get(&id).cloned()))
        .unwrap_or_default()
}

/// A switch put back where the state has it is no move any more.
fn set_switch(moves: &mut Moves, base: &State, key: &str, switch: &Switch, to: usize) {
    if base.position(key, switch.rest) == to {
        moves.switches.remove(key);
    } else {
        moves.switches.insert(key.to_owned(), to);
    }
}

fn set_pulled(moves: &mut Moves, base: &State, key: &str, pulled: bool) {
    if base.pulled.iter().any(|there| there == key) == pulled {
        moves.pulled.remove(key);
    } else {
        moves.pulled.insert(key.to_owned(), pulled);
    }
}
