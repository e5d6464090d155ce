//! Where the open sheet is on the screen: where the person moved it, else where it begins.

use std::sync::Arc;

use leptos::prelude::*;
use loomwright_core::{
    drawing::{GroupKey, Scene, geometry::Rect},
    order::Map,
};

use crate::{
    session::Session,
    view::{
        View,
        camera::{Camera, READABLE, READABLE_LEAST},
    },
};

/// The camera of the open sheet.
pub fn camera(session: Session, view: View, scene: Memo<Arc<Scene>>) -> Memo<Camera> {
    camera_of(move || open_sheet(session, view), view, scene)
}

fn camera_of(
    open_sheet: impl Fn() -> Option<String> + Copy + Send + Sync + 'static,
    view: View,
    scene: Memo<Arc<Scene>>,
) -> Memo<Camera> {
    // A sheet stays where it began, whatever is drawn on it later.
    let begun = Memo::new(move |before: Option<&Map<String, Camera>>| {
        let mut begun = before.cloned().unwrap_or_default();
        let size = view.size.get();
        if let Some(sheet) = open_sheet()
            && size.0 > 0.0
            && !begun.contains_key(&sheet)
        {
            let camera = scene.with_untracked(|scene| beginning(scene, size));
            begun.insert(sheet, camera);
        }
        begun
    });
    Memo::new(move |_| {
        let Some(sheet) = open_sheet() else {
            return Camera::default();
        };
        let moved = view.looked.with(|all| all.get(&sheet).copied());
        let begun = || begun.with(|all| all.get(&sheet).copied());
        let camera = moved.or_else(begun).unwrap_or_default();
        match view.size.get() {
            (w, h) if w > 0.0 => camera.kept(scene.with(|it| (it.width_mm, it.height_mm)), w, h),
            _ => camera,
        }
    })
}

/// The key under which a view keeps where the open sheet is: that of the project, and that of the sheet.
pub fn open_sheet(session: Session, view: View) -> Option<String> {
    session.track_opened();
    let sheet = view.sheet.get()?;
    Some(format!("{}/{sheet}", session.id()))
}

/// What is drawn, large enough to be read, from its top left corner on.
fn beginning(scene: &Scene, (w, h): (f64, f64)) -> Camera {
    let drawn = scene
        .groups
        .iter()
        .filter(|(key, _)| !matches!(key, GroupKey::Frame | GroupKey::Legend))
        .map(|(_, group)| group.bounds)
        .reduce(Rect::union);
    let (wide, high) = (scene.width_mm, scene.height_mm);
    let drawn = drawn
        .unwrap_or_else(|| Rect::new(0.0, 0.0, wide, high))
        .grown(8.0);
    let whole = Camera::fitted(drawn, w, h, 1.5 * READABLE);
    let camera = if whole.scale >= READABLE_LEAST {
        whole
    } else {
        // On a tall screen as large as its height takes.
        let scale = (h / drawn.h.max(1.0)).clamp(READABLE_LEAST, READABLE);
        Camera {
            scale,
            x: -drawn.x * scale,
            y: -drawn.y * scale,
        }
    };
    camera.kept((wide, high), w, h)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use loomwright_core::drawing::Group;

    use super::*;

    /// A sheet of A3 with something drawn in this box, mm.
    fn scene(bounds: Rect) -> Scene {
        let mut scene = Scene::default();
        (scene.width_mm, scene.height_mm) = (420.0, 297.0);
        let group = Group {
            bounds,
            ..Group::new(Vec::new(), "")
        };
        scene.groups.insert(GroupKey::Note(0), Arc::new(group));
        scene
    }

    #[test]
    fn a_small_drawing_begins_whole_and_a_large_one_readable_from_its_corner() {
        let size = (800.0, 600.0);
        let small = beginning(&scene(Rect::new(40.0, 50.0, 60.0, 40.0)), size);
        assert!(small.scale >= READABLE_LEAST, "{small:?}");
        let middle = small.to_sheet(400.0, 300.0);
        assert!((middle.x - 70.0).abs() < 1e-9 && (middle.y - 70.0).abs() < 1e-9);
        let large = beginning(&scene(Rect::new(20.0, 10.0, 380.0, 270.0)), size);
        assert!(
            (READABLE_LEAST..=READABLE).contains(&large.scale),
            "{large:?}"
        );
        let corner = large.to_sheet(0.0, 0.0);
        assert!((corner.x - 12.0).abs() < 1e-9 && (corner.y - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_sheet_stays_where_it_began_or_was_moved_whatever_is_drawn_later() {
        let owner = Owner::new();
        owner.with(|| {
            let view = View::new();
            let open = RwSignal::new(None::<String>);
            let drawn = RwSignal::new(Arc::new(Scene::default()));
            let scene = Memo::new(move |_| drawn.get());
            let camera = camera_of(move || open.get(), view, scene);
            assert_eq!(camera.get_untracked(), Camera::default());
            let (small, large) = (
                Rect::new(40.0, 50.0, 60.0, 40.0),
                Rect::new(20.0, 10.0, 380.0, 270.0),
            );
            drawn.set(Arc::new(self::scene(small)));
            open.set(Some("p/s1".into()));
            // Nothing begins before the drawing is on the page.
            assert_eq!(camera.get_untracked(), Camera::default());
            view.size.set((800.0, 600.0));
            let began = camera.get_untracked();
            assert_ne!(began, Camera::default());
            // Drawing on does not move it; nor does the panel that takes room.
            drawn.set(Arc::new(self::scene(large)));
            view.size.set((500.0, 600.0));
            assert_eq!(camera.get_untracked(), began);
            // Another sheet begins by itself, and the first is as it was left.
            open.set(Some("p/s2".into()));
            let second = camera.get_untracked();
            assert_ne!(second, began);
            let moved = second.panned(-30.0, -20.0);
            view.looked.update(|all| {
                all.insert("p/s2".into(), moved);
            });
            assert_eq!(camera.get_untracked(), moved);
            open.set(Some("p/s1".into()));
            assert_eq!(camera.get_untracked(), began);
            // Off the page and back on it.
            view.size.set((0.0, 0.0));
            open.set(Some("p/s2".into()));
            view.size.set((800.0, 600.0));
            assert_eq!(camera.get_untracked(), moved);
        });
    }
}
