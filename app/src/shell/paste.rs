//! A wire list pasted from a spreadsheet: what its columns say, what is wrong with it, what it makes.

use leptos::prelude::*;
use loomwright_core::{
    document::{DeviceKind, Document, SheetSize, folded},
    drawing::spread,
    edit::{self, Change, grid::CellError},
    exchange::list::{ColumnContent, LengthUnit, List, import},
    units::Gauge,
};

use crate::{
    app,
    details::tidy_look::picture,
    grid::heading_word,
    strings::{self, words},
    view::{Room, sheets_in_order},
    widgets::{Choice, Dialog, Given, Select, Tick, Views},
};

/// The box.
#[component]
pub fn PasteList(
    /// Called when it is closed.
    #[prop(into)]
    on_close: Callback<()>,
) -> impl IntoView {
    let app = app();
    let text = RwSignal::new(String::new());
    let list = RwSignal::new(List::default());
    let wrong = RwSignal::new(Vec::<String>::new());
    let read = move |typed: String| {
        wrong.set(Vec::new());
        list.set(List::read(&typed));
        text.set(typed);
    };
    let make = move |_| {
        let made = list.with_untracked(|list| app.session.peek(|document| made_of(document, list)));
        match made {
            Ok(change) => {
                let sheet = change.added().find_map(|key| match key {
                    edit::Key::Sheet(id) => Some(id.clone()),
                    _ => None,
                });
                app.session.run(strings::PASTED_LIST, change);
                if sheet.is_some() {
                    app.view.sheet.set(sheet);
                    app.view.room.set(Room::Draw);
                } else {
                    app.view.room.set(Room::Build);
                }
                on_close.run(());
            }
            Err(why) => wrong.set(why),
        }
    };
    view! {
        <Dialog title=strings::PASTE_LIST on_close=on_close>
            <p class="hush">{strings::PASTE_LIST_HELP}</p>
            <textarea
                class="paste-list"
                rows="6"
                aria-label=strings::PASTE_LIST
                placeholder=strings::PASTE_LIST_EXAMPLE
                prop:value=move || text.get()
                on:input=move |event| read(event_target_value(&event))
            ></textarea>
            <Given when=move || list.with(|list| !list.rows.is_empty())>
                <h3>{move || list.with(|list| strings::count(list.rows.len(), strings::WIRES))}</h3>
                <div class="columns">
                    {move || {
                        let count = list.with(|list| list.columns.len());
                        (0..count).map(|at| column(list, at)).views()
                    }}
                </div>
                <Given when=move || list.with(|list| !list.is_mapped())>
                    <p class="wrong">{strings::PASTE_LIST_ENDS}</p>
                </Given>
            </Given>
            <Given when=move || text.with(|text| !text.trim().is_empty())>
                <Tick
                    label=strings::PASTE_LIST_HEADINGS
                    value=Signal::derive(move || list.with(|list| !list.headings.is_empty()))
                    on_commit=move |has_headings: bool| {
                        list.set(text.with_untracked(|text| List::read_with(text, has_headings)));
                    }
                />
            </Given>
            {questions(list)}
            {kinds(list)}
            {looked_at(list)}
            <Given when=move || wrong.with(|wrong| !wrong.is_empty())>
                <ul class="wrong" role="alert">
                    {move || wrong.get().into_iter().map(|why| view! { <li>{why}</li> }).views()}
                </ul>
            </Given>
            <button class="main" disabled=move || list.with(|list| !list.is_ready()) on:click=make>
                {strings::PASTE_LIST_MAKE}
            </button>
        </Dialog>
    }
}

/// The devices that the list makes, each with the kind that its tag speaks for, to be changed.
fn kinds(list: RwSignal<List>) -> AnyView {
    let app = app();
    let made = Memo::new(move |_| {
        let made = |document: &Document| {
            let made = list
                .with(|list| list.is_ready().then(|| import(document, list)))?
                .ok()?;
            let after = made.change.applied(document).ok()?;
            let kind = |id| after.devices.get(id).map(|it| (it.tag.clone(), it.kind));
            Some(made.devices.iter().filter_map(kind).collect::<Vec<_>>())
        };
        app.session.with(made).unwrap_or_default()
    });
    let choice = move |(tag, kind): (String, DeviceKind)| {
        let of = tag.clone();
        let choose = move |key: String| {
            let Some(kind) = words::value_of::<DeviceKind>(&key) else {
                return;
            };
            list.update(|list| {
                // Facing halves are two devices again.
                for half in of.split('/') {
                    list.kinds.insert(folded(half), kind);
                }
            });
        };
        view! {
            <Choice
                label=tag
                options=words::choices(words::DEVICE_KINDS)
                value=Signal::stored(words::key_of(&kind))
                on_commit=choose
            />
        }
        .into_any()
    };
    view! {
        <Given when=move || made.with(|made| !made.is_empty())>
            <h3>{strings::PASTE_LIST_KINDS}</h3>
            <div class="columns">{move || made.get().into_iter().map(choice).views()}</div>
        </Given>
    }
    .into_any()
}

/// The sheets that the list makes, to look at before anything is added.
fn looked_at(list: RwSignal<List>) -> AnyView {
    let app = app();
    // The list that was looked at, and its sheets.
    let looked = RwSignal::new((List::default(), Vec::<(String, String)>::new()));
    let look = move |_| {
        let drawn = |document: &Document| {
            let change = list.with_untracked(|list| made_of(document, list)).ok()?;
            let after = change.applied(document).ok()?;
            let drawn = change.added().filter_map(|key| match key {
                edit::Key::Sheet(id) => {
                    let title = after.record_label("sheet", id.as_str());
                    Some((title, picture(&after, id)))
                }
                _ => None,
            });
            Some(drawn.collect::<Vec<_>>())
        };
        let sheets = app.session.peek(drawn).unwrap_or_default();
        looked.set((list.get_untracked(), sheets));
    };
    let shown = |(title, at): (String, String)| {
        view! { <img class="looked-at" src=at alt=title /> }.into_any()
    };
    view! {
        <button disabled=move || list.with(|list| !list.is_ready()) on:click=look>
            {strings::PASTE_LIST_LOOK}
        </button>
        {move || {
            let (of, sheets) = looked.get();
            let is_same = list.with(|list| *list == of);
            sheets.into_iter().filter(|_| is_same).map(shown).views()
        }}
    }
    .into_any()
}

/// What the list leaves out: the unit of its lengths, the gauge of rows without one. Nothing is chosen
/// beforehand.
fn questions(list: RwSignal<List>) -> AnyView {
    let app = app();
    let unasked = || std::iter::once((String::new(), strings::NOT_CHOSEN.to_owned()));
    let in_feet = app.session.peek(|document| document.project.show_feet);
    let unit = move |unit: LengthUnit| {
        let is_own = match unit {
            LengthUnit::Feet => in_feet,
            LengthUnit::Metres => !in_feet,
            _ => false,
        };
        let of_project = if is_own { strings::AS_THE_PROJECT } else { "" };
        (
            unit.sign().to_owned(),
            format!("{}{of_project}", unit.sign()),
        )
    };
    let units: Vec<_> = unasked().chain(LengthUnit::ALL.map(unit)).collect();
    let gauge = |gauge: Gauge| (gauge.to_string(), format!("{gauge} AWG"));
    let gauges: Vec<_> = unasked().chain(Gauge::ALL.map(gauge)).collect();
    let (units, gauges) = (Signal::stored(units), Signal::stored(gauges));
    let unit = Signal::derive(move || {
        let unit = list.with(|list| list.length_unit);
        unit.map_or(String::new(), |unit| unit.sign().to_owned())
    });
    let gauge = Signal::derive(move || {
        let gauge = list.with(|list| list.gauge_awg);
        gauge.map_or(String::new(), |gauge| gauge.to_string())
    });
    view! {
        <Given when=move || list.with(List::asks_unit)>
            <Choice
                label=strings::UNIT_OF_LENGTHS
                options=units
                value=unit
                on_commit=move |sign: String| {
                    list.update(|list| list.length_unit = LengthUnit::of_word(&sign));
                }
            />
        </Given>
        <Given when=move || list.with(List::asks_gauge)>
            <Choice
                label=strings::GAUGE_OF_ROWS
                options=gauges
                value=gauge
                on_commit=move |gauge: String| {
                    list.update(|list| list.gauge_awg = Gauge::typed(&gauge));
                }
            />
        </Given>
    }
    .into_any()
}

/// What one column holds, with its heading and its first cell.
fn column(list: RwSignal<List>, at: usize) -> AnyView {
    let app = app();
    let head = list.with_untracked(|list| {
        let heading = list.headings.get(at).cloned();
        let first = list.rows.first().and_then(|row| row.get(at)).cloned();
        (
            heading.unwrap_or_else(|| strings::column_n(at + 1)),
            first.unwrap_or_default(),
        )
    });
    let chosen = Signal::derive(move || {
        let says = list.with(|list| list.columns.get(at).copied().flatten());
        says.map_or(String::new(), |says| says.key().to_owned())
    });
    let choose = move |key: String| {
        let says = ColumnContent::all().find(|says| says.key() == key);
        list.update(|list| {
            // Only one column may hold it: another that did no longer does.
            for column in &mut list.columns {
                if says.is_some() && *column == says {
                    *column = None;
                }
            }
            if let Some(column) = list.columns.get_mut(at) {
                *column = says;
            }
        });
    };
    let options = ColumnContent::all().map(|says| {
        let word = match says {
            // The list's own heading says in what unit.
            ColumnContent::Grid(_) if says.key() == "length_m" => strings::LENGTH.to_owned(),
            ColumnContent::Grid(column) => heading_word(app, column),
            says => strings::end_part(says.key()).to_owned(),
        };
        (says.key().to_owned(), word)
    });
    let passed_over = (String::new(), strings::PASSED_OVER.to_owned());
    let options: Vec<(String, String)> = std::iter::once(passed_over).chain(options).collect();
    view! {
        <label class="field">
            <span>{head.0} ": " <i>{head.1}</i></span>
            <Select
                options=Signal::stored(options)
                value=chosen
                on_commit=choose
            />
        </label>
    }
    .into_any()
}

/// The change that a list makes: its records, and sheets that show its new devices.
fn made_of(document: &Document, list: &List) -> Result<Change, Vec<String>> {
    let told = |errors: Vec<CellError>| -> Vec<String> {
        errors.iter().map(ToString::to_string).collect()
    };
    let made = import(document, list).map_err(told)?;
    let mut change = made.change;
    let failed = |error: &dyn ToString| vec![error.to_string()];
    let mut after = change.applied(document).map_err(|error| failed(&error))?;
    // On paper like the sheets that are there.
    let first = sheets_in_order(document).into_iter().next();
    let size = first.and_then(|(id, ..)| document.sheets.get(&id));
    let size = size.map_or(SheetSize::default(), |sheet| sheet.size);
    for (n, items) in spread::sheets(&after, &made.devices, size)
        .into_iter()
        .enumerate()
    {
        let title = strings::from_list(n + 1);
        let sheet = edit::add_drawn_sheet(&after, &title, size, items);
        let sheet = sheet.map_err(|error| failed(&error))?;
        sheet.apply(&mut after).map_err(|error| failed(&error))?;
        change = change.then(&sheet);
    }
    Ok(change)
}
