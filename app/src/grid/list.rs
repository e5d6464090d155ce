//! The rows of the grid, in an order that lasts while they are typed into.

use loomwright_core::order::InOrder;
use std::sync::Arc;

use leptos::prelude::*;
use loomwright_core::{
    document::{End, Sheet, Wire, folded, natural_cmp},
    edit::grid::{COLUMNS, text},
    ids::{SheetId, WireId},
    order::Map,
};

use crate::App;

/// One row.
#[derive(Clone, PartialEq)]
pub struct Line {
    /// The wire.
    pub id: WireId,
    /// What its cells say.
    pub cells: Vec<String>,
}

/// The column to sort by, and how many presses on headings it took.
pub type SortedBy = (usize, u32);

/// The rows, and what list they are of.
#[derive(Clone, Default, PartialEq)]
pub struct List {
    sheet: Option<SheetId>,
    filter: String,
    sorted_by: SortedBy,
    /// The rows.
    pub lines: Vec<Line>,
}

/// The rows of the project, or of the open sheet alone.
pub fn list(
    app: App,
    of_sheet: bool,
    filter: RwSignal<String>,
    sorted_by: RwSignal<SortedBy>,
) -> Memo<List> {
    // Rows stay where they are, and stay at all, while they are typed into: only a press on a heading
    // sorts, and only another sheet or another filter takes away what no longer fits.
    Memo::new(move |before: Option<&List>| {
        let sheet = app.view.sheet.get().filter(|_| of_sheet);
        let wanted = folded(&filter.get());
        let by = sorted_by.get();
        let before = before.filter(|it| (&it.sheet, &it.filter) == (&sheet, &wanted));
        let rows = before.iter().flat_map(|it| it.lines.iter().enumerate());
        let place: Map<WireId, usize> = rows.map(|(n, line)| (line.id.clone(), n)).collect();
        let mut all: Vec<Line> = app.session.with(|document| {
            let sheet = sheet.as_ref().and_then(|id| document.sheets.get(id));
            // A wire that runs nowhere yet is on no sheet; it may have been made here.
            let nowhere = |wire: &Wire| wire.from == End::Open && wire.to == End::Open;
            let is_shown = |wire: &Wire| {
                let on = |sheet: &Sheet| sheet.shows(&wire.from) || sheet.shows(&wire.to);
                sheet.is_none_or(|sheet| on(sheet) || nowhere(wire))
            };
            let line = |(id, wire): (&WireId, &Wire)| {
                let stays = place.contains_key(id);
                if !stays && !is_shown(wire) {
                    return None;
                }
                let cells = (0..COLUMNS.len()).map(|at| text(document, wire, at));
                let line = Line {
                    id: id.clone(),
                    cells: cells.collect(),
                };
                let mut cells = line.cells.iter();
                let fits =
                    stays || wanted.is_empty() || cells.any(|cell| folded(cell).contains(&wanted));
                fits.then_some(line)
            };
            document.wires.iter().filter_map(line).collect()
        });
        all.order_by(|a, b| natural_cmp(&a.cells[by.0], &b.cells[by.0]));
        if before.is_some_and(|it| it.sorted_by == by) {
            // What is new comes last.
            let of = |line: &Line| place.get(&line.id).copied().unwrap_or(usize::MAX);
            all.order_by_key(of);
        }
        List {
            sheet,
            filter: wanted,
            sorted_by: by,
            lines: all,
        }
    })
}

/// The row of each wire.
pub fn places(list: Memo<List>) -> Memo<Arc<Map<WireId, usize>>> {
    Memo::new(move |_| {
        let place = |(n, line): (usize, &Line)| (line.id.clone(), n);
        list.with(|list| Arc::new(list.lines.iter().enumerate().map(place).collect()))
    })
}
