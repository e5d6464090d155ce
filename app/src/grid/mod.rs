//! The wire list as a grid: a row a wire, typed into like a spreadsheet, live on the same records as
//! the drawing.

pub mod cells;

use std::sync::Arc;

use leptos::{ev, html, prelude::*};
use loomwright_core::{
    document::{Document, End, Sheet, Wire, folded, natural_cmp},
    edit::{
        self, Key,
        grid::{COLUMNS, put_block, series, text},
    },
    exchange::cells as block,
    ids::{SheetId, WireId},
    order::{self, Map},
    units::Gauge,
};

use self::cells::Cells;
use crate::{
    App, app,
    commands::go_to,
    platform::grid as page,
    strings::{self, words},
    widgets::{Given, Icon, Views, rows},
};

/// The grid's id on the page.
const GRID: &str = "wire-grid";
/// The row that stands for a wire not there yet; no record has this key.
const NEW: &str = "";

/// One row.
#[derive(Clone, PartialEq)]
struct Line {
    id: WireId,
    cells: Vec<String>,
}

/// The rows as they stand, and what list they are of.
#[derive(Clone, Default)]
struct Standing {
    sheet: Option<SheetId>,
    filter: String,
    /// The column, and how many presses on headings it took.
    sorted_by: (usize, u32),
    order: Vec<WireId>,
}

/// What the parts of the grid share.
#[derive(Clone, Copy)]
struct Grid {
    app: App,
    lines: Memo<Vec<Line>>,
    /// By wire: its row.
    places: Memo<Arc<Map<WireId, usize>>>,
    chosen: RwSignal<Cells>,
    /// True while the input lies over the cell that keys move.
    typing: RwSignal<bool>,
    /// True while a press stretches the choice, for screens without a Shift key.
    stretching: RwSignal<bool>,
    wrong: RwSignal<Vec<String>>,
    input: NodeRef<html::Input>,
}

/// The grid.
#[component]
pub fn WireGrid(
    /// Only wires with an end on the open sheet.
    #[prop(default = false)]
    of_sheet: bool,
) -> impl IntoView {
    let app = app();
    let filter = RwSignal::new(String::new());
    let sorted_by = RwSignal::new((0_usize, 0_u32));
    let grid = Grid::new(app, of_sheet, filter, sorted_by);
    follow_selection(grid);
    let several = move || grid.chosen.get().rows().len() > 1;
    view! {
        <div class="grid-tools">
            <input
                type="search"
                placeholder=strings::SHOW_ONLY
                aria-label=strings::SHOW_ONLY
                prop:value=move || filter.get()
                on:input=move |event| filter.set(event_target_value(&event))
            />
            <button on:click=move |_| grid.edit(None)>{strings::EDIT_CELL}</button>
            <button
                aria-pressed=move || grid.stretching.get().to_string()
                on:click=move |_| grid.stretching.update(|on| *on = !*on)
            >
                {strings::CHOOSE_MORE}
            </button>
            <button disabled=move || !several() on:click=move |_| grid.fill_down()>
                {strings::FILL_DOWN}
            </button>
            <button disabled=move || !several() on:click=move |_| grid.count_on()>
                {strings::COUNT_ON}
            </button>
            <button on:click=move |_| grid.delete()>{strings::DELETE_WIRES}</button>
        </div>
        <Given when=move || grid.wrong.with(|wrong| !wrong.is_empty())>
            <ul class="wrong" role="alert">
                {move || grid.wrong.get().into_iter().map(|why| view! { <li>{why}</li> }).views()}
            </ul>
        </Given>
        <div class="wide grid">
            <table
                id=GRID
                class="list"
                role="grid"
                tabindex="0"
                aria-label=strings::WIRE_LIST
                on:click=move |event| grid.press(&event, event.shift_key())
                on:keydown=move |event| grid.key(&event)
                on:copy=move |event| grid.copy(&event)
                on:paste=move |event| grid.paste(&event)
            >
                <thead>
                    <tr>
                        <th></th>
                        {(0..COLUMNS.len()).map(|at| heading(app, at, sorted_by)).views()}
                    </tr>
                </thead>
                <tbody>
                    {rows(
                        move || grid.lines.get(),
                        |line| format!("{}\n{}", line.id, line.cells.join("\n")),
                        move |line| row(grid, line),
                    )}
                    {last_row(grid)}
                </tbody>
            </table>
            <input
                class="cell-input"
                hidden
                autocomplete="off"
                list="cell-offers"
                aria-label=move || heading_word(app, grid.chosen.get().at[1])
                node_ref=grid.input
                on:keydown=move |event| grid.key_in_input(&event)
                on:blur=move |_| grid.commit(None)
            />
            <datalist id="cell-offers">
                {move || grid.typing.get().then(|| offers(grid).into_iter().map(|offer| {
                    view! { <option value=offer></option> }
                }).views())}
            </datalist>
        </div>
    }
}

/// What a column is called.
pub fn heading_word(app: App, column: usize) -> String {
    let in_feet = app.session.with(|document| document.project.show_feet);
    let word = match COLUMNS[column.min(COLUMNS.len() - 1)].key {
        "number" => strings::NUMBER,
        "from" => strings::FROM,
        "to" => strings::TO,
        "gauge_awg" => strings::GAUGE,
        "colour" => strings::COLOUR,
        "length_m" => return strings::length(strings::LENGTH, in_feet),
        "insulation_c" => strings::INSULATION_C,
        "function" => strings::FUNCTION,
        _ => strings::STATUS,
    };
    word.to_owned()
}

/// A heading that sorts by its column.
fn heading(app: App, at: usize, sorted_by: RwSignal<(usize, u32)>) -> AnyView {
    let sort = move |_| sorted_by.update(|(column, n)| (*column, *n) = (at, *n + 1));
    view! {
        <th>
            <button class="plain" on:click=sort>{move || heading_word(app, at)}</button>
        </th>
    }
    .into_any()
}

fn row(grid: Grid, line: Line) -> AnyView {
    let (id, show) = (line.id.clone(), line.id.clone());
    let place = move || grid.places.with(|places| places.get(&id).copied());
    let label = format!("{}: {}", strings::SHOW_ON_SHEET, line.cells[0]);
    let show = move |_| go_to(grid.app, Key::Wire(show.clone()));
    view! {
        <tr data-row=line.id.to_string() class=move || chosen_class(grid, place())>
            <th scope="row">
                <button class="plain" aria-label=label on:click=show>
                    <Icon name="draw" />
                </button>
            </th>
            {line.cells.into_iter().map(|cell| view! { <td role="gridcell">{cell}</td> }).views()}
        </tr>
    }
    .into_any()
}

/// The row under the wires: what is typed there becomes a new one.
fn last_row(grid: Grid) -> AnyView {
    let place = move || Some(grid.lines.with(Vec::len));
    let cells = (0..COLUMNS.len()).map(|at| {
        let word = (at == 0).then_some(strings::NEW_WIRE);
        view! { <td role="gridcell" class="hush">{word}</td> }
    });
    view! {
        <tr data-row=NEW class=move || chosen_class(grid, place())>
            <th></th>
            {cells.views()}
        </tr>
    }
    .into_any()
}

/// Which cells of a row are chosen: one class a column, and one for the cell that keys move.
fn chosen_class(grid: Grid, place: Option<usize>) -> String {
    let chosen = grid.chosen.get();
    let Some(row) = place.filter(|row| chosen.rows().contains(row)) else {
        return String::new();
    };
    let columns = chosen.columns().map(|column| format!("c{column}"));
    let mut classes: Vec<String> = columns.collect();
    if row == chosen.at[0] {
        classes.push(format!("at{}", chosen.at[1]));
    }
    classes.join(" ")
}

/// What may be typed into a cell of this column.
fn offers(grid: Grid) -> Vec<String> {
    let words = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect();
    match COLUMNS[grid.chosen.get_untracked().at[1]].key {
        "gauge_awg" => Gauge::ALL.map(|gauge| gauge.to_string()).to_vec(),
        "colour" => words(words::COLOURS),
        "status" => {
            let all = loomwright_core::document::BuildStatus::ALL;
            all.map(|status| status.words().to_owned()).to_vec()
        }
        "from" | "to" => grid.app.session.peek(end_labels),
        _ => Vec::new(),
    }
}

fn end_labels(document: &Document) -> Vec<String> {
    let devices = document.devices.values();
    let pins = devices.flat_map(|device| {
        let terminals = device.terminals.iter();
        terminals.map(|terminal| device.terminal_label(terminal))
    });
    let splices = document.splices.values().map(|splice| splice.label.clone());
    let mut labels: Vec<String> = pins.chain(splices).collect();
    order::sort_by(&mut labels, |a, b| natural_cmp(a, b));
    labels
}

/// A wire chosen on the drawing is the row chosen here.
fn follow_selection(grid: Grid) {
    Effect::new(move |_| {
        let one = grid.app.view.selection.with(|keys| {
            let mut keys = keys.iter();
            match (keys.next(), keys.next()) {
                (Some(Key::Wire(id)), None) => Some(id.clone()),
                _ => None,
            }
        });
        let place = one.and_then(|id| grid.places.with_untracked(|it| it.get(&id).copied()));
        let chosen = grid.chosen.get_untracked();
        if let Some(row) = place
            && !chosen.rows().contains(&row)
        {
            grid.choose(Cells::one(row, chosen.at[1]));
        }
    });
}

impl Grid {
    fn new(
        app: App,
        of_sheet: bool,
        filter: RwSignal<String>,
        sorted_by: RwSignal<(usize, u32)>,
    ) -> Self {
        // Rows stay where they are, and stay at all, while they are typed into: only a press on a heading
        // sorts, and only another sheet or another filter takes away what no longer fits.
        let kept: StoredValue<Standing> = StoredValue::default();
        let lines = Memo::new(move |_| {
            let sheet = app.view.sheet.get().filter(|_| of_sheet);
            let wanted = folded(&filter.get());
            let by = sorted_by.get();
            let before = kept.get_value();
            let same_list = (&before.sheet, &before.filter) == (&sheet, &wanted);
            let place: Map<&WireId, usize> =
                (before.order.iter().enumerate().map(|(n, id)| (id, n))).collect();
            let mut all: Vec<Line> = app.session.with(|document| {
                let sheet = sheet.as_ref().and_then(|id| document.sheets.get(id));
                // A wire that runs nowhere yet is on no sheet; it may have been made here.
                let nowhere = |wire: &Wire| wire.from == End::Open && wire.to == End::Open;
                let is_shown = |wire: &Wire| {
                    let on = |sheet: &Sheet| sheet.shows(&wire.from) || sheet.shows(&wire.to);
                    sheet.is_none_or(|sheet| on(sheet) || nowhere(wire))
                };
                let line = |(id, wire): (&WireId, &Wire)| {
                    let stays = same_list && place.contains_key(id);
                    if !stays && !is_shown(wire) {
                        return None;
                    }
                    let cells = (0..COLUMNS.len()).map(|at| text(document, wire, at));
                    let line = Line {
                        id: id.clone(),
                        cells: cells.collect(),
                    };
                    let mut cells = line.cells.iter();
                    let fits = stays
                        || wanted.is_empty()
                        || cells.any(|cell| folded(cell).contains(&wanted));
                    fits.then_some(line)
                };
                document.wires.iter().filter_map(line).collect()
            });
            order::sort_by(&mut all, |a, b| natural_cmp(&a.cells[by.0], &b.cells[by.0]));
            if same_list && before.sorted_by == by {
                // What is new comes last.
                let of = |line: &Line| place.get(&line.id).copied().unwrap_or(usize::MAX);
                order::sort_by_key(&mut all, of);
            }
            kept.set_value(Standing {
                sheet,
                filter: wanted,
                sorted_by: by,
                order: all.iter().map(|line| line.id.clone()).collect(),
            });
            all
        });
        let places = Memo::new(move |_| {
            let place = |(n, line): (usize, &Line)| (line.id.clone(), n);
            lines.with(|lines| Arc::new(lines.iter().enumerate().map(place).collect()))
        });
        Self {
            app,
            lines,
            places,
            chosen: RwSignal::new(Cells::default()),
            typing: RwSignal::new(false),
            stretching: RwSignal::new(false),
            wrong: RwSignal::new(Vec::new()),
            input: NodeRef::new(),
        }
    }

    /// The wire of a row; none for the row of a new one.
    fn wire(self, row: usize) -> Option<WireId> {
        let id = |lines: &Vec<Line>| lines.get(row).map(|line| line.id.clone());
        self.lines.with_untracked(id)
    }

    fn row_key(self, row: usize) -> String {
        self.wire(row).map_or(NEW.into(), |id| id.to_string())
    }

    fn cell_text(self, row: usize, column: usize) -> String {
        let cell = |lines: &Vec<Line>| Some(lines.get(row)?.cells.get(column)?.clone());
        self.lines.with_untracked(cell).unwrap_or_default()
    }

    /// Chooses cells, brings them into view, and marks their wires on the drawing.
    fn choose(self, cells: Cells) {
        self.chosen.set(cells);
        page::show(GRID, &self.row_key(cells.at[0]), cells.at[1]);
        let keys = cells.rows().filter_map(|row| self.wire(row)).map(Key::Wire);
        let keys: order::Sorted<Key> = keys.collect();
        if !keys.is_empty() && self.app.view.selection.with_untracked(|was| *was != keys) {
            self.app.view.selection.set(keys);
        }
    }

    fn press(self, event: &ev::MouseEvent, shift: bool) {
        let Some((key, column)) = page::cell_of(event) else {
            return;
        };
        let row = match key.as_str() {
            NEW => Some(self.lines.with_untracked(Vec::len)),
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

    fn key(self, event: &ev::KeyboardEvent) {
        if self.typing.get_untracked() {
            return;
        }
        let (key, chosen) = (event.key(), self.chosen.get_untracked());
        let rows = self.lines.with_untracked(Vec::len) + 1;
        if event.ctrl_key() || event.meta_key() {
            if key == "d" {
                event.prevent_default();
                self.fill_down();
            }
            return;
        }
        match key.as_str() {
            "Enter" | "F2" => self.edit(None),
            "Delete" | "Backspace" => self.put(vec![vec![String::new()]], strings::CLEARED),
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
    fn edit(self, typed: Option<&str>) {
        let Some(input) = self.input.get_untracked() else {
            return;
        };
        let [row, column] = self.chosen.get_untracked().at;
        self.chosen.set(Cells::one(row, column));
        self.typing.set(true);
        let text = typed.map_or_else(|| self.cell_text(row, column), str::to_owned);
        page::open(&input, GRID, &self.row_key(row), column, &text);
        if typed.is_some() {
            page::to_end(&input);
        }
    }

    fn key_in_input(self, event: &ev::KeyboardEvent) {
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
    fn commit(self, then: Option<(&str, bool)>) {
        let text = self.input.get_untracked().map(|input| input.value());
        if !self.stop_typing() {
            return;
        }
        let chosen = self.chosen.get_untracked();
        if let Some(text) = text
            && text.trim() != self.cell_text(chosen.at[0], chosen.at[1])
        {
            self.put(vec![vec![text]], strings::TYPED);
        }
        let rows = self.lines.with_untracked(Vec::len) + 1;
        let next = then.and_then(|(key, shift)| chosen.moved(key, shift, rows, COLUMNS.len()));
        if let Some(cells) = next {
            self.choose(cells);
        }
    }

    /// Types a block into the chosen cells and below them; a smaller one is repeated over them.
    fn put(self, block: Vec<Vec<String>>, label: &'static str) {
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
            .peek(|document| put_block(document, &wires, chosen.columns().start, &block));
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

    fn fill_down(self) {
        let chosen = self.chosen.get_untracked();
        let first = chosen.columns();
        let first: Vec<String> = first
            .map(|column| self.cell_text(chosen.rows().start, column))
            .collect();
        self.put(vec![first; chosen.rows().len()], strings::FILL_DOWN);
    }

    /// Counts on from the first row, in the steps of the second if that holds something.
    fn count_on(self) {
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
        self.put(block, strings::COUNT_ON);
    }

    fn delete(self) {
        let rows = self.chosen.get_untracked().rows();
        let wires = rows.filter_map(|row| self.wire(row));
        let keys: Vec<Key> = wires.map(Key::Wire).collect();
        let made = self
            .app
            .session
            .peek(|document| edit::delete(document, &keys));
        self.app.session.try_run(strings::DELETE_WIRES, made);
    }

    fn copy(self, event: &ev::ClipboardEvent) {
        let chosen = self.chosen.get_untracked();
        let row = |row| {
            let columns = chosen.columns();
            columns.map(|column| self.cell_text(row, column)).collect()
        };
        let cells: Vec<Vec<String>> = chosen.rows().map(row).collect();
        page::copy(event, &block::write(&cells));
    }

    fn paste(self, event: &ev::ClipboardEvent) {
        if let Some(text) = page::pasted(event) {
            event.prevent_default();
            self.put(block::read(&text), strings::PASTED);
        }
    }
}
