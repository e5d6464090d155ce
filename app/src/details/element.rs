//! What is inside a device: loads, protectors, switches, jacks.

use leptos::prelude::*;
use loomwright_core::{
    document::{
        Device, Element, ElementKind, Extra, Figure, Load, Origin, Reserve, Terminal, read::read,
    },
    edit::{add_element, remove_element},
    ids::{DeviceId, ElementId},
};
use serde_json::json;

use crate::{
    App, app,
    commands::edit_device,
    commands::operate,
    strings,
    strings::words,
    widgets::{Amount, Choice, Fold, Icon, Number, Tick, rows},
};

/// Something that edits an element.
type Touch = Box<dyn FnOnce(&mut ElementKind)>;

/// The elements, one after another.
#[component]
pub fn Elements(
    /// The device.
    id: DeviceId,
    /// The device's record.
    device: Memo<Device>,
) -> impl IntoView {
    let key = StoredValue::new(id);
    let elements =
        move || device.with(|d| d.elements.iter().map(|e| e.id.clone()).collect::<Vec<_>>());
    let list = rows(elements, ToString::to_string, move |element| {
        one(Handle {
            app: app(),
            device,
            key: StoredValue::new((key.get_value(), element)),
        })
    });
    view! {
        {list}
        {add(key, device)}
    }
}

/// What can be put between two terminals, as files write it, with the figures it begins with.
fn new_element(kind: &str, a: &str, b: &str) -> Option<ElementKind> {
    let is = match kind {
        "load" => json!({"plus": a, "minus": b, "law": "constant_power", "at_v": 13.8}),
        "switch" => json!({"positions": [{"label": "OFF"}, {"label": "ON", "joins": [[a, b]]}]}),
        "protector" => json!({"line": a, "load": b, "rating_a": 5.0, "style": "breaker"}),
        "resistor" => json!({"a": a, "b": b, "ohm": 120.0}),
        "diode" => json!({"anode": a, "cathode": b, "vf_v": 0.7, "ohm": 0.02}),
        "bar" => json!({"terminals": [a, b], "used_as": "joint"}),
        _ => return None,
    };
    read(&json!({ kind: is })).ok()
}

/// Puts something between two terminals of a device.
fn add(key: StoredValue<DeviceId>, device: Memo<Device>) -> AnyView {
    let app = app();
    let kind = RwSignal::new(words::ELEMENTS[0].to_owned());
    let ends = [RwSignal::new(String::new()), RwSignal::new(String::new())];
    let terminals = Signal::derive(move || {
        let choice = |terminal: &Terminal| {
            let words = format!("{} {}", terminal.label, terminal.name);
            (terminal.id.to_string(), words)
        };
        let first = std::iter::once((String::new(), String::new()));
        first
            .chain(device.with(|it| it.terminals.iter().map(choice).collect::<Vec<_>>()))
            .collect::<Vec<_>>()
    });
    let end = move |label: &'static str, at: usize| {
        let end = ends[at];
        view! {
            <Choice label=label options=terminals value=end on_commit=move |id| end.set(id) />
        }
        .into_any()
    };
    let put = move |_| {
        let [a, b] = ends.map(|it| it.get_untracked());
        let Some(is) = kind.with_untracked(|kind| new_element(kind, &a, &b)) else {
            return;
        };
        let element = Element {
            id: "e1".into(),
            label: String::new(),
            is,
            extra: Extra::default(),
        };
        let change = app
            .session
            .peek(|document| key.with_value(|id| add_element(document, id, element)));
        app.session.try_run(strings::ADD_ELEMENT, change);
    };
    let is_incomplete = move || {
        let [a, b] = ends.map(|it| it.get());
        a.is_empty() || b.is_empty() || a == b
    };
    view! {
        <Fold class="add-element" title=strings::ADD_ELEMENT>
            <Choice
                label=strings::KIND
                options=words::choices(words::ELEMENTS)
                value=kind
                on_commit=move |it| kind.set(it)
            />
            <div class="pair">{end(strings::FROM, 0)} {end(strings::TO, 1)}</div>
            <button disabled=is_incomplete on:click=put>
                {strings::ADD_ELEMENT}
            </button>
        </Fold>
    }
    .into_any()
}

/// One element of one device.
#[derive(Clone, Copy)]
struct Handle {
    app: App,
    device: Memo<Device>,
    key: StoredValue<(DeviceId, ElementId)>,
}

impl Handle {
    fn with<T>(self, read: impl FnOnce(&Element) -> T) -> Option<T> {
        self.device
            .with(|device| self.key.with_value(|(_, id)| device.element(id).map(read)))
    }

    fn number(
        self,
        read: impl Fn(&ElementKind) -> Option<f64> + Send + Sync + 'static,
    ) -> Signal<Option<f64>> {
        Signal::derive(move || self.with(|e| read(&e.is)).flatten())
    }

    fn word(self, read: fn(&ElementKind) -> String) -> Signal<String> {
        Signal::derive(move || self.with(|e| read(&e.is)).unwrap_or_default())
    }

    fn touch(self, label: &str, touch: Touch) {
        let (id, element) = self.key.get_value();
        edit_device(self.app.session, label, &id, |device| {
            if let Some(element) = device.elements.iter_mut().find(|e| e.id == element) {
                touch(&mut element.is);
            }
        });
    }

    fn state_key(self) -> String {
        self.key
            .with_value(|(device, element)| format!("{device}/{element}"))
    }
}

macro_rules! number {
    ($handle:ident, $label:expr, $kind:ident, $record:ident => $read:expr; $typed:ident => $write:expr) => {
        view! {
            <Number
                label=$label
                value=$handle.number(|kind| match kind {
                    ElementKind::$kind($record) => $read,
                    _ => None,
                })
                on_commit=move |$typed: Amount| {
                    $handle.touch($label, Box::new(move |kind| {
                        if let ElementKind::$kind($record) = kind {
                            $write;
                        }
                    }));
                }
            />
        }
    };
    ($handle:ident, $label:expr, $kind:ident, $record:ident => $read:expr, $typed:ident => $write:expr) => {
        view! {
            <Number
                label=$label
                needed=true
                value=$handle.number(|kind| match kind {
                    ElementKind::$kind($record) => Some($read),
                    _ => None,
                })
                on_commit=move |typed: Amount| {
                    if let Some($typed) = typed {
                        $handle.touch($label, Box::new(move |kind| {
                            if let ElementKind::$kind($record) = kind {
                                $write;
                            }
                        }));
                    }
                }
            />
        }
    };
}

fn one(handle: Handle) -> AnyView {
    let label = move || handle.with(|e| e.label.clone()).unwrap_or_default();
    let Some(kind) = handle.with(|e| e.is.clone()) else {
        return ().into_any();
    };
    let (word, body) = match kind {
        ElementKind::Load(_) => (strings::LOAD, load(handle)),
        ElementKind::Protector(_) => (strings::PROTECTION, protector(handle)),
        ElementKind::Switch(_) => (strings::SWITCH, switch(handle)),
        ElementKind::Jack(_) => (strings::JACK, jack(handle)),
        ElementKind::Battery(_) => (strings::BATTERY, battery(handle)),
        ElementKind::Alternator(_) => (strings::ALTERNATOR, alternator(handle)),
        ElementKind::Resistor(_) => (strings::RESISTOR, resistor(handle)),
        ElementKind::Coil(_) => (strings::COIL, coil(handle)),
        ElementKind::Contact(_) => (
            strings::CONTACT,
            number!(handle, strings::RATING_A, Contact, c => c.rating_a; a => c.rating_a = a)
                .into_any(),
        ),
        ElementKind::Diode(_) => (strings::DIODE, diode(handle)),
        // Nothing to set: metal as the catalogue has it.
        _ => return ().into_any(),
    };
    let remove = move |_| {
        let (id, element) = handle.key.get_value();
        let change = handle
            .app
            .session
            .peek(|document| remove_element(document, &id, &element));
        handle.app.session.try_run(strings::REMOVE_ELEMENT, change);
    };
    view! {
        <section class="element">
            <h3 class="ends">
                <span>{word} " " {label}</span>
                <button
                    class="plain"
                    aria-label=strings::REMOVE_ELEMENT
                    title=strings::REMOVE_ELEMENT
                    on:click=remove
                >
                    <Icon name="delete" />
                </button>
            </h3>
            {body}
        </section>
    }
    .into_any()
}

fn figure(
    handle: Handle,
    label: &'static str,
    read: fn(&Load) -> Option<&Figure>,
    write: fn(&mut Load, Option<Figure>),
) -> impl IntoView {
    let get = move || {
        handle
            .with(|e| match &e.is {
                ElementKind::Load(load) => read(load).cloned(),
                _ => None,
            })
            .flatten()
    };
    let set = move |figure: Option<Figure>| {
        handle.touch(
            label,
            Box::new(move |kind| {
                if let ElementKind::Load(load) = kind {
                    write(load, figure);
                }
            }),
        );
    };
    let make = |amps, origin| Figure {
        amps,
        origin,
        extra: loomwright_core::document::Extra::default(),
    };
    view! {
        <div class="pair">
            <Number
                label=label
                value=Signal::derive(move || get().map(|f| f.amps))
                on_commit=move |amps: Amount| {
                    let origin = untrack(get).map_or(Origin::Estimate, |f| f.origin);
                    set(amps.map(|amps| make(amps, origin)));
                }
            />
            <Choice
                label=strings::ORIGIN
                options=words::choices(words::ORIGINS)
                value=Signal::derive(move || {
                    get().map_or_else(String::new, |f| words::key_of(&f.origin))
                })
                on_commit=move |origin: String| {
                    if let (Some(origin), Some(was)) = (words::value_of(&origin), untrack(get)) {
                        set(Some(Figure { origin, ..was }));
                    }
                }
            />
        </div>
    }
}

macro_rules! choice {
    ($handle:ident, $label:expr, $words:expr, $load:ident => $read:expr, $chosen:ident => $write:expr) => {
        view! {
            <Choice
                label=$label
                options=words::choices($words)
                value=$handle.word(|kind| match kind {
                    ElementKind::Load($load) => $read.map(words::key_of).unwrap_or_default(),
                    _ => String::new(),
                })
                on_commit=move |chosen: String| {
                    let $chosen = words::value_of(&chosen);
                    $handle.touch($label, Box::new(move |kind| {
                        if let ElementKind::Load($load) = kind {
                            $write;
                        }
                    }));
                }
            />
        }
    };
}

fn load(handle: Handle) -> AnyView {
    view! {
        {figure(handle, strings::CONTINUOUS_A, |l| l.continuous_a.as_ref(), |l, f| l.continuous_a = f)}
        {figure(handle, strings::INTERMITTENT_A, |l| l.intermittent_a.as_ref(), |l, f| l.intermittent_a = f)}
        {figure(handle, strings::PEAK_A, |l| l.peak_a.as_ref(), |l, f| l.peak_a = f)}
        {number!(handle, strings::DUTY, Load, l => l.duty; duty => l.duty = duty)}
        {number!(handle, strings::LOAD_CUTOFF_V, Load, l => l.cutoff_v; v => l.cutoff_v = v)}
        <Tick
            label=strings::EITHER_WAY
            value=Signal::derive(move || {
                handle.with(|e| matches!(&e.is, ElementKind::Load(load) if load.either_way)).unwrap_or(false)
            })
            on_commit=move |on: bool| {
                handle.touch(strings::EITHER_WAY, Box::new(move |kind| {
                    if let ElementKind::Load(load) = kind {
                        load.either_way = on;
                    }
                }));
            }
        />
        <div class="pair">
            {number!(handle, strings::AT_V, Load, l => l.at_v, v => l.at_v = v)}
            {choice!(handle, strings::LAW, words::LAWS, l => Some(&l.law), law => if let Some(law) = law { l.law = law })}
        </div>
        <div class="pair">
            {choice!(handle, strings::SORT, words::SORTS, l => Some(&l.sort), sort => if let Some(sort) = sort { l.sort = sort })}
            {choice!(handle, strings::PULSES, words::PULSES, l => l.pulses.as_ref(), pulses => l.pulses = pulses)}
        </div>
    }
    .into_any()
}

fn protector(handle: Handle) -> AnyView {
    let key = handle.state_key();
    let of = key.clone();
    let pulled = move || {
        handle
            .app
            .derived
            .state
            .with(|state| state.pulled.contains(&of))
    };
    view! {
        <div class="pair">
            {number!(handle, strings::RATING_A, Protector, p => p.rating_a, a => p.rating_a = a)}
            {number!(handle, strings::TRIP_S, Protector, p => p.trip_s; s => p.trip_s = s)}
            <button
                class="operate"
                data-operate=key.clone()
                on:click=move |_| operate::operate(handle.app, &key)
            >
                {move || if pulled() { strings::PUSH_IN } else { strings::PULL }}
            </button>
        </div>
    }
    .into_any()
}

fn switch(handle: Handle) -> AnyView {
    let key = StoredValue::new(handle.state_key());
    let labels = move || {
        handle
            .with(|e| match &e.is {
                ElementKind::Switch(switch) => switch
                    .positions
                    .iter()
                    .map(|p| p.label.clone())
                    .enumerate()
                    .collect(),
                _ => Vec::new(),
            })
            .unwrap_or_default()
    };
    let at = move || {
        handle
            .with(|e| match &e.is {
                ElementKind::Switch(switch) => handle
                    .app
                    .derived
                    .state
                    .with(|state| key.with_value(|key| operate::position(state, key, switch))),
                _ => 0,
            })
            .unwrap_or_default()
    };
    let button = move |(index, label): (usize, String)| {
        view! {
            <button
                aria-pressed=move || if at() == index { "true" } else { "false" }
                on:click=move |_| operate::throw(handle.app, &key.get_value(), index)
            >
                {label}
            </button>
        }
        .into_any()
    };
    view! {
        <div class="choices" role="group" data-operate=key.get_value()>
            {rows(labels, |(index, label)| format!("{index} {label}"), button)}
        </div>
        {number!(handle, strings::RATING_A, Switch, s => s.rating_a; a => s.rating_a = a)}
    }
    .into_any()
}

fn jack(handle: Handle) -> AnyView {
    view! {
        <Tick
            label=strings::ISOLATED
            value=Signal::derive(move || {
                handle.with(|e| matches!(&e.is, ElementKind::Jack(jack) if jack.isolated)).unwrap_or(false)
            })
            on_commit=move |on: bool| {
                handle.touch(strings::ISOLATED, Box::new(move |kind| {
                    if let ElementKind::Jack(jack) = kind {
                        jack.isolated = on;
                    }
                }));
            }
        />
    }
    .into_any()
}

fn battery(handle: Handle) -> AnyView {
    view! {
        <div class="pair">
            {number!(handle, strings::EMF_V, Battery, b => b.emf_v, v => b.emf_v = v)}
            {number!(handle, strings::INNER_OHM, Battery, b => b.ohm, v => b.ohm = v)}
        </div>
        {number!(handle, strings::CAPACITY_AH, Battery, b => b.capacity_ah; ah => b.capacity_ah = ah)}
        <p class="hush">{strings::RESERVE_HELP}</p>
        <div class="pair">{RESERVE.map(|(label, field)| reserve(handle, label, field))}</div>
    }
    .into_any()
}

/// A figure of what a battery can give.
type ReserveField = fn(&mut Reserve) -> &mut Option<f64>;

const RESERVE: [(&str, ReserveField); 8] = [
    (strings::CHARGE_FACTOR, |it| &mut it.charge_factor),
    (strings::AGE_FACTOR, |it| &mut it.age_factor),
    (strings::RATE_FACTOR, |it| &mut it.rate_factor),
    (strings::TEMPERATURE_FACTOR, |it| &mut it.temperature_factor),
    (strings::PEUKERT, |it| &mut it.peukert),
    (strings::RATED_H, |it| &mut it.rated_h),
    (strings::EMPTY_OHM, |it| &mut it.empty_ohm),
    (strings::BATTERY_CUTOFF_V, |it| &mut it.cutoff_v),
];

fn reserve(handle: Handle, label: &'static str, field: ReserveField) -> AnyView {
    view! {
        <Number
            label=label
            value=handle.number(move |kind| match kind {
                ElementKind::Battery(battery) => *field(&mut battery.reserve.clone()?),
                _ => None,
            })
            on_commit=move |value: Amount| {
                handle.touch(label, Box::new(move |kind| {
                    if let ElementKind::Battery(battery) = kind {
                        let mut reserve = battery.reserve.take().unwrap_or_default();
                        *field(&mut reserve) = value;
                        battery.reserve = Some(reserve).filter(|it| *it != Reserve::default());
                    }
                }));
            }
        />
    }
    .into_any()
}

fn alternator(handle: Handle) -> AnyView {
    view! {
        <div class="pair">
            {number!(handle, strings::SET_V, Alternator, a => a.set_v, v => a.set_v = v)}
            {number!(handle, strings::LIMIT_A, Alternator, a => a.limit_a, v => a.limit_a = v)}
        </div>
    }
    .into_any()
}

fn resistor(handle: Handle) -> AnyView {
    number!(handle, strings::OHM, Resistor, r => r.ohm, v => r.ohm = v).into_any()
}

fn diode(handle: Handle) -> AnyView {
    view! {
        <div class="pair">
            {number!(handle, strings::FORWARD_V, Diode, d => d.vf_v, v => d.vf_v = v)}
            {number!(handle, strings::RATING_A, Diode, d => d.rating_a; a => d.rating_a = a)}
        </div>
    }
    .into_any()
}

fn coil(handle: Handle) -> AnyView {
    view! {
        <div class="pair">
            {number!(handle, strings::OHM, Coil, c => c.ohm, v => c.ohm = v)}
            {number!(handle, strings::PULL_IN_V, Coil, c => c.pull_in_v, v => c.pull_in_v = v)}
        </div>
    }
    .into_any()
}
