//! Details of a cable: cores, and what happens to its shield at each end.

use crate::{
    commands::edit,
    strings::words,
    widgets::{Given, Views},
};
use leptos::prelude::*;
use loomwright_core::{
    document::{Cable, Document, End, Extra, Shield, ShieldEnd, WireEnd},
    edit::{Key, Record, shield_points},
    ids::CableId,
};

use crate::{
    App, app, strings,
    widgets::{Amount, Area, Choice, Number, Text, Tick},
};

/// Something that edits a cable.
type Touch = Box<dyn FnOnce(&mut Cable)>;

fn edit_cable(app: App, label: &str, id: &CableId, touch: impl FnOnce(&mut Cable)) {
    edit(app.session, label, Key::Cable(id.clone()), |record, _| {
        if let Record::Cable(cable) = record {
            touch(cable);
        }
    });
}

/// The panel.
#[component]
pub fn CableDetails(
    /// The cable.
    id: CableId,
) -> impl IntoView {
    let app = app();
    let key = StoredValue::new(id.clone());
    let cable: Memo<Option<Cable>> = Memo::new(move |_| {
        app.session
            .with(|document| document.cables.get(&id).cloned())
    });
    let touch = move |label: &str, touch: Touch| edit_cable(app, label, &key.get_value(), touch);
    let text = move |read: fn(&Cable) -> String| {
        Signal::derive(move || cable.with(|c| c.as_ref().map(read).unwrap_or_default()))
    };
    let has_shield =
        Memo::new(move |_| cable.with(|c| c.as_ref().is_some_and(|c| c.shield.is_some())));
    view! {
        <div class="pair">
            <Text
                label=strings::CABLE_LABEL
                value=text(|c| c.label.clone())
                on_commit=move |label: String| touch(strings::CABLE_LABEL, Box::new(move |c| c.label = label))
            />
            <Choice
                label=strings::KIND
                options=words::choices(words::CABLE_KINDS)
                value=text(|c| words::key_of(&c.kind))
                on_commit=move |kind: String| {
                    if let Some(kind) = words::value_of(&kind) {
                        touch(strings::KIND, Box::new(move |c| c.kind = kind));
                    }
                }
            />
        </div>
        <h3>{strings::CORES}</h3>
        <ul class="parts">{move || cores(app, cable)}</ul>
        <Tick
            label=strings::HAS_SHIELD
            value=has_shield
            on_commit=move |on: bool| touch(strings::HAS_SHIELD, Box::new(move |c| shield(c, on)))
        />
        <Given when=move || has_shield.get()>
            {[WireEnd::From, WireEnd::To].map(|end| shield_end(app, cable, key, end)).views()}
        </Given>
        <Area
            label=strings::NOTE
            value=text(|c| c.note.clone())
            on_commit=move |note: String| touch(strings::NOTE, Box::new(move |c| c.note = note))
        />
    }
}

fn shield(cable: &mut Cable, on: bool) {
    cable.shield = on.then(|| Shield {
        from: ShieldEnd::Floating,
        to: ShieldEnd::Floating,
        gauge_awg: None,
        extra: Extra::default(),
    });
}

fn cores(app: App, cable: Memo<Option<Cable>>) -> impl IntoView {
    let wires = cable.with(|c| c.as_ref().map(|c| c.wires.clone()).unwrap_or_default());
    wires
        .into_iter()
        .map(|id| {
            let text = app.session.with(|document| core_label(document, &id));
            view! {
                <li>
                    <button class="row" on:click=move |_| app.view.select(Key::Wire(id.clone()))>
                        {text}
                    </button>
                </li>
            }
        })
        .views()
}

fn core_label(document: &Document, id: &loomwright_core::ids::WireId) -> String {
    let ends = document.wires.get(id).map(|wire| {
        format!(
            "{} → {}",
            document.end_label(&wire.from),
            document.end_label(&wire.to)
        )
    });
    format!("{} {}", document.wire_label(id), ends.unwrap_or_default())
}

/// What happens to the shield at one end: floating, tied, carried, and where.
fn shield_end(
    app: App,
    cable: Memo<Option<Cable>>,
    key: StoredValue<CableId>,
    which: WireEnd,
) -> impl IntoView {
    let get = move || {
        cable.with(|c| {
            let shield = c.as_ref()?.shield.as_ref()?;
            Some(if which == WireEnd::From {
                shield.from.clone()
            } else {
                shield.to.clone()
            })
        })
    };
    let set = move |label: &str, end: ShieldEnd| {
        edit_cable(app, label, &key.get_value(), |cable| {
            if let Some(shield) = &mut cable.shield {
                *(if which == WireEnd::From {
                    &mut shield.from
                } else {
                    &mut shield.to
                }) = end;
            }
        });
    };
    // What was chosen, until the place is set.
    let waits = RwSignal::new("");
    let word = move || match get() {
        Some(ShieldEnd::Tied { .. }) => "tied",
        Some(ShieldEnd::Carried { .. }) => "carried",
        _ if waits.get() != "" => waits.get(),
        _ => "floating",
    };
    let places = Signal::derive(move || {
        app.session.with(|document| {
            cable.with(|c| {
                let points = c.as_ref().map(|c| shield_points(document, c, which));
                let points = points.unwrap_or_default().into_iter();
                let points = points.map(|it| (it.end.to_string(), it.label));
                let none = (String::new(), strings::NOT_CHOSEN.to_owned());
                std::iter::once(none).chain(points).collect::<Vec<_>>()
            })
        })
    });
    let near = Memo::new(move |_| {
        app.session.with(|document| {
            cable.with(|c| {
                c.as_ref()
                    .map(|c| first_end(document, c, which))
                    .unwrap_or_default()
            })
        })
    });
    let choose = move |word: String| {
        let at = untrack(get).and_then(|end| end.at().cloned());
        waits.set(match (word.as_str(), &at) {
            ("tied", None) => "tied",
            ("carried", None) => "carried",
            _ => "",
        });
        let floats = at.is_none() && untrack(get) == Some(ShieldEnd::Floating);
        if !floats {
            set(strings::SHIELD, end_of(&word, at));
        }
    };
    let choose_at = move |at: String| {
        let (Ok(at), Some(end)) = (at.parse::<End>(), untrack(get)) else {
            return;
        };
        let end = match end {
            ShieldEnd::Carried { extra, .. } => ShieldEnd::Carried { at, extra },
            ShieldEnd::Tied {
                pigtail_mm, extra, ..
            } => ShieldEnd::Tied {
                at,
                pigtail_mm,
                extra,
            },
            ShieldEnd::Floating => end_of(waits.get_untracked(), Some(at)),
        };
        waits.set("");
        set(strings::SHIELD, end);
    };
    view! {
        <section class="element">
            <h3>{strings::SHIELD_AT} " " {near}</h3>
            <div class="pair">
                <Choice
                    label=strings::SHIELD
                    options=words::choices(&["floating", "tied", "carried"])
                    value=Signal::derive(move || word().to_owned())
                    on_commit=choose
                />
                <Given when=move || word() != "floating">
                    <Choice
                        label=strings::SHIELD_TO
                        options=places
                        value=Signal::derive(move || {
                            get().and_then(|end| end.at().map(ToString::to_string)).unwrap_or_default()
                        })
                        on_commit=choose_at
                    />
                </Given>
            </div>
            <Given when=move || waits.get() != "">
                <p class="hush">{strings::SHIELD_CHOOSE}</p>
            </Given>
            <Given when=move || matches!(get(), Some(ShieldEnd::Tied { .. }))>
                <Number
                    label=strings::PIGTAIL_MM
                    value=Signal::derive(move || match get() {
                        Some(ShieldEnd::Tied { pigtail_mm, .. }) => pigtail_mm,
                        _ => None,
                    })
                    on_commit=move |mm: Amount| {
                        if let Some(ShieldEnd::Tied { at, extra, .. }) = untrack(get) {
                            set(strings::PIGTAIL_MM, ShieldEnd::Tied { at, pigtail_mm: mm, extra });
                        }
                    }
                />
            </Given>
        </section>
    }
}

/// The state of a shield's end; floating where no place is set.
fn end_of(word: &str, at: Option<End>) -> ShieldEnd {
    match (word, at) {
        ("tied", Some(at)) => ShieldEnd::Tied {
            at,
            pigtail_mm: None,
            extra: Extra::default(),
        },
        ("carried", Some(at)) => ShieldEnd::Carried {
            at,
            extra: Extra::default(),
        },
        _ => ShieldEnd::Floating,
    }
}

/// The label of the first core's end on one side of a cable.
fn first_end(document: &Document, cable: &Cable, which: WireEnd) -> String {
    let wire = cable.wires.first().and_then(|id| document.wires.get(id));
    wire.map_or_else(String::new, |wire| {
        document.end_label(if which == WireEnd::From {
            &wire.from
        } else {
            &wire.to
        })
    })
}
