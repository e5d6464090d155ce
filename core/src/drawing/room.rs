//! Room for items that are moved or added: on the paper, and on nothing else.

use super::{
    compose::place_items,
    frame,
    geometry::{LATTICE_MM, Rect},
};
use crate::order::InOrder;
use crate::{
    document::{Document, SheetSize},
    ids::{ItemId, SheetId},
    order::Map,
};

/// How far around the wanted position free room is searched, lattice steps.
const REACH: i32 = 60;

/// The boxes of the items of a sheet, as they are drawn.
pub fn boxes(document: &Document, sheet: &SheetId) -> Map<ItemId, Rect> {
    let Some(sheet) = document.sheets.get(sheet) else {
        return Map::new();
    };
    let placed = place_items(document, sheet, None).into_iter();
    placed
        .map(|(id, placed)| (id.clone(), placed.rect))
        .collect()
}

/// The boxes of the items that move, and those of the others.
pub fn moving_and_others(boxes: &Map<ItemId, Rect>, items: &[ItemId]) -> [Vec<Rect>; 2] {
    let of = |moves: bool| {
        let boxes = boxes.iter().filter(|(id, _)| items.contains(id) == moves);
        boxes.map(|(_, rect)| *rect).collect()
    };
    [of(true), of(false)]
}

/// A movement, mm, cut short where these boxes would leave the border of the paper.
pub fn within_paper(size: SheetSize, moving: &[Rect], by_mm: (f64, f64)) -> (f64, f64) {
    let Some(all) = moving.iter().copied().reduce(Rect::union) else {
        return by_mm;
    };
    let paper = paper(size);
    // An item larger than the paper stays at its upper left.
    let cut = |by: f64, low: f64, high: f64| by.min(steps_down(high)).max(-steps_down(-low));
    (
        cut(by_mm.0, paper.x - all.x, paper.right() - all.right()),
        cut(by_mm.1, paper.y - all.y, paper.bottom() - all.bottom()),
    )
}

/// The movement nearest to the wanted one, mm, that puts these boxes on the paper, clear of the others and of the
/// title block. If there is no room, only the paper counts.
pub fn clear_of_others(
    size: SheetSize,
    moving: &[Rect],
    others: &[Rect],
    by_mm: (f64, f64),
) -> (f64, f64) {
    let wanted = within_paper(size, moving, by_mm);
    if is_clear(size, moving, others, wanted) {
        return wanted;
    }
    let mut steps: Vec<(i32, i32)> = (-REACH..=REACH)
        .flat_map(|x| (-REACH..=REACH).map(move |y| (x, y)))
        .collect();
    steps.order_by_key(|(x, y)| (x * x + y * y, *x, *y));
    let by = |(x, y): (i32, i32)| {
        let mm = |steps: i32| f64::from(steps) * LATTICE_MM;
        (wanted.0 + mm(x), wanted.1 + mm(y))
    };
    let mut all = steps.into_iter().map(by);
    all.find(|by| is_clear(size, moving, others, *by))
        .unwrap_or(wanted)
}

/// The least whole number of steps, mm, after which these boxes stand on the paper, on none of the others
/// and not on the title block; nothing if there is no such place before the edge of the paper.
pub fn clear_in_steps(
    size: SheetSize,
    moving: &[Rect],
    others: &[Rect],
    step_mm: (f64, f64),
) -> Option<(f64, f64)> {
    let by = |steps: i32| (step_mm.0 * f64::from(steps), step_mm.1 * f64::from(steps));
    let mut on_paper = (1..=REACH)
        .map(by)
        .take_while(|by| within_paper(size, moving, *by) == *by);
    on_paper.find(|by| is_free(size, moving, others, *by))
}

/// True if boxes moved by so much, mm, stand on the paper, on none of the others and not on the title block.
fn is_clear(size: SheetSize, moving: &[Rect], others: &[Rect], by_mm: (f64, f64)) -> bool {
    within_paper(size, moving, by_mm) == by_mm && is_free(size, moving, others, by_mm)
}

/// True if boxes moved by so much, mm, overlap none of the others and not the title block.
fn is_free(size: SheetSize, moving: &[Rect], others: &[Rect], by_mm: (f64, f64)) -> bool {
    let (w, h) = size.size_mm();
    let block = frame::block(w, h);
    let mut moved = moving
        .iter()
        .map(|it| it.moved(by_mm.0, by_mm.1).grown(-0.1));
    moved.all(|it| {
        let mut all = others.iter().chain([&block]);
        all.all(|other| !it.overlaps(*other))
    })
}

fn paper(size: SheetSize) -> Rect {
    let (w, h) = size.size_mm();
    Rect::new(0.0, 0.0, w, h).grown(-frame::MARGIN_MM)
}

/// The number of complete lattice steps in a length, mm.
fn steps_down(mm: f64) -> f64 {
    (mm / LATTICE_MM + 1e-6).floor() * LATTICE_MM
}

#[cfg(test)]
mod tests {
    use super::*;

    const A4: SheetSize = SheetSize::A4;

    fn device(x: f64, y: f64) -> Rect {
        Rect::new(x, y, 30.0, 20.0)
    }

    #[test]
    fn a_device_is_stopped_at_the_edge_of_the_paper() {
        let moving = [device(100.0, 100.0)];
        for by in [(-500.0, 0.0), (500.0, 0.0), (0.0, -500.0), (0.0, 500.0)] {
            let cut = within_paper(A4, &moving, by);
            let rect = moving[0].moved(cut.0, cut.1);
            let paper = paper(A4);
            assert_eq!(rect.union(paper), paper, "{by:?}");
            let rest = [cut.0 / LATTICE_MM, cut.1 / LATTICE_MM];
            assert!(
                rest.iter().all(|it| (it - it.round()).abs() < 1e-6),
                "{cut:?}"
            );
        }
        assert_eq!(within_paper(A4, &moving, (10.0, -5.0)), (10.0, -5.0));
    }

    #[test]
    fn a_device_dropped_on_another_goes_to_the_nearest_free_place() {
        let moving = [device(20.0, 20.0)];
        let other = [device(100.0, 100.0)];
        let by = clear_of_others(A4, &moving, &other, (82.5, 70.0));
        let rect = moving[0].moved(by.0, by.1);
        assert!(!rect.grown(-0.1).overlaps(other[0]), "{rect:?}");
        assert_eq!(by, (82.5, 60.0), "just above it");
        let free = clear_of_others(A4, &moving, &other, (10.0, 50.0));
        assert_eq!(free, (10.0, 50.0));
        // No device is placed on the title block either.
        let (w, h) = A4.size_mm();
        let by = clear_of_others(A4, &moving, &[], (500.0, 500.0));
        let rect = moving[0].moved(by.0, by.1);
        assert!(!rect.grown(-0.1).overlaps(frame::block(w, h)), "{rect:?}");
    }
    #[test]
    fn a_step_goes_over_another_device_and_ends_at_the_edge_of_the_paper() {
        let moving = [device(20.0, 20.0)];
        let right = (LATTICE_MM, 0.0);
        let free = clear_in_steps(A4, &moving, &[], right);
        assert_eq!(free, Some(right));
        let beside = [device(50.0, 20.0)];
        let (x, y) = clear_in_steps(A4, &moving, &beside, right).expect("there is room behind it");
        assert!(x >= 60.0 - 0.1 && y == 0.0, "{x} {y}");
        let edge = within_paper(A4, &moving, (-500.0, 0.0));
        let there = [moving[0].moved(edge.0, edge.1)];
        assert_eq!(clear_in_steps(A4, &there, &[], (-LATTICE_MM, 0.0)), None);
    }
}
