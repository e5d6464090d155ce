//! Paths stay still when something elsewhere moves: each thing on the sheets of both samples is moved a little, and
//! wires that come nowhere near it or its own wires should lie where they lay.

use loomwright_core::{
    document::Document,
    drawing::{self, Scene, geometry::Rect},
    ids::WireId,
};

use super::samples::{sorrel, teasel};

/// How far each thing is moved, to the right and down.
const MOVED_MM: f64 = 5.0;
/// What comes closer may have to make way, one wire after another. Our own figure.
const NEAR_MM: f64 = 10.0;
/// Of a thousand wires elsewhere, so many may come to lie otherwise. Our own figure.
const CHANGED_PER_MILLE: usize = 15;

/// The stretches of a wire.
fn stretches(scene: &Scene, wire: &WireId) -> Vec<Rect> {
    let lines = scene.paths.get(wire).into_iter().flatten();
    let pairs = lines.flat_map(|line| line.windows(2));
    pairs.map(|pair| Rect::around([pair[0], pair[1]])).collect()
}

#[test]
fn wires_elsewhere_stay_where_they_lie() {
    let (mut elsewhere, mut changed, mut own) = (0, 0, 0);
    for document in [sorrel(), teasel()] {
        for (id, sheet) in &document.sheets {
            let before = drawing::scene(&document, id);
            for (item, shown) in &sheet.items {
                let mut moved: Document = document.clone();
                let sheet = moved.sheets.get_mut(id).expect("it is there");
                let it = sheet.items.get_mut(item).expect("it is there");
                it.x_mm += MOVED_MM;
                it.y_mm += MOVED_MM;
                let after = drawing::scene(&moved, id);
                let scenes = [&before, &after];
                let is_own = |wire: &&WireId| {
                    let wire = &document.wires[*wire];
                    shown.shows_end(&wire.from) || shown.shows_end(&wire.to)
                };
                let wires = scenes.iter().flat_map(|scene| {
                    let own = scene.paths.keys().filter(is_own);
                    own.flat_map(|wire| stretches(scene, wire))
                });
                let boxes = scenes.iter().filter_map(|scene| scene.boxes.get(item));
                let touched: Vec<Rect> = wires
                    .chain(boxes.copied())
                    .map(|it| it.grown(NEAR_MM))
                    .collect();
                for wire in before.paths.keys() {
                    let lies = stretches(&before, wire);
                    let meets = |it: &Rect| touched.iter().any(|near| near.overlaps(*it));
                    if is_own(&wire) {
                        own += 1;
                    } else if !lies.iter().any(meets) {
                        elsewhere += 1;
                        changed += usize::from(lies != stretches(&after, wire));
                    }
                }
            }
        }
    }
    println!("{own} wires of what was moved; {elsewhere} elsewhere, of which {changed} changed");
    let still = 100.0 - 100.0 * changed as f64 / elsewhere as f64;
    crate::measured::keep("still", &format!("{still:.1} %"));
    assert!(elsewhere > 2_000, "hardly a wire is elsewhere");
    assert!(changed * 1_000 <= CHANGED_PER_MILLE * elsewhere);
}
