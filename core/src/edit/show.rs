//! A splice that an edit makes gets its place on the sheets that show its wires.

use super::{
    Change, Key,
    sheets::{SheetPoint, put_item},
};
use crate::{
    document::{Document, End, Extra, Sheet, SheetItem, Shown},
    ids::{SheetId, SpliceId},
};

/// Width and height of an item as drawn, mm.
pub type SizeMm = fn(&Document, &SheetItem) -> (f64, f64);

/// Grid that a splice is put on, mm.
const GRID_MM: f64 = 2.5;
/// Paper left free around it, for its name and its wires, mm.
const ROOM_MM: f64 = 5.0;
/// Edge of the paper that stays free, mm.
const EDGE_MM: f64 = 15.0;
/// Width and height of the title block at the lower right, mm (ISO 7200: at most 180 mm wide; the height is that of
/// ours).
const BLOCK_MM: (f64, f64) = (180.0, 45.0);
/// Rings of the grid that are searched around the middle of its wires.
const RINGS: i32 = 60;

/// A change, together with items that show each splice that it adds on the sheets of its wires: between their ends,
/// where the paper is free. `size_mm` gives the drawn size of an item.
#[must_use]
pub fn show_splices(document: &Document, change: &Change, size_mm: SizeMm) -> Change {
    let Ok(made) = change.applied(document) else {
        return change.clone();
    };
    let mut shown = made.clone();
    for key in change.added() {
        let Key::Splice(id) = key else { continue };
        let is_shown = |sheet: &Sheet| sheet.shows(&End::Splice(id.clone()));
        if made.sheets.values().any(is_shown) {
            continue;
        }
        for spot in spots(&shown, id, size_mm) {
            // The sheet exists: its positions were found on it.
            let _ = put_item(&mut shown, &spot, Shown::Splice(id.clone()));
        }
    }
    change.clone().then(&Change::between(&made, &shown))
}

/// Where a splice goes: on each sheet that shows two of the places that its wires go to, or on the first that shows
/// one.
fn spots(document: &Document, id: &SpliceId, size_mm: SizeMm) -> Vec<SheetPoint> {
    let splice = End::Splice(id.clone());
    let far = document.wires.values().filter_map(|wire| {
        let ends = [(&wire.from, &wire.to), (&wire.to, &wire.from)];
        ends.into_iter()
            .find_map(|(near, far)| (*near == splice).then_some(far))
    });
    let far: Vec<&End> = far.collect();
    let mut found: Vec<(usize, &SheetId, (f64, f64))> = Vec::new();
    for (sheet_id, sheet) in &document.sheets {
        let middles = far
            .iter()
            .filter_map(|end| middle_of(document, sheet, end, size_mm));
        let middles: Vec<(f64, f64)> = middles.collect();
        if !middles.is_empty() {
            let n = middles.len() as f64;
            let sum = middles
                .iter()
                .fold((0.0, 0.0), |sum, it| (sum.0 + it.0, sum.1 + it.1));
            found.push((middles.len(), sheet_id, (sum.0 / n, sum.1 / n)));
        }
    }
    let shows_two = found.iter().any(|(n, ..)| *n > 1);
    match shows_two {
        true => found.retain(|(n, ..)| *n > 1),
        false => found.truncate(1),
    }
    let spot = |(_, sheet, middle): (usize, &SheetId, (f64, f64))| {
        let (x_mm, y_mm) = free_near(document, sheet, id, middle, size_mm);
        SheetPoint {
            sheet: sheet.clone(),
            x_mm,
            y_mm,
        }
    };
    found.into_iter().map(spot).collect()
}

/// The middle of the item that shows an end.
fn middle_of(document: &Document, sheet: &Sheet, end: &End, size_mm: SizeMm) -> Option<(f64, f64)> {
    let item = sheet.items.values().find(|item| item.shows_end(end))?;
    let (w_mm, h_mm) = size_mm(document, item);
    Some((item.x_mm + w_mm / 2.0, item.y_mm + h_mm / 2.0))
}

/// The spot nearest to a point on which a splice covers no other item; the point itself if there is none.
fn free_near(
    document: &Document,
    sheet: &SheetId,
    id: &SpliceId,
    middle: (f64, f64),
    size_mm: SizeMm,
) -> (f64, f64) {
    let Some(sheet) = document.sheets.get(sheet) else {
        return middle;
    };
    let item = SheetItem {
        shows: Shown::Splice(id.clone()),
        x_mm: 0.0,
        y_mm: 0.0,
        mirrored: false,
        extra: Extra::new(),
    };
    let (w_mm, h_mm) = size_mm(document, &item);
    let (paper_w, paper_h) = sheet.size.size_mm();
    let taken: Vec<[f64; 4]> = (sheet.items.values())
        .map(|item| {
            let (w_mm, h_mm) = size_mm(document, item);
            [item.x_mm, item.y_mm, item.x_mm + w_mm, item.y_mm + h_mm]
        })
        .chain([[paper_w - BLOCK_MM.0, paper_h - BLOCK_MM.1, paper_w, paper_h]])
        .collect();
    let is_free = |(x, y): (f64, f64)| {
        let (left, top) = (x - ROOM_MM, y - ROOM_MM);
        let (right, bottom) = (x + w_mm + ROOM_MM, y + h_mm + ROOM_MM);
        left >= EDGE_MM
            && top >= EDGE_MM
            && right <= paper_w - EDGE_MM
            && bottom <= paper_h - EDGE_MM
            && taken
                .iter()
                .all(|it| it[2] <= left || it[0] >= right || it[3] <= top || it[1] >= bottom)
    };
    let on_grid = |mm: f64| (mm / GRID_MM).round() * GRID_MM;
    let start = (
        on_grid(middle.0 - w_mm / 2.0),
        on_grid(middle.1 - h_mm / 2.0),
    );
    let at = |dx: i32, dy: i32| {
        (
            start.0 + f64::from(dx) * GRID_MM,
            start.1 + f64::from(dy) * GRID_MM,
        )
    };
    (0..=RINGS)
        .flat_map(|ring| {
            (-ring..=ring).flat_map(move |dx| (-ring..=ring).map(move |dy| (ring, dx, dy)))
        })
        .filter(|(ring, dx, dy)| dx.abs().max(dy.abs()) == *ring)
        .map(|(_, dx, dy)| at(dx, dy))
        .find(|spot| is_free(*spot))
        .unwrap_or(start)
}
