//! The plan room: what must keep working, the equipment with its loads and where each figure comes
//! from, states by phase.

use leptos::prelude::*;
use loomwright_core::order::InOrder;
use loomwright_core::{
    document::{
        AfterAlternator, Device, Document, ElementKind, Extra, Origins, Place, Project, Route,
        State, natural_cmp,
    },
    edit::{Key, Record, add_record, delete, update_record},
    ids::{DeviceId, PlaceId, RouteId, StateId},
};

use crate::{
    App, app,
    commands::{edit_project, go_to},
    details::{Length, LengthFrom, LengthOrigin, PlaceDetails},
    strings::{self, words},
    view::{self, place_choices},
    widgets::{
        Amount, Area, Choice, Number, Text, Tick, rows, spoken,
        typed::{Typed, typed},
    },
};

/// The room.
#[component]
pub fn Plan() -> impl IntoView {
    let app = app();
    let project = Memo::new(move |_| app.session.with(|document| document.project.clone()));
    let text = move |read: fn(&Project) -> String| Signal::derive(move || project.with(read));
    view! {
        <section class="page narrow">
            <h2>{strings::PLAN}</h2>
            <Text
                label=strings::AIRCRAFT
                value=text(|p| p.title.clone())
                on_commit=move |title: String| edit_project(app.session, strings::AIRCRAFT, move |p| p.title = title)
            />
            <Text
                label=strings::REGISTRATION
                value=text(|p| p.registration.clone())
                on_commit=move |text: String| edit_project(app.session, strings::REGISTRATION, move |p| p.registration = text)
            />
            <Area
                label=strings::STATEMENT
                value=text(|p| p.statement.clone())
                on_commit=move |text: String| edit_project(app.session, strings::STATEMENT, move |p| p.statement = text)
            />
            <div class="pair">
                <Choice
                    label=strings::SYSTEM_V
                    options=vec![("14".into(), "14 V".into()), ("28".into(), "28 V".into())]
                    value=text(|p| spoken(p.nominal_v))
                    on_commit=move |v: String| {
                        if let Typed::Number(v) = typed(&v) {
                            edit_project(app.session, strings::SYSTEM_V, move |p| p.nominal_v = v);
                        }
                    }
                />
                <Number
                    label=strings::TARGET_MIN
                    value=Signal::derive(move || project.with(|p| p.target_min))
                    on_commit=move |min: Amount| edit_project(app.session, strings::TARGET_MIN, move |p| p.target_min = min)
                />
            </div>
            <div class="pair">
                <Number
                    label=strings::SHED_AFTER_MIN
                    value=Signal::derive(move || project.with(|p| p.shed_after_min))
                    on_commit=move |min: Amount| edit_project(app.session, strings::SHED_AFTER_MIN, move |p| p.shed_after_min = min)
                />
                <Number
                    label=strings::RECHARGE_H
                    value=Signal::derive(move || project.with(|p| p.recharge_h))
                    on_commit=move |hours: Amount| edit_project(app.session, strings::RECHARGE_H, move |p| p.recharge_h = hours)
                />
            </div>
            <div class="pair">
                <Number
                    label=strings::AMBIENT_C
                    min=-60.0
                    value=Signal::derive(move || project.with(|p| p.ambient_c))
                    on_commit=move |c: Amount| edit_project(app.session, strings::AMBIENT_C, move |p| p.ambient_c = c)
                />
                <Number
                    label=strings::PROJECT_INSULATION_C
                    value=Signal::derive(move || project.with(|p| p.insulation_c))
                    on_commit=move |c: Amount| edit_project(app.session, strings::PROJECT_INSULATION_C, move |p| p.insulation_c = c)
                />
                <Number
                    label=strings::ALTITUDE_FT
                    value=Signal::derive(move || project.with(|p| p.altitude_ft))
                    on_commit=move |ft: Amount| edit_project(app.session, strings::ALTITUDE_FT, move |p| p.altitude_ft = ft)
                />
            </div>
            <Tick
                label=strings::FEET
                value=Signal::derive(move || project.with(|p| p.show_feet))
                on_commit=move |on: bool| edit_project(app.session, strings::FEET, move |p| p.show_feet = on)
            />
            <h3>{strings::LOADS}</h3>
            <Loads />
            <Places />
            <Routes />
            <States />
        </section>
    }
}

/// One load of one device.
#[derive(Clone, PartialEq)]
struct Line {
    device: DeviceId,
    cells: [String; 6],
}

#[component]
fn Loads() -> impl IntoView {
    let app = app();
    let lines = Memo::new(move |_| app.session.with(lines));
    view! {
        <table class="list">
            <thead>
                <tr>
                    <th>{strings::TAG}</th>
                    <th>{strings::WHAT}</th>
                    <th>{strings::PLACE}</th>
                    <th>{strings::CONTINUOUS_A}</th>
                    <th>{strings::PEAK_A}</th>
                    <th>{strings::ORIGIN}</th>
                </tr>
            </thead>
            <tbody>
                {rows(
                    move || lines.get(),
                    |line| format!("{}\n{}", line.device, line.cells.join("\n")),
                    move |line| row(app, line),
                )}
            </tbody>
        </table>
    }
}

fn row(app: App, line: Line) -> AnyView {
    let [tag, rest @ ..] = line.cells;
    let id = line.device;
    view! {
        <tr>
            <td>
                <button on:click=move |_| {
                    go_to(app, Key::Device(id.clone()));
                    app.view.panel.set(view::Panel::Details);
                }>{tag}</button>
            </td>
            {Vec::from(rest.map(|cell| view! { <td>{cell}</td> }.into_any()))}
        </tr>
    }
    .into_any()
}

fn lines(document: &Document) -> Vec<Line> {
    let devices = document.devices.iter();
    let mut lines: Vec<Line> = devices
        .flat_map(|(id, device)| of_device(document, id, device))
        .collect();
    lines.order_by(|a, b| natural_cmp(&a.cells[0], &b.cells[0]));
    lines
}

fn of_device(document: &Document, id: &DeviceId, device: &Device) -> Vec<Line> {
    let place = device.place.as_ref().and_then(|id| document.places.get(id));
    let amps = |figure: Option<&loomwright_core::document::Figure>| {
        figure.map_or_else(|| "–".into(), |figure| spoken(figure.amps))
    };
    let loads = device
        .elements
        .iter()
        .filter_map(|element| match &element.is {
            ElementKind::Load(load) => Some((element, load)),
            _ => None,
        });
    loads
        .map(|(element, load)| Line {
            device: id.clone(),
            cells: [
                device.element_label(element),
                device.title.clone(),
                place.map(|place| place.title.clone()).unwrap_or_default(),
                amps(load.continuous_a.as_ref()),
                amps(load.peak_a.as_ref()),
                load.continuous_a
                    .as_ref()
                    .map(|f| words::origin(f.origin))
                    .unwrap_or_default(),
            ],
        })
        .collect()
}

/// The places of the aircraft, each with its details folded up.
#[component]
fn Places() -> impl IntoView {
    let app = app();
    let places = Memo::new(move |_| {
        app.session
            .with(|document| document.places.keys().cloned().collect::<Vec<_>>())
    });
    let title = move |id: &PlaceId| {
        app.session
            .with(|document| document.record_label("place", id.as_str()))
    };
    let add = move |_| {
        let place = Place {
            title: strings::NEW_PLACE.into(),
            conductive: None,
            closed: false,
            bonded_to: None,
            bond_ohm: None,
            origins: Origins::default(),
            extra: Extra::default(),
        };
        let change = app
            .session
            .peek(|document| add_record(document, Record::Place(place)));
        app.session.try_run(strings::ADD_PLACE, change);
    };
    let row = move |id: PlaceId| {
        let own = id.clone();
        view! {
            <details>
                <summary>{move || title(&own)}</summary>
                <PlaceDetails id=id />
            </details>
        }
        .into_any()
    };
    view! {
        <h3>{strings::PLACES}</h3>
        {rows(move || places.get(), ToString::to_string, row)}
        <button on:click=add>{strings::ADD_PLACE}</button>
    }
}

/// The pieces of route that wires lie in, each with its title, ends and length.
#[component]
fn Routes() -> impl IntoView {
    let app = app();
    let routes = Memo::new(move |_| {
        app.session
            .with(|document| document.routes.keys().cloned().collect::<Vec<_>>())
    });
    let add = move |_| {
        let change = app.session.peek(|document| {
            let mut places = document.places.keys().cloned();
            let from = places.next().unwrap_or_else(|| "airframe".into());
            let to = places.next().unwrap_or_else(|| from.clone());
            let route = Route {
                title: strings::NEW_ROUTE.into(),
                from,
                to,
                length_m: None,
                origins: Origins::default(),
                extra: Extra::default(),
            };
            add_record(document, Record::Route(route))
        });
        app.session.try_run(strings::ADD_ROUTE, change);
    };
    view! {
        <h3>{strings::ROUTES}</h3>
        <p class="hush">{strings::ROUTES_HELP}</p>
        {rows(move || routes.get(), ToString::to_string, move |id| route_row(app, id))}
        <button on:click=add>{strings::ADD_ROUTE}</button>
    }
}

fn route_row(app: App, id: RouteId) -> AnyView {
    let key = StoredValue::new(id.clone());
    let route = Memo::new(move |_| {
        app.session
            .with(|document| document.routes.get(&id).cloned())
    });
    let touch = move |label: &str, touch: Box<dyn FnOnce(&mut Route)>| {
        let change = app.session.peek(|document| {
            let key = key.get_value();
            let mut route = document.routes.get(&key).cloned()?;
            touch(&mut route);
            Some(update_record(
                document,
                &Key::Route(key),
                Record::Route(route),
            ))
        });
        if let Some(change) = change {
            app.session.try_run(label, change);
        }
    };
    let place = move |label: &'static str, field: fn(&mut Route) -> &mut PlaceId| {
        view! {
            <Choice
                label=label
                options=Signal::derive(move || app.session.with(place_choices))
                value=Signal::derive(move || {
                    let id = route.get().map(|mut it| field(&mut it).to_string());
                    id.unwrap_or_default()
                })
                on_commit=move |id: String| {
                    if !id.is_empty() {
                        touch(label, Box::new(move |it| *field(it) = PlaceId::from(id)));
                    }
                }
            />
        }
        .into_any()
    };
    let remove = move |_| {
        let route = Key::Route(key.get_value());
        let change = app.session.peek(|document| delete(document, &[route]));
        app.session.try_run(strings::REMOVE_ROUTE, change);
    };
    view! {
        <div class="pair">
            <Text
                label=strings::ROUTE
                value=Signal::derive(move || route.get().map(|it| it.title).unwrap_or_default())
                on_commit=move |title: String| touch(strings::ROUTE, Box::new(move |it| it.title = title))
            />
            <Length
                label=strings::ROUTE_LENGTH
                value_m=Signal::derive(move || route.with(|it| it.as_ref().and_then(|it| it.length_m)))
                on_commit=move |m: Amount| touch(strings::ROUTE_LENGTH, Box::new(move |it| it.length_m = m))
            />
            <LengthOrigin
                value=Signal::derive(move || route.with(|it| it.as_ref().and_then(|it| it.origins.of("length_m"))))
                on_commit=move |from: LengthFrom| {
                    touch(strings::LENGTH_ORIGIN, Box::new(move |it| it.origins.set("length_m", from)));
                }
            />
            {place(strings::ROUTE_FROM, |it| &mut it.from)}
            {place(strings::ROUTE_TO, |it| &mut it.to)}
        </div>
        <button on:click=remove>{strings::REMOVE_ROUTE}</button>
    }
    .into_any()
}

/// The states, each with its name and whether the engine turns the alternators. Switches are set by
/// operating them on the drawing.
#[component]
fn States() -> impl IntoView {
    let app = app();
    let states = Memo::new(move |_| app.session.with(view::states_in_order));
    let add = move |_| {
        let state = State {
            title: strings::NEW_STATE.into(),
            order: i64::try_from(states.with_untracked(Vec::len)).unwrap_or(0) + 1,
            ..State::default()
        };
        let change = app
            .session
            .peek(|document| add_record(document, Record::State(state)));
        app.session.try_run(strings::ADD_STATE, change);
    };
    view! {
        <h3>{strings::STATES}</h3>
        <p class="hush">{strings::STATES_HELP}</p>
        {rows(
            move || states.get(),
            |(id, _)| id.to_string(),
            move |(id, _)| state_row(app, id),
        )}
        <button on:click=add>{strings::ADD_STATE}</button>
    }
}

fn state_row(app: App, id: StateId) -> AnyView {
    let key = StoredValue::new(id.clone());
    let state = Memo::new(move |_| {
        app.session
            .with(|document| document.states.get(&id).cloned().unwrap_or_default())
    });
    let touch = move |label: &str, touch: Box<dyn FnOnce(&mut State)>| {
        let change = app.session.peek(|document| {
            let key = key.get_value();
            let mut state = document.states.get(&key).cloned().unwrap_or_default();
            touch(&mut state);
            update_record(document, &Key::State(key), Record::State(state))
        });
        app.session.try_run(label, change);
    };
    view! {
        <div class="pair">
            <Text
                label=strings::STATE
                value=Signal::derive(move || state.with(|state| state.title.clone()))
                on_commit=move |title: String| touch(strings::STATE, Box::new(move |s| s.title = title))
            />
            <Tick
                label=strings::ALTERNATORS_ON
                value=Signal::derive(move || state.with(|state| state.alternators_on))
                on_commit=move |on: bool| {
                    touch(strings::ALTERNATORS_ON, Box::new(move |s| s.alternators_on = on));
                }
            />
        </div>
        <Choice
            label=strings::AFTER_ALTERNATOR
            options=AFTER
                .map(|(_, key, word)| (key.to_owned(), word.to_owned()))
                .to_vec()
            value=Signal::derive(move || {
                let now = state.with(|state| state.after_alternator);
                let found = AFTER.iter().find(|(case, ..)| *case == now);
                found.map_or("", |(_, key, _)| key).to_owned()
            })
            on_commit=move |key: String| {
                let found = AFTER.iter().find(|(_, it, _)| *it == key);
                let case = found.and_then(|(case, ..)| *case);
                touch(strings::AFTER_ALTERNATOR, Box::new(move |s| s.after_alternator = case));
            }
        />
    }
    .into_any()
}

/// The cases without alternator that a state can show, with key and word.
const AFTER: [(Option<AfterAlternator>, &str, &str); 4] = [
    (None, "", strings::AFTER_NONE),
    (
        Some(AfterAlternator::NothingDone),
        "nothing",
        strings::AFTER_NOTHING,
    ),
    (
        Some(AfterAlternator::MainBusShed),
        "shed",
        strings::AFTER_SHED,
    ),
    (
        Some(AfterAlternator::EssentialOnly),
        "essential",
        strings::AFTER_ESSENTIAL,
    ),
];
