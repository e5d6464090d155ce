//! Details of a wire.

use leptos::prelude::*;
use loomwright_core::{
    document::{InlineFuse, Wire, WireEnd},
    edit::{self, BETWEEN_ROUTES, routes_titled},
    ids::WireId,
    units::Gauge,
};

use super::{
    circuit::Circuit,
    length::{Length, LengthFrom, LengthOrigin},
    move_end::MoveEnd,
    solved,
};
use crate::{
    App, app,
    commands::{again, edit_wire, edits},
    strings::{self, words},
    surface::Board,
    widgets::{Amount, Area, Choice, Given, Number, Text},
};

/// Something that edits a wire.
type Touch = Box<dyn FnOnce(&mut Wire)>;

/// The panel.
#[component]
pub fn WireDetails(
    /// The board it belongs to.
    board: Board,
    /// The wire.
    id: WireId,
) -> impl IntoView {
    let app = app();
    let key = StoredValue::new(id.clone());
    let wire: Memo<Option<Wire>> = Memo::new({
        let id = id.clone();
        move |_| {
            app.session
                .with(|document| document.wires.get(&id).cloned())
        }
    });
    let touch =
        move |label: &str, touch: Touch| edit_wire(app.session, label, &key.get_value(), touch);
    let text = move |read: fn(&Wire) -> String| {
        Signal::derive(move || wire.with(|w| w.as_ref().map(read).unwrap_or_default()))
    };
    view! {
        <p class="run">{ends(board, wire)}</p>
        <solved::WireSolved id=id />
        <div class="pair">
            <Text
                label=strings::NUMBER
                value=text(|w| w.number.clone())
                on_commit=move |number: String| touch(strings::NUMBER, Box::new(move |w| w.number = number))
            />
            <Choice
                label=strings::GAUGE
                options=[vec![(String::new(), strings::NOT_SET.to_owned())], words::gauges()].concat()
                value=text(|w| w.gauge_awg.map_or(String::new(), |it| it.0.to_string()))
                note=text(|w| w.origins.word("gauge_awg").unwrap_or_default().to_owned())
                on_commit=move |gauge: String| {
                    let gauge = gauge.parse().ok().map(Gauge);
                    touch(strings::GAUGE, Box::new(move |w| w.gauge_awg = gauge));
                }
            />
        </div>
        <div class="pair">
            <Text
                label=strings::COLOUR
                offers=words::COLOURS
                value=text(|w| w.colour.clone())
                on_commit=move |colour: String| touch(strings::COLOUR, Box::new(move |w| w.colour = colour))
            />
            <Length
                label=strings::LENGTH
                value_m=Signal::derive(move || wire.with(|w| w.as_ref().and_then(|w| w.length_m)))
                on_commit=move |m: Amount| touch(strings::LENGTH, Box::new(move |w| w.length_m = m))
            />
        </div>
        <Given when=move || wire.with(|w| w.as_ref().is_some_and(|w| w.length_m.is_some()))>
            <LengthOrigin
                value=Signal::derive(move || wire.with(|w| w.as_ref().and_then(|w| w.origins.of("length_m"))))
                on_commit=move |from: LengthFrom| {
                    touch(strings::LENGTH_ORIGIN, Box::new(move |w| w.origins.set("length_m", from)));
                }
            />
        </Given>
        <Text
            label=strings::FUNCTION
            value=text(|w| w.function.clone())
            on_commit=move |function: String| touch(strings::FUNCTION, Box::new(move |w| w.function = function))
        />
        <div class="pair">
            <Choice
                label=strings::STATUS
                options=words::choices(words::STATUS)
                value=text(|w| words::key_of(&w.status))
                on_commit=move |status: String| {
                    if let Some(status) = words::value_of(&status) {
                        touch(strings::STATUS, Box::new(move |w| w.status = status));
                    }
                }
            />
            <Number
                label=strings::INSULATION_C
                value=Signal::derive(move || wire.with(|w| w.as_ref().and_then(|w| w.insulation_c)))
                note=Signal::derive(move || {
                    let default_c = app.session.with(|document| document.project.insulation_c);
                    wire.with(|w| w.as_ref().map_or(String::new(), |w| insulation_note(w, default_c)))
                })
                on_commit=move |c: Amount| touch(strings::INSULATION_C, Box::new(move |w| w.insulation_c = c))
            />
        </div>
        <div class="pair">
            <Choice
                label=strings::CONDUCTOR
                options=words::choices(words::CONDUCTORS)
                value=text(|w| words::key_of(&w.conductor))
                on_commit=move |conductor: String| {
                    if let Some(conductor) = words::value_of(&conductor) {
                        touch(strings::CONDUCTOR, Box::new(move |w| w.conductor = conductor));
                    }
                }
            />
            <Choice
                label=strings::FUSE
                options=strings::FUSE_AT.map(|(key, word)| (key.to_owned(), word.to_owned())).to_vec()
                value=text(|w| w.fuse.as_ref().map_or(String::new(), |fuse| words::key_of(&fuse.at)))
                on_commit=move |at: String| {
                    let at = words::value_of(&at);
                    touch(strings::FUSE, Box::new(move |w| fuse_at(w, at)));
                }
            />
        </div>
        <Given when=move || wire.with(|w| w.as_ref().is_some_and(|w| w.fuse.is_some()))>
            <Number
                label=strings::FUSE_A
                value=Signal::derive(move || {
                    wire.with(|w| w.as_ref().and_then(|w| w.fuse.as_ref()?.rating_a))
                })
                note=text(|w| {
                    let fuse = w.fuse.as_ref();
                    fuse.and_then(|it| it.origins.word("rating_a")).unwrap_or_default().to_owned()
                })
                on_commit=move |a: Amount| {
                    touch(strings::FUSE_A, Box::new(move |w| {
                        if let Some(fuse) = &mut w.fuse {
                            fuse.rating_a = a;
                        }
                    }));
                }
            />
        </Given>
        <Text
            label=strings::ROUTE_OF_WIRE
            value=Signal::derive(move || {
                app.session
                    .with(|document| {
                        wire.with(|w| {
                            let route = w.as_ref().map(|w| w.route.as_slice()).unwrap_or_default();
                            let titles = route.iter().filter_map(|id| document.routes.get(id));
                            let titles: Vec<&str> = titles.map(|it| it.title.as_str()).collect();
                            titles.join(BETWEEN_ROUTES)
                        })
                    })
            })
            on_commit=move |titles: String| {
                match app.session.peek(|document| routes_titled(document, &titles)) {
                    Ok(route) => {
                        touch(strings::ROUTE_OF_WIRE, Box::new(move |w| w.route = route));
                    }
                    // The field keeps what was typed, to be corrected.
                    Err(why) => app.session.say(why.to_string()),
                }
            }
        />
        <Area
            label=strings::NOTE
            value=text(|w| w.note.clone())
            on_commit=move |note: String| touch(strings::NOTE, Box::new(move |w| w.note = note))
        />
        <button on:click=move |_| again(app)>{strings::AGAIN}</button>
        {let_go(app, key)}
        <Circuit id=key.get_value() />
        <MoveEnd id=key.get_value() />
    }
}

/// Lets a wire that is held on the open sheet find its own way again.
fn let_go(app: App, key: StoredValue<WireId>) -> AnyView {
    let held = Memo::new(move |_| {
        let sheet = app.view.sheet.get()?;
        let wire = key.get_value();
        app.session.with(|document| {
            let held = document.sheets.get(&sheet)?.held.contains_key(&wire);
            held.then_some((sheet, wire))
        })
    });
    let go = move |_| {
        if let Some((sheet, wire)) = held.get_untracked() {
            let change = app
                .session
                .peek(|document| edit::hold_stretch(document, &sheet, &wire, None));
            app.session.try_run(strings::LET_GO, change);
        }
    };
    view! {
        <Given when=move || held.with(Option::is_some)>
            <button on:click=go>{strings::LET_GO}</button>
        </Given>
    }
    .into_any()
}

/// Where the insulation rating of a wire comes from, if it was not typed.
fn insulation_note(wire: &Wire, default_c: Amount) -> String {
    match (wire.insulation_c, default_c) {
        (None, Some(c)) => format!("{}, {c} °C", strings::PROJECT_DEFAULT),
        _ => wire
            .origins
            .word("insulation_c")
            .unwrap_or_default()
            .to_owned(),
    }
}

/// Puts an in-line fuse in at one end, its rating not set; moves it to the other; or takes it out.
fn fuse_at(wire: &mut Wire, at: Option<WireEnd>) {
    wire.fuse = at.map(|at| match wire.fuse.take() {
        Some(fuse) => InlineFuse { at, ..fuse },
        None => InlineFuse {
            at,
            rating_a: None,
            origins: loomwright_core::document::Origins::default(),
            extra: loomwright_core::document::Extra::default(),
        },
    });
}

/// Both ends as buttons that lead there.
fn ends(board: Board, wire: Memo<Option<Wire>>) -> impl IntoView {
    let app = board.app();
    move || {
        let wire = wire.get()?;
        let button = |end: loomwright_core::document::End| {
            let label = app.session.peek(|document| document.end_label(&end));
            let key = edits::key_of_end(&end);
            let absent = key.is_none();
            view! {
                <button
                    disabled=absent
                    on:click=move |_| {
                        if let Some(key) = key.clone() {
                            app.view.select(key);
                        }
                    }
                >
                    {label}
                </button>
            }
        };
        Some(view! { {button(wire.from)} " → " {button(wire.to)} })
    }
}
