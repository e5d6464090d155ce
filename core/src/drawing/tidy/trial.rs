//! A copy of the project in which arrangements are tried.

use crate::{
    document::{Document, SheetItem},
    drawing::{compose, geometry::LATTICE_MM, measure},
    ids::{ItemId, SheetId},
};

/// What a crossing costs, in the units of the router, where a bend costs 100.
const CROSSING: u64 = 160;
/// What a text on something costs, in the same units.
const UNREADABLE: u64 = 400;

/// A copy of the project in which items of one sheet are moved.
pub(super) struct Trial {
    pub(super) document: Document,
    pub(super) sheet: SheetId,
    /// The items that are placed, in the order of the arrangement.
    pub(super) ids: Vec<ItemId>,
}

impl Trial {
    /// Puts items where an arrangement has them.
    pub(super) fn put(&mut self, items: &[SheetItem]) {
        if let Some(sheet) = self.document.sheets.get_mut(&self.sheet) {
            for (id, item) in self.ids.iter().zip(items) {
                sheet.items.insert(id.clone(), item.clone());
            }
        }
    }

    /// What the wires cost where the items are, laid in a moment.
    pub(super) fn rough(&self) -> u64 {
        let cost = compose::rough(&self.document, &self.sheet);
        cost.paths + CROSSING * cost.crossings + UNREADABLE * cost.unclear
    }

    /// What the sheet costs as it would be drawn.
    pub(super) fn careful(&self) -> u64 {
        let scene = compose::scene(&self.document, &self.sheet);
        let it = measure::measure(&self.document, &self.sheet, &scene);
        let length = (it.length_mm / LATTICE_MM).round() as u64;
        let small = (it.texts_on + it.close) as u64;
        CROSSING * it.crossings as u64 + 100 * it.bends as u64 + 2 * length + UNREADABLE * small
    }
}
