//! One item of a sheet at its place.

use super::{
    geometry::{LATTICE_MM, Point, Rect, pt, snap},
    outlines,
    pen::Outline,
    phase::Phase,
    scene::Group,
};
use crate::{
    document::{Document, Sheet, SheetItem, Shown},
    ids::ItemId,
};

/// An item at its place, drawn.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Placed {
    /// Shapes and pins, in millimeters of the sheet.
    pub outline: Outline,
    /// Its box, which wires go around.
    pub rect: Rect,
}

/// The shapes of one item, for instance while it is dragged. `None` if there is no such item or its record is not
/// in the document.
pub fn item_scene(document: &Document, sheet: &Sheet, item: &ItemId) -> Option<Group> {
    let item = sheet.items.get(item)?;
    let placed = place(document, sheet, item, None)?;
    Some(Group::new(placed.outline.shapes, label(document, item)))
}

/// The item snapped to the lattice. A position off the sheet, or one that is not a number, is moved back onto the
/// sheet, so that everything drawn can be selected.
pub(super) fn place(
    document: &Document,
    sheet: &Sheet,
    item: &SheetItem,
    phase: Option<&Phase>,
) -> Option<Placed> {
    let outline = outlines::outline(document, item, phase)?;
    let at = spot(sheet, item);
    let rect = Rect::new(at.x, at.y, outline.w_mm, outline.h_mm);
    let outline = if item.mirrored {
        outline.mirrored()
    } else {
        outline
    };
    Some(Placed {
        outline: outline.moved(at.x, at.y),
        rect,
    })
}

fn spot(sheet: &Sheet, item: &SheetItem) -> Point {
    let at = within(sheet, item.x_mm, item.y_mm);
    pt(snap(at.x), snap(at.y))
}

/// A point that is surely on the sheet.
pub(super) fn within(sheet: &Sheet, x_mm: f64, y_mm: f64) -> Point {
    let (w, h) = sheet.size.size_mm();
    let within = |mm: f64, most: f64| {
        if mm.is_finite() {
            mm.clamp(0.0, most)
        } else {
            0.0
        }
    };
    pt(
        within(x_mm, w - 4.0 * LATTICE_MM),
        within(y_mm, h - 4.0 * LATTICE_MM),
    )
}

/// The description of an item for screen readers.
pub(super) fn label(document: &Document, item: &SheetItem) -> String {
    match &item.shows {
        Shown::Device { device, .. } => document
            .devices
            .get(device)
            .map_or(String::new(), |d| format!("{}, {}", d.tag, d.title)),
        Shown::Splice(splice) => document
            .splices
            .get(splice)
            .map_or(String::new(), |s| format!("Splice {}", s.label)),
        Shown::Structure(place) => document
            .places
            .get(place)
            .map_or(String::new(), |p| format!("Structure, {}", p.title)),
    }
}
