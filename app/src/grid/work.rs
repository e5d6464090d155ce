//! What is done in the grid: choosing cells, typing, filling, copying.

use std::sync::Arc;

use leptos::{ev, html, prelude::*};
use loomwright_core::{
    document::ValueOrigin,
    edit::{
        self, Key,
        free::series,
        grid::{COLUMNS, put_block},
    },
    exchange::cells as block,
    ids::WireId,
    order::{Map, Sorted},
};

use super::{
    cells::Cells,
    choice::{Choice, chosen},
    list::{List, SortedBy, list, places},
};
use crate::{App, platform::grid as page, strings};

/// The grid's id on the page.
pub const GRID: &str = "wire-grid";
/// Key of the row for a new wire; no record has this key.
pub const NEW: &str = "";

/// What the parts of the grid share.
#[derive(Clone, Copy)]
pub struct Grid {
    /// The app.
    pub app: App,
    /// The rows.
    pub list: Memo<List>,
    /// By wire: its row.
    pub places: Memo<Arc<Map<WireId, usize>>>,
    own: RwSignal<Choice>,
    /// The cells chosen.
    pub chosen: Memo<Cells>,
    /// True while the input is over the cell that keys move.
    pub typing: RwSignal<bool>,
    /// True while a press stretches the choice, for screens without a Shift key.
    pub stretching: RwSignal<bool>,
    /// Why what was typed was refused.
    pub wrong: RwSignal<Vec<String>>,
    /// The input.
    pub input: NodeRef<html::Input>,
}

impl Grid {
    pub(super) fn new(
        app: App,
        of_sheet: bool,
        filter: RwSignal<String>,
        sorted_by: RwSignal<SortedBy>,
    ) -> Self {
        let list = list(app, of_sheet, filter, sorted_by);
        let places = places(list);
        let own = RwSignal::new(Choice::default());
        let grid = Self {
            app,
            list,
            places,
            own,
            chosen: chosen(app, own, places),
            typing: RwSignal::new(false),
            stretching: RwSignal::new(false),
            wrong: RwSignal::new(Vec::new()),
            input: NodeRef::new(),
        };
        // The cell that keys move stays in view.
        Effect::new(move |before: Option<Cells>| {
            let cells = grid.chosen.get();
            if before.unwrap_or_default() != cells {
                page::show(GRID, &grid.row_key(cells.at[0]), cells.at[1]);
            }
            cells
        });
        grid
    }

    /// The wire of a row; none for the row of a new one.
    fn wire(self, row: usize) -> Option<WireId> {
        let id = |list: &List| list.lines.get(row).map(|line| line.id.clone());
        self.list.with_untracked(id)
    }

    pub(super) fn row_key(self, row: usize) -> String {
        self.wire(row).map_or(NEW.into(), |id| id.to_string())
    }

    fn cell_text(self, row: usize, column: usize) -> String {
        let cell = |list: &List| Some(list.lines.get(row)?.cells.get(column)?.clone());
        self.list.with_untracked(cell).unwrap_or_default()
    }

    /// Chooses cells, and marks their wires on the drawing.
    fn choose(self, cells: Cells) {
        self.own.update(|own| own.choose(cells));
        let keys = cells.rows().filter_map(|row| self.wire(row)).map(Key::Wire);
        let keys: Sorted<Key> = keys.collect();
        if !keys.is_empty() && self.app.view.selection.with_untracked(|was| *was != keys) {
            self.app.view.selection.set(keys);
        }
    }

    pub(super) fn press(self, event: &ev::MouseEvent, shift: bool) {
        let Some((key, column)) = page::cell_of(event) else {
            return;
        };
        let row = match key.as_str() {
            NEW => Some(self.list.with_untracked(|list| list.lines.len())),
            key => self.places.with_untracked(|it| it.get(key).copied()),
        };
        let Some(row) = row else { return };
        let chosen = self.chosen.get_untracked();
        match shift || self.stretching.get_untracked() {
            true => self.choose(chosen.up_to(row, column)),
            // A second press on a cell types into it.
            false if chosen == Cells::one(row, column) => self.edit(None),
            false => self.choose(Cells::one(row, column)),
        }
    }

    pub(super) fn key(self, event: &ev::KeyboardEvent) {
        if self.typing.get_untracked() {
            return;
        }
        let (key, chosen) = (event.key(), self.chosen.get_untracked());
        let rows = self.list.with_untracked(|list| list.lines.len()) + 1;
        if event.ctrl_key() || event.meta_key() {
            if key == "d" {
                event.prevent_default();
                self.fill_down();
            }
            return;
        }
        match key.as_str() {
            "Enter" | "F2" => self.edit(None),
            "Delete" | "Backspace" => self.put(vec![vec![String::new()]], (strings::CLEARED, None)),
            // Tab leaves the grid at its ends, as everywhere on the page.
            "Tab" if chosen.moved(&key, event.shift_key(), rows, COLUMNS.len()) == Some(chosen) => {
                return;
            }
            key => match chosen.moved(key, event.shift_key(), rows, COLUMNS.len()) {
                Some(cells) => self.choose(cells),
                None if key.chars().count() == 1 && !event.alt_key() => self.edit(Some(key)),
                None => return,
            },
        }
        event.prevent_default();
    }

    /// Lays the input over the cell: with what it says, or with the first character typed.
    pub(super) fn edit(self, typed: Option<&str>) {
        let Some(input) = self.input.get_untracked() else {
            return;
        };
        let [row, column] = self.chosen.get_untracked().at;
        self.own.update(|own| own.choose(Cells::one(row, column)));
        self.typing.set(true);
        let text = typed.map_or_else(|| self.cell_text(row, column), str::to_owned);
        page::open(&input, GRID, &self.row_key(row), column, &text);
        if typed.is_some() {
            page::to_end(&input);
        }
    }

    pub(super) fn key_in_input(self, event: &ev::KeyboardEvent) {
        match event.key().as_str() {
            key @ ("Enter" | "Tab") => {
                event.prevent_default();
                self.commit(Some((key, event.shift_key())));
            }
            "Escape" => {
                event.prevent_default();
                self.stop_typing();
            }
            _ => {}
        }
    }

    /// Takes the input away. True if it lay over a cell.
    fn stop_typing(self) -> bool {
        let was = self.typing.get_untracked();
        self.typing.set(false);
        if was && let Some(input) = self.input.get_untracked() {
            page::close(&input, GRID);
        }
        was
    }

    /// Puts what was typed into the cell, and goes on to where the key leads.
    pub(super) fn commit(self, then: Option<(&str, bool)>) {
        let text = self.input.get_untracked().map(|input| input.value());
        if !self.stop_typing() {
            return;
        }
        let chosen = self.chosen.get_untracked();
        if let Some(text) = text
            && text.trim() != self.cell_text(chosen.at[0], chosen.at[1])
        {
            self.put(vec![vec![text]], (strings::TYPED, None));
        }
        let rows = self.list.with_untracked(|list| list.lines.len()) + 1;
        let next = then.and_then(|(key, shift)| chosen.moved(key, shift, rows, COLUMNS.len()));
        if let Some(cells) = next {
            self.choose(cells);
        }
    }

    /// Types a block into the chosen cells and below them; a smaller one is repeated over them.
    fn put(self, block: Vec<Vec<String>>, (label, origin): (&'static str, Option<ValueOrigin>)) {
        let chosen = self.chosen.get_untracked();
        let (wide, high) = (chosen.columns().len(), chosen.rows().len());
        let mut block = block;
        if let [row] = block.as_mut_slice() {
            if let [cell] = row.as_slice() {
                *row = vec![cell.clone(); wide];
            }
            block = vec![row.clone(); high];
        }
        let first = chosen.rows().start;
        let wires: Vec<_> = (first..first + block.len())
            .map(|row| self.wire(row))
            .collect();
        let made = (self.app.session)
            .peek(|document| put_block(document, &wires, chosen.columns().start, &block, origin));
        match made {
            Ok(change) => {
                self.wrong.set(Vec::new());
                self.app.session.run(label, change);
            }
            Err(errors) => self
                .wrong
                .set(errors.iter().map(ToString::to_string).collect()),
        }
    }

    fn column_texts(self, column: usize) -> Vec<String> {
        let rows = self.chosen.get_untracked().rows();
        rows.map(|row| self.cell_text(row, column)).collect()
    }

    pub(super) fn fill_down(self) {
        let chosen = self.chosen.get_untracked();
        let first = chosen.columns();
        let first: Vec<String> = first
            .map(|column| self.cell_text(chosen.rows().start, column))
            .collect();
        self.put(vec![first; chosen.rows().len()], (strings::FILL_DOWN, None));
    }

    /// Counts on from the first row, in the steps of the second if that holds something.
    pub(super) fn count_on(self) {
        let chosen = self.chosen.get_untracked();
        let columns: Vec<Vec<String>> = chosen
            .columns()
            .map(|column| {
                let texts = self.column_texts(column);
                let second = texts.get(1).filter(|text| **text != texts[0]);
                series(&texts[0], second.map(String::as_str), texts.len())
            })
            .collect();
        let row = |n: usize| columns.iter().map(|texts| texts[n].clone()).collect();
        let block = (0..chosen.rows().len()).map(row).collect();
        self.put(block, (strings::COUNT_ON, None));
    }

    pub(super) fn delete(self) {
        let rows = self.chosen.get_untracked().rows();
        let wires = rows.filter_map(|row| self.wire(row));
        let keys: Vec<Key> = wires.map(Key::Wire).collect();
        let made = self
            .app
            .session
            .peek(|document| edit::delete(document, &keys));
        self.app.session.try_run(strings::DELETE_WIRES, made);
    }

    pub(super) fn copy(self, event: &ev::ClipboardEvent) {
        let chosen = self.chosen.get_untracked();
        let row = |row| {
            let columns = chosen.columns();
            columns.map(|column| self.cell_text(row, column)).collect()
        };
        let cells: Vec<Vec<String>> = chosen.rows().map(row).collect();
        page::copy(event, &block::write(&cells));
    }

    pub(super) fn paste(self, event: &ev::ClipboardEvent) {
        if let Some(text) = page::pasted(event) {
            event.prevent_default();
            self.put(
                block::read(&text),
                (strings::PASTED, Some(ValueOrigin::Pasted)),
            );
        }
    }
}
