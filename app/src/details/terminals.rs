//! The terminals of a device: names, roles, what is wired to each.

use std::time::Duration;

use crate::{commands::edit_device, strings::words, widgets::Views};
use leptos::prelude::*;
use loomwright_core::{
    document::{Device, Document, End, Role, Terminal, TerminalForm},
    edit::{Key, add_terminal, remove_terminal},
    ids::{DeviceId, TerminalId, WireId},
};

use super::solved;
use crate::{
    App, app, strings,
    surface::Board,
    widgets::{Amount, Icon, Number, Select, Text, rows},
};

/// Terminals shown at once; those after them come with the next frame, so that a tap on a large unit is answered
/// before it.
const AT_ONCE: usize = 8;

/// The table.
#[component]
pub fn Terminals(
    /// The board wires are begun on.
    board: Board,
    /// The device.
    id: DeviceId,
    /// The device's record.
    device: Memo<Device>,
) -> impl IntoView {
    let app = app();
    let key = StoredValue::new(id);
    let most = RwSignal::new(AT_ONCE);
    request_animation_frame(move || {
        // The panel may be gone by then.
        let show_all = move || {
            let _ = most.try_set(usize::MAX);
        };
        set_timeout(show_all, Duration::ZERO);
    });
    let terminals = move || {
        device.with(|d| {
            d.terminals
                .iter()
                .map(|terminal| terminal.id.clone())
                .take(most.get())
                .collect::<Vec<_>>()
        })
    };
    let roles = Signal::stored(words::choices(words::ROLES));
    let row = move |terminal| {
        view! { <Row board=board id=key.get_value() terminal=terminal device=device roles=roles /> }
            .into_any()
    };
    view! {
        <details class="terminals" open>
            <summary>{strings::TERMINALS}</summary>
            <ul class="terminal-list">
                {rows(terminals, ToString::to_string, row)}
            </ul>
            <button on:click=move |_| add(app, &key.get_value())>{strings::ADD_TERMINAL}</button>
        </details>
    }
}

#[component]
fn Row(
    board: Board,
    id: DeviceId,
    terminal: TerminalId,
    device: Memo<Device>,
    roles: Signal<Vec<(String, String)>>,
) -> impl IntoView {
    let app = app();
    let end = End::Terminal(id.clone(), terminal.clone());
    let own = StoredValue::new((id, terminal));
    let find =
        move || device.with(|d| own.with_value(|(_, terminal)| d.terminal(terminal).cloned()));
    let this = Memo::new(move |_| find());
    let text = move |read: fn(&Terminal) -> String| {
        move || this.with(|terminal| terminal.as_ref().map(read).unwrap_or_default())
    };
    let touch = move |label: &str, touch: Box<dyn FnOnce(&mut Terminal)>| {
        let (id, terminal) = own.get_value();
        edit_device(app.session, label, &id, |device| {
            if let Some(terminal) = device.terminals.iter_mut().find(|t| t.id == terminal) {
                touch(terminal);
            }
        });
    };
    let connector = move || {
        device.with(|d| {
            let connector = this.get().and_then(|terminal| terminal.connector);
            connector.and_then(|id| d.connector(&id).map(|c| c.label.clone()))
        })
    };
    let begin = end.clone();
    let name = end.to_string();
    view! {
        <li class="terminal" data-terminal=name>
            <span class="terminal-mark">
                {connector} " "
                <input
                    class="short"
                    aria-label=strings::TERMINAL_LABEL
                    prop:value=text(|t| t.label.clone())
                    on:change=move |event| {
                        let label = event_target_value(&event).trim().to_owned();
                        touch(strings::TERMINAL_LABEL, Box::new(move |t| t.label = label));
                    }
                />
            </span>
            <input
                class="name"
                aria-label=strings::TERMINAL_NAME
                placeholder=strings::TERMINAL_NAME
                prop:value=text(|t| t.name.clone())
                on:change=move |event| {
                    let name = event_target_value(&event).trim().to_owned();
                    touch(strings::TERMINAL_NAME, Box::new(move |t| t.name = name));
                }
            />
            <Select
                spoken=strings::ROLE
                options=roles
                value=Signal::derive(text(|t| words::key_of(&t.role)))
                on_commit=move |role: String| {
                    if let Some(role) = words::value_of(&role) {
                        touch(strings::ROLE, Box::new(move |t| t.role = role));
                    }
                }
            />
            <span class="wired">
                {wired(app, end.clone())}
                <button
                    class="plain"
                    aria-label=strings::BEGIN_WIRE
                    title=strings::BEGIN_WIRE
                    on:click=move |_| board.begin_or_end_wire(begin.clone())
                >
                    <Icon name="wire" />
                </button>
                <solved::EndVolts end=end />
            </span>
            {move || {
                let role = this.with(|t| t.as_ref().map(|t| t.role)).unwrap_or_default();
                figures_of(role)
                    .iter()
                    .map(|&(label, field)| {
                        view! {
                            <Number
                                label=label
                                value=Signal::derive(move || {
                                    this.with(|t| t.clone().and_then(|mut t| *field(&mut t)))
                                })
                                on_commit=move |value: Amount| {
                                    touch(label, Box::new(move |t| *field(t) = value));
                                }
                            />
                        }
                    })
                    .views()
            }}
            {move || {
                let form = this.with(|t| t.as_ref().map(|t| t.form));
                let has_thread = matches!(form, Some(TerminalForm::Stud | TerminalForm::Screw));
                has_thread.then(|| view! {
                    <Text
                        label=strings::STUD
                        value=Signal::derive(text(|t| t.stud.clone()))
                        on_commit=move |stud: String| touch(strings::STUD, Box::new(move |t| t.stud = stud))
                    />
                })
            }}
            <label class="tick">
                <input
                    type="checkbox"
                    prop:checked=move || this.with(|t| t.as_ref().is_some_and(|t| t.covered))
                    on:change=move |event| {
                        let on = event_target_checked(&event);
                        touch(strings::COVERED, Box::new(move |t| t.covered = on));
                    }
                />
                <span>{strings::COVERED}</span>
            </label>
            <button
                class="plain"
                aria-label=strings::REMOVE_TERMINAL
                title=strings::REMOVE_TERMINAL
                on:click=move |_| {
                    let (id, terminal) = own.get_value();
                    let change = app
                        .session
                        .peek(|document| remove_terminal(document, &id, &terminal));
                    app.session.try_run(strings::REMOVE_TERMINAL, change);
                }
            >
                <Icon name="delete" />
            </button>
        </li>
    }
}

/// A figure of a terminal.
type Field = fn(&mut Terminal) -> &mut Option<f64>;

/// The figures that a terminal of this role may have.
fn figures_of(role: Role) -> &'static [(&'static str, Field)] {
    match role {
        Role::SerialTx | Role::SerialRx | Role::CanHigh | Role::Arinc429A => {
            &[(strings::BIT_PER_S, |t| &mut t.bit_per_s)]
        }
        Role::AudioHigh => &[
            (strings::LEVEL_V, |t| &mut t.level_v),
            (strings::BIAS_V, |t| &mut t.bias_v),
        ],
        _ => &[],
    }
}

/// Buttons for the wires at an end.
fn wired(app: App, end: End) -> impl IntoView {
    let wires = Memo::new(move |_| app.session.with(|document| wires_at(document, &end)));
    move || {
        wires
            .get()
            .into_iter()
            .map(|(id, label)| {
                view! {
                    <button on:click=move |_| app.view.select(Key::Wire(id.clone()))>{label}</button>
                }
            })
            .views()
    }
}

/// The wires at an end, with their labels.
pub fn wires_at(document: &Document, end: &End) -> Vec<(WireId, String)> {
    let wires = document.wires.iter();
    wires
        .filter(|(_, wire)| wire.from == *end || wire.to == *end)
        .map(|(id, _)| (id.clone(), document.wire_label(id)))
        .collect()
}

/// Adds a terminal to the device's last connector, or a stud if it has none.
fn add(app: App, id: &DeviceId) {
    let change = app.session.peek(|document| {
        let device = document.devices.get(id)?;
        let connector = device
            .connectors
            .last()
            .map(|connector| connector.id.clone());
        let form = if connector.is_some() {
            TerminalForm::Pin
        } else {
            TerminalForm::Stud
        };
        let in_same = device
            .terminals
            .iter()
            .filter(|t| t.connector == connector)
            .count();
        let terminal = Terminal {
            connector,
            form,
            ..Terminal::plain("t1", (in_same + 1).to_string())
        };
        Some(add_terminal(document, id, terminal))
    });
    if let Some(change) = change {
        app.session.try_run(strings::ADD_TERMINAL, change);
    }
}
