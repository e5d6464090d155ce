//! What is done to the selected records.

use leptos::prelude::*;
use loomwright_core::{
    edit::{self, Key},
    ids::DeviceId,
};

use super::{
    edits::{self, Deleted},
    take::take,
};
use crate::{App, strings, view::ToolKind};

/// Draws the selected wire again for the pins that follow its ends.
pub fn again(App { session, view, .. }: App) {
    let last = view
        .selection
        .with_untracked(|keys| keys.iter().last().cloned());
    let Some(Key::Wire(id)) = last else { return };
    let made = session.peek(|document| edit::repeat(document, &id));
    let drawn = made
        .as_ref()
        .ok()
        .and_then(|change| change.added().next().cloned());
    if session.try_run(strings::AGAIN, made)
        && let Some(key) = drawn
    {
        view.select(key);
    }
}

/// Deletes what is selected. Where a wired device would leave the aircraft it asks first: the same command once more,
/// while the question is still on the screen, is the answer.
pub fn delete(App { session, view, .. }: App) {
    let keys = view.selection.get_untracked();
    let Some(sheet) = view.sheet.get_untracked().filter(|_| !keys.is_empty()) else {
        return;
    };
    match session.peek(|document| edits::delete(document, &sheet, &keys)) {
        Ok(Deleted { asks, .. }) if !asks.is_empty() && !session.said_last(&asks) => {
            session.say(asks);
        }
        Ok(Deleted { change, said, .. }) => {
            session.run(strings::DELETE, change);
            view.select_none();
            if !said.is_empty() {
                session.say(said);
            }
        }
        Err(why) => session.say(why.to_string()),
    }
}

/// Removes a device from the open sheet. It stays in the aircraft.
pub fn remove_here(app: App, id: DeviceId) {
    let Some(sheet) = app.view.sheet.get_untracked() else {
        return;
    };
    let change =
        (app.session).peek(|document| edit::remove_shown(document, &sheet, &Key::Device(id)));
    if app.session.try_run(strings::REMOVE_HERE, change) {
        app.view.select_none();
    }
}

/// Deletes a device from the aircraft, whichever sheets show it.
pub fn discard(app: App, id: DeviceId) {
    let change = (app.session).peek(|document| edit::delete(document, &[Key::Device(id)]));
    if app.session.try_run(strings::DELETE_DEVICE, change) {
        app.view.select_none();
    }
}

/// Duplicates what is selected, with its wires.
pub fn duplicate(App { session, view, .. }: App) {
    let (sheet, keys) = (view.sheet.get_untracked(), view.selection.get_untracked());
    let keys: Vec<Key> = keys.into_iter().collect();
    let made = session.peek(|document| edits::duplicate(document, sheet.as_ref(), &keys));
    let new = made.as_ref().ok().map(|(change, open)| {
        let added = change.added().cloned();
        let devices = added.filter(|key| matches!(key, Key::Device(_))).collect();
        (devices, open.join(" · "))
    });
    let change = made.map(|(change, _)| change);
    if session.try_run(strings::ONCE_MORE, change)
        && let Some((devices, open)) = new
    {
        view.selection.set(devices);
        if !open.is_empty() {
            session.say(open);
        }
    }
}

/// Tidies what is selected on the open sheet.
pub fn tidy(App { session, view, .. }: App) {
    let (Some(sheet), keys) = (view.sheet.get_untracked(), view.selection.get_untracked()) else {
        return;
    };
    let made = session.peek(|document| edits::tidy(document, &sheet, &keys));
    session.try_run(strings::TIDY_CHOSEN, made);
}

/// Makes a cable of the selected wires.
pub fn make_cable(app: App, shielded: bool) {
    let App { session, view, .. } = app;
    let wires: Vec<_> = view.selection.with_untracked(|keys| {
        keys.iter()
            .filter_map(|key| match key {
                Key::Wire(id) => Some(id.clone()),
                _ => None,
            })
            .collect()
    });
    let made = session.peek(|document| edits::make_cable(document, &wires, shielded));
    match made {
        Ok((change, id)) => {
            session.run(strings::MAKE_CABLE, change);
            take(app, ToolKind::Select);
            view.select(Key::Cable(id));
        }
        Err(why) => session.say(why.to_string()),
    }
}
