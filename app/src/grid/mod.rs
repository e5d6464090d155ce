//! The wire list as a grid: a row a wire, typed into like a spreadsheet, live on the same records as
//! the drawing.

pub mod cells;
mod choice;
mod list;
mod work;

use leptos::prelude::*;
use loomwright_core::order::InOrder;
use loomwright_core::{
    document::{BuildStatus, Document, natural_cmp},
    edit::{Key, grid::COLUMNS},
    units::Gauge,
};

use self::{
    list::{Line, SortedBy},
    work::{GRID, Grid, NEW},
};
use crate::{
    App, app,
    commands::go_to,
    strings::{self, words},
    widgets::{Given, Icon, Views, rows},
};

/// The grid.
#[component]
pub fn WireGrid(
    /// Only wires with an end on the open sheet.
    #[prop(default = false)]
    of_sheet: bool,
) -> impl IntoView {
    let app = app();
    let filter = RwSignal::new(String::new());
    let sorted_by = RwSignal::new(SortedBy::default());
    let grid = Grid::new(app, of_sheet, filter, sorted_by);
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
                        move || grid.list.with(|list| list.lines.clone()),
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
fn heading(app: App, at: usize, sorted_by: RwSignal<SortedBy>) -> AnyView {
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
    let place = move || Some(grid.list.with(|list| list.lines.len()));
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
            let all = BuildStatus::ALL;
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
    labels.order_by(|a, b| natural_cmp(a, b));
    labels
}
