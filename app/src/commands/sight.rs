//! Moving the sheet on the screen.

use leptos::prelude::*;
use loomwright_core::{
    drawing::geometry::{Point, Rect},
    edit::Key,
};

use crate::{
    App,
    derived::{boxes::bounds_of, sight::open_sheet},
    view::camera::{Camera, READABLE},
};

/// Pixels kept between what must be seen and the edge.
const EDGE_PX: f64 = 24.0;

/// Moves the open sheet, keeping its paper on the screen.
pub fn look(app: App, camera: Camera) {
    let (w, h) = app.view.size.get_untracked();
    let scene = app.derived.scene;
    let paper = scene.with_untracked(|scene| (scene.width_mm, scene.height_mm));
    if let Some(sheet) = untrack(|| open_sheet(app.session, app.view)) {
        app.view.looked.update(|all| {
            all.insert(sheet, camera.kept(paper, w, h));
        });
    }
}

/// Zooms about the middle.
pub fn zoom(app: App, factor: f64) {
    let (w, h) = app.view.size.get_untracked();
    let camera = app.derived.camera.get_untracked();
    look(app, camera.zoomed(w / 2.0, h / 2.0, factor));
}

/// Shows the whole sheet.
pub fn fit(app: App) {
    let (w, h) = app.view.size.get_untracked();
    let scene = app.derived.scene;
    let paper = scene.with_untracked(|scene| Rect::new(0.0, 0.0, scene.width_mm, scene.height_mm));
    if w > 0.0 && paper.w > 0.0 {
        look(app, Camera::fitted(paper, w, h, READABLE * 1.5));
    }
}

/// Brings records into view: now, or once the drawing is on the page.
pub fn bring(app: App, keys: Vec<Key>) {
    let (w, h) = app.view.size.get_untracked();
    if w == 0.0 {
        app.view.awaited.set_value(keys);
        return;
    }
    if let Some(bounds) = bounds(app, &keys) {
        let scale = app.derived.camera.get_untracked().scale;
        let wide = Camera::fitted(bounds.grown(20.0), w, h, scale.max(READABLE));
        look(app, wide);
    }
}

/// The drawing has this size on the page, pixels. The panel takes room from it: what is selected stays in
/// sight.
pub fn measured(app: App, size: (f64, f64)) {
    let before = app.view.size.get_untracked();
    if before == size {
        return;
    }
    app.view.size.set(size);
    if before.0 > 0.0 {
        keep_in_sight(app);
    } else {
        // Once: whoever comes back to the room finds the sheet as it was left.
        let awaited = app.view.awaited.try_update_value(std::mem::take);
        bring(app, awaited.unwrap_or_default());
    }
}

/// The drawing goes off the page.
pub fn left(app: App) {
    app.view.size.set((0.0, 0.0));
}

/// Moves the sheet as little as brings the selected records into view.
fn keep_in_sight(app: App) {
    let selected = app.view.selection.get_untracked();
    let keys: Vec<Key> = selected.into_iter().collect();
    let Some(bounds) = bounds(app, &keys) else {
        return;
    };
    let (w, h) = app.view.size.get_untracked();
    let camera = app.derived.camera.get_untracked();
    let (left, top) = camera.to_screen(Point {
        x: bounds.x,
        y: bounds.y,
    });
    let (right, bottom) = camera.to_screen(Point {
        x: bounds.right(),
        y: bounds.bottom(),
    });
    let shift = |low: f64, high: f64, room: f64| {
        if high > room - EDGE_PX {
            (room - EDGE_PX - high).max(EDGE_PX - low)
        } else {
            (EDGE_PX - low).max(0.0)
        }
    };
    let (dx, dy) = (shift(left, right, w), shift(top, bottom, h));
    if (dx, dy) != (0.0, 0.0) {
        look(app, camera.panned(dx, dy));
    }
}

fn bounds(app: App, keys: &[Key]) -> Option<Rect> {
    let scene = app.derived.scene;
    scene.with_untracked(|scene| bounds_of(app, scene, keys))
}
