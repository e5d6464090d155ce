//! The settings of a phase: switches, breakers, loads.

use super::{Change, EditError, Key, Record};
use crate::order::InOrder;
use crate::{
    document::{Document, ElementKind, LoadUse, State},
    ids::StateId,
};

/// Puts a switch, named `DEVICE/ELEMENT`, in a position. In its rest position the state need not
/// mention it, and doesn't.
pub fn set_switch(
    document: &Document,
    state: &StateId,
    key: &str,
    position: usize,
) -> Result<Change, EditError> {
    let Some(ElementKind::Switch(switch)) = element(document, key) else {
        return Err(EditError::not_there("switch", key));
    };
    if position >= switch.positions.len() {
        return Err(EditError::cannot(
            format!("the switch has no position {position}"),
            "choose one of its positions",
        ));
    }
    let is_rest = position == switch.rest;
    on_state(document, state, |state| {
        if is_rest {
            state.switches.remove(key);
        } else {
            state.switches.insert(key.into(), position);
        }
    })
}

/// Pulls a breaker, or takes a fuse out, named `DEVICE/ELEMENT`.
pub fn pull_breaker(document: &Document, state: &StateId, key: &str) -> Result<Change, EditError> {
    protector(document, key)?;
    on_state(document, state, |state| {
        if !state.pulled.iter().any(|pulled| pulled == key) {
            state.pulled.push(key.into());
            state.pulled.order();
        }
    })
}

/// Pushes a breaker in, or puts a fuse back, named `DEVICE/ELEMENT`.
pub fn push_breaker(document: &Document, state: &StateId, key: &str) -> Result<Change, EditError> {
    protector(document, key)?;
    on_state(document, state, |state| {
        state.pulled.retain(|pulled| pulled != key);
    })
}

/// Sets how much a load, named `DEVICE/ELEMENT`, draws in a phase; `None` for its usual current.
pub fn set_load_use(
    document: &Document,
    state: &StateId,
    key: &str,
    load: Option<LoadUse>,
) -> Result<Change, EditError> {
    if !matches!(element(document, key), Some(ElementKind::Load(_))) {
        return Err(EditError::not_there("load", key));
    }
    on_state(document, state, |state| match load {
        Some(load) => drop(state.loads.insert(key.into(), load)),
        None => drop(state.loads.remove(key)),
    })
}

fn element<'d>(document: &'d Document, key: &str) -> Option<&'d ElementKind> {
    document.element_at(key).map(|(_, _, element)| &element.is)
}

fn protector(document: &Document, key: &str) -> Result<(), EditError> {
    match element(document, key) {
        Some(ElementKind::Protector(_)) => Ok(()),
        _ => Err(EditError::not_there("breaker or fuse", key)),
    }
}

fn on_state(
    document: &Document,
    id: &StateId,
    edit: impl FnOnce(&mut State),
) -> Result<Change, EditError> {
    let state = document.states.get(id);
    let mut state = state
        .ok_or_else(|| EditError::not_there("state", id))?
        .clone();
    edit(&mut state);
    let key = Key::State(id.clone());
    Ok(Change::set(document, key, Some(Record::State(state))))
}
