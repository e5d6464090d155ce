//! Swapping a unit: the builder chooses the new one, checks its pins, and sees everything it does before
//! anything is changed.

use loomwright_core::order::InOrder;
use std::{sync::Arc, time::Duration};

use leptos::prelude::*;
use loomwright_core::{
    catalogue,
    document::{
        Device, Document, ElementKind, Extra, Figure, Load, LogEntry, LogKind, Origin, Terminal,
        natural_cmp,
    },
    edit::{self, By, Change, EditError, Pin, Record},
    ids::{DeviceId, TerminalId},
    reports::{
        html::{self, Form},
        swap::{Swap, SwapPreview, preview},
    },
};

use super::picker::picker;
use crate::{
    App, app,
    platform::{clock, focus},
    session::settings::Settings,
    strings,
    widgets::{Amount, Area, Choice, Given, Number, Tick, Views},
};

/// The element over the view.
const SUMMARY: &str = "swap-summary";

/// What the parts of the view share.
#[derive(Clone, Copy)]
struct Thought {
    app: App,
    /// The new unit, with the figures that were typed for it.
    unit: RwSignal<Option<Device>>,
    /// The key of its choice.
    chosen: RwSignal<String>,
    /// A project whose devices can be chosen.
    other: RwSignal<Option<Arc<Document>>>,
    /// Where pins go.
    pins: RwSignal<Vec<Pin>>,
    /// What is to be written into the log, once a person changed it.
    entry: RwSignal<Option<String>>,
    /// True if it is to be written.
    logs: RwSignal<bool>,
}

/// What would be, and what is said of it.
#[derive(Clone, PartialEq)]
struct Preview {
    change: Change,
    told: SwapPreview,
}

impl Thought {
    fn device(self) -> Option<DeviceId> {
        let id = self.app.view.swap.get()?;
        let is_there = self
            .app
            .session
            .with(|document| document.devices.contains_key(&id));
        is_there.then_some(id)
    }

    /// Matches the pins again for another device or another unit.
    fn begin(self) {
        let pins = match (self.device(), self.unit.get_untracked()) {
            (Some(id), Some(unit)) => self
                .app
                .session
                .peek(|document| edit::match_pins(document, &id, &unit)),
            _ => Vec::new(),
        };
        self.pins.set(pins);
        self.entry.set(None);
    }

    fn preview(self) -> Result<Option<Preview>, EditError> {
        let (Some(id), Some(unit)) = (self.device(), self.unit.get()) else {
            return Ok(None);
        };
        let pins = self.pins.get();
        if !self.app.derived.worker_check.may_work() {
            return Ok(None);
        }
        self.app.session.with(|before| {
            let Some(old) = before.devices.get(&id) else {
                return Ok(None);
            };
            let made = |pins: &[Pin]| -> Result<_, EditError> {
                let change = edit::swap(before, &id, unit.clone(), pins)?;
                Ok((change.applied(before)?, change))
            };
            let (after, change) = made(&pins)?;
            let (as_it_is, _) = made(&edit::match_cavities(old, &unit))?;
            let found = pins.iter().map(|pin| (pin.old.clone(), pin.by.words()));
            let told = preview(&Swap {
                before,
                after: &after,
                as_it_is: &as_it_is,
                device: &id,
                found: &found.collect(),
            });
            Ok(told.map(|told| Preview { change, told }))
        })
    }

    /// Puts the new unit in, and the entry into the log, as one step.
    fn put_in(self, made: &Preview) {
        let session = self.app.session;
        let entry = self.logs.get_untracked().then(|| LogEntry {
            date: clock::today(),
            who: self.app.settings.with_untracked(Settings::builder),
            kind: LogKind::Change,
            text: self
                .entry
                .get_untracked()
                .unwrap_or_else(|| made.told.draft.clone()),
            hours: None,
            results: Vec::new(),
            extra: Extra::new(),
        });
        let whole = match entry {
            Some(entry) => session
                .peek(|document| edit::add_record(document, Record::Log(entry)))
                .map(|log| made.change.clone().then(&log)),
            None => Ok(made.change.clone()),
        };
        if session.try_run(strings::SWAPPED, whole) {
            self.unit.set(None);
            self.chosen.set(String::new());
            self.app.view.swap.set(None);
            self.begin();
        }
    }
}

/// The view, folded up until a device is chosen.
#[component]
pub fn SwapUnit() -> impl IntoView {
    let app = app();
    let it = Thought {
        app,
        unit: RwSignal::new(None),
        chosen: RwSignal::new(String::new()),
        other: RwSignal::new(None),
        pins: RwSignal::new(Vec::new()),
        entry: RwSignal::new(None),
        logs: RwSignal::new(true),
    };
    let is_open = app.view.swap.with_untracked(Option::is_some);
    if is_open {
        // Whoever comes from a device's details comes for this, once it is there.
        set_timeout(|| focus::focus(SUMMARY), Duration::ZERO);
    }
    let preview = Memo::new(move |_| it.preview().map_err(|error| error.to_string()));
    view! {
        <details class="swap" open=is_open>
            <summary id=SUMMARY>{strings::SWAP}</summary>
            <p class="hush">{strings::SWAP_HELP}</p>
            <div class="paper-fields">
                <Choice
                    label=strings::TAKEN_OUT
                    options=Signal::derive(move || app.session.with(devices))
                    value=Signal::derive(move || it.device().map_or(String::new(), |id| id.to_string()))
                    on_commit=move |id: String| {
                        app.view.swap.set((!id.is_empty()).then(|| id.into()));
                        it.begin();
                    }
                />
                <Choice
                    label=strings::PUT_IN
                    options=Signal::derive(move || units(it))
                    value=it.chosen
                    on_commit=move |key: String| {
                        it.unit.set(unit(it, &key));
                        it.chosen.set(key);
                        it.begin();
                    }
                />
                {picker(app, strings::UNIT_OF_FILE, move |file| it.other.set(Some(file)))}
            </div>
            {move || {
                // Made again for another unit, not for each of its values: the cursor stays.
                it.chosen.track();
                it.unit.with_untracked(|unit| unit.as_ref().map(|unit| figures(it, unit)))
            }}
            {move || pins(it)}
            {app.derived.worker_check.ask()}
            {move || match preview.get() {
                Ok(Some(made)) => shown(it, made),
                Ok(None) => ().into_any(),
                Err(why) => view! { <p role="alert">{why}</p> }.into_any(),
            }}
        </details>
    }
}

fn none() -> (String, String) {
    (String::new(), strings::CHOOSE.to_owned())
}

/// Devices of a document by tag, with nothing chosen first.
fn devices(document: &Document) -> Vec<(String, String)> {
    std::iter::once(none()).chain(named(document, "")).collect()
}

fn named(
    document: &Document,
    before: &'static str,
) -> impl Iterator<Item = (String, String)> + use<> {
    let devices = document.devices.iter();
    let mut all: Vec<(String, String)> = devices
        .map(|(id, device)| {
            (
                format!("{before}{id}"),
                format!("{} · {}", device.tag, device.title),
            )
        })
        .collect();
    all.order_by(|a, b| natural_cmp(&a.1, &b.1));
    all.into_iter()
}

/// Units that can come in: those of the other file, of the catalogue, and others of this project.
fn units(it: Thought) -> Vec<(String, String)> {
    let other = it.other.get();
    let other = other.iter().flat_map(|document| named(document, "other:"));
    let parts = catalogue::all().iter();
    let parts = parts.map(|part| (format!("part:{}", part.id), part.name.clone()));
    let own = it.app.session.with(|document| named(document, "device:"));
    std::iter::once(none())
        .chain(other)
        .chain(parts)
        .chain(own)
        .collect()
}

fn unit(it: Thought, key: &str) -> Option<Device> {
    let (from, id) = key.split_once(':')?;
    let of = |document: &Document| document.devices.get(id).cloned();
    match from {
        "part" => catalogue::get(id).map(catalogue::Part::device),
        "other" => it.other.get_untracked().and_then(|document| of(&document)),
        _ => it.app.session.peek(of),
    }
}

/// Figures of the new unit, to be put in from its manual.
fn figures(it: Thought, unit: &Device) -> AnyView {
    let load = |element: &ElementKind| matches!(element, ElementKind::Load(_));
    let loads = unit
        .elements
        .iter()
        .enumerate()
        .filter(|(_, element)| load(&element.is));
    let rows = loads.map(|(at, element)| {
        let name = match element.label.as_str() {
            "" => String::new(),
            label => format!("{label}: "),
        };
        view! {
            {amps(it, at, format!("{name}{}", strings::CONTINUOUS_A), |load| &mut load.continuous_a)}
            {amps(it, at, format!("{name}{}", strings::INTERMITTENT_A), |load| &mut load.intermittent_a)}
            {amps(it, at, format!("{name}{}", strings::PEAK_A), |load| &mut load.peak_a)}
        }
    });
    let weight = Signal::derive(move || it.unit.with(|unit| unit.as_ref()?.weight_kg));
    view! {
        <h4>{strings::FROM_ITS_MANUAL}</h4>
        <div class="paper-fields">
            {rows.collect::<Vec<_>>().views()}
            <Number
                label=strings::WEIGHT_KG
                value=weight
                on_commit=move |kg| it.unit.update(|unit| {
                    if let Some(unit) = unit {
                        unit.weight_kg = kg;
                    }
                })
            />
        </div>
    }
    .into_any()
}

type FigureOf = fn(&mut Load) -> &mut Option<Figure>;

/// A figure of a load of the unit.
fn figure(unit: &mut Device, at: usize, of: FigureOf) -> Option<&mut Option<Figure>> {
    match unit.elements.get_mut(at).map(|it| &mut it.is) {
        Some(ElementKind::Load(load)) => Some(of(load)),
        _ => None,
    }
}

fn amps(it: Thought, at: usize, label: String, of: FigureOf) -> AnyView {
    let value = Signal::derive(move || {
        let mut unit = it.unit.get()?;
        figure(&mut unit, at, of)?.as_ref().map(|it| it.amps)
    });
    let put = move |amps: Amount| {
        it.unit.update(|unit| {
            let there = unit.as_mut().and_then(|unit| figure(unit, at, of));
            if let Some(there) = there {
                *there = amps.map(|amps| Figure {
                    amps,
                    origin: Origin::Manual,
                    extra: Extra::new(),
                });
            }
        });
    };
    view! { <Number label=label value=value on_commit=put /> }.into_any()
}

/// The pins that something is on, each with a choice of where it goes.
fn pins(it: Thought) -> AnyView {
    it.chosen.track();
    let (Some(id), Some(unit)) = (it.device(), it.unit.get_untracked()) else {
        return ().into_any();
    };
    let label = |terminal: &Terminal| {
        let name = unit.terminal_label(terminal);
        let name = name.strip_prefix(&unit.tag).map_or(&*name, str::trim_start);
        format!("{name} · {}", use_of(terminal))
    };
    let terminals = unit.terminals.iter();
    let open = (String::new(), strings::LEFT_OPEN.to_owned());
    let options = terminals.map(|terminal| (terminal.id.to_string(), label(terminal)));
    let options: Vec<_> = std::iter::once(open).chain(options).collect();
    let options = Signal::stored(options);
    let rows = it.app.session.with(|document| {
        let old = document.devices.get(&id);
        let used = edit::used_terminals(document, &id);
        let used = old.into_iter().flat_map(|old| {
            let terminals = old
                .terminals
                .iter()
                .filter(|terminal| used.contains(&terminal.id));
            terminals.map(|terminal| {
                (
                    terminal.id.clone(),
                    format!("{} · {}", old.terminal_label(terminal), use_of(terminal)),
                )
            })
        });
        used.collect::<Vec<_>>()
    });
    let rows = rows.into_iter().map(|(old, label)| {
        let key = StoredValue::new(old);
        let goes = Signal::derive(move || {
            let old = key.get_value();
            it.pins
                .with(|pins| {
                    let pin = pins.iter().find(|pin| pin.old == old)?;
                    pin.new.as_ref().map(ToString::to_string)
                })
                .unwrap_or_default()
        });
        view! {
            <Choice
                label=label
                options=options
                value=goes
                on_commit=move |new: String| it.pins.update(|pins| {
                    let old = key.get_value();
                    for pin in pins.iter_mut().filter(|pin| pin.old == old) {
                        pin.new = (!new.is_empty()).then(|| TerminalId::from(new.as_str()));
                        pin.by = By::Hand;
                    }
                })
            />
        }
    });
    view! {
        <h4>{strings::WHERE_PINS_GO}</h4>
        <div class="paper-fields">{rows.collect::<Vec<_>>().views()}</div>
    }
    .into_any()
}

fn use_of(terminal: &Terminal) -> &str {
    match terminal.name.as_str() {
        "" => terminal.role.words(),
        name => name,
    }
}

fn shown(it: Thought, made: Preview) -> AnyView {
    let paper = html::body(&made.told.paper, Form::Screen);
    let draft = made.told.draft.clone();
    let entry = Signal::derive(move || it.entry.get().unwrap_or_else(|| draft.clone()));
    view! {
        <div class="on-paper on-screen" inner_html=paper></div>
        <Tick
            label=strings::WRITE_IN_LOG
            value=it.logs
            on_commit=move |on: bool| it.logs.set(on)
        />
        <Given when=move || it.logs.get()>
            <Area
                label=strings::NEW_ENTRY
                value=entry
                on_commit=move |text: String| it.entry.set(Some(text))
            />
        </Given>
        <button class="main" on:click=move |_| it.put_in(&made)>{strings::SWAP_NOW}</button>
    }
    .into_any()
}
