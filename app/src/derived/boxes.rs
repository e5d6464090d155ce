//! Where records are on the open sheet.

use leptos::prelude::*;
use loomwright_core::{
    document::Shown,
    drawing::{GroupKey, Scene, geometry::Rect},
    edit::Key,
};

use super::app::App;

/// The boxes in which a record is shown on this sheet.
pub fn rects_of(app: App, scene: &Scene, key: &Key) -> Vec<Rect> {
    let group = |key: GroupKey| scene.groups.get(&key).map(|group| group.bounds);
    match key {
        Key::Wire(id) => group(GroupKey::Wire(id.clone())).into_iter().collect(),
        Key::Cable(id) => group(GroupKey::Cable(id.clone())).into_iter().collect(),
        Key::Device(_) | Key::Splice(_) | Key::Place(_) => {
            let Some(sheet) = app.view.sheet.get_untracked() else {
                return Vec::new();
            };
            app.session.peek(|document| {
                let items = document.sheets.get(&sheet).map(|sheet| &sheet.items);
                items
                    .into_iter()
                    .flatten()
                    .filter(|(_, item)| match (&item.shows, key) {
                        (Shown::Device { device, .. }, Key::Device(id)) => device == id,
                        (Shown::Splice(splice), Key::Splice(id)) => splice == id,
                        (Shown::Structure(place), Key::Place(id)) => place == id,
                        _ => false,
                    })
                    .filter_map(|(id, _)| scene.boxes.get(id).copied())
                    .collect()
            })
        }
        _ => Vec::new(),
    }
}

/// A box around all of these records on this sheet.
pub fn bounds_of(app: App, scene: &Scene, keys: &[Key]) -> Option<Rect> {
    keys.iter()
        .flat_map(|key| rects_of(app, scene, key))
        .reduce(Rect::union)
}
