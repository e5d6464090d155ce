//! The connectors of a device.

use leptos::prelude::*;
use loomwright_core::{
    document::{Connector, Contacts, Device},
    ids::{ConnectorId, DeviceId},
    units::Gauge,
};

use crate::{
    App, app,
    commands::edit_device,
    strings::{self, words},
    widgets::{Amount, Choice, Fold, Number, Text, rows},
};

/// The connectors, one after another, and a way to add one.
#[component]
pub fn Connectors(
    /// The device.
    id: DeviceId,
    /// The device's record.
    device: Memo<Device>,
) -> impl IntoView {
    let app = app();
    let key = StoredValue::new(id);
    let connectors = move || {
        device.with(|d| {
            d.connectors
                .iter()
                .map(|c| c.id.clone())
                .collect::<Vec<_>>()
        })
    };
    view! {
        <Fold class="terminals" title=strings::CONNECTORS>
            {rows(connectors, ToString::to_string, move |connector| row(app, key, device, connector))}
            <button on:click=move |_| add(app, &key.get_value())>{strings::ADD_CONNECTOR}</button>
        </Fold>
    }
}

/// A text of a connector.
type Field = fn(&mut Connector) -> &mut String;
type ReadGauge = fn(&Connector) -> Option<Gauge>;
type WriteGauge = fn(&mut Connector) -> &mut Option<Gauge>;

fn row(
    app: App,
    key: StoredValue<DeviceId>,
    device: Memo<Device>,
    connector: ConnectorId,
) -> AnyView {
    let own = StoredValue::new(connector);
    let this = Memo::new(move |_| {
        device.with(|d| own.with_value(|connector| d.connector(connector).cloned()))
    });
    let touch = move |label: &str, touch: Box<dyn FnOnce(&mut Connector)>| {
        edit_device(app.session, label, &key.get_value(), |device| {
            let own = own.get_value();
            if let Some(connector) = device.connectors.iter_mut().find(|c| c.id == own) {
                touch(connector);
            }
        });
    };
    let text = move |read: fn(&Connector) -> String| {
        Signal::derive(move || this.with(|c| c.as_ref().map(read).unwrap_or_default()))
    };
    let field = move |label: &'static str, field: Field| {
        view! {
            <Text
                label=label
                value=Signal::derive(move || {
                    let mut found = this.get();
                    found.as_mut().map(|c| field(c).clone()).unwrap_or_default()
                })
                on_commit=move |text: String| touch(label, Box::new(move |c| *field(c) = text))
            />
        }
    };
    let not_given = (String::new(), strings::CONTACTS_UNKNOWN.to_owned());
    let gauges = Signal::stored([vec![not_given], words::gauges()].concat());
    let gauge = move |label: &'static str, read: ReadGauge, write: WriteGauge| {
        let value = move || this.with(|c| read(c.as_ref()?).map(|it| it.0.to_string()));
        view! {
            <Choice
                label=label
                options=gauges
                value=Signal::derive(move || value().unwrap_or_default())
                on_commit=move |key: String| {
                    let gauge = key.parse().ok().map(Gauge);
                    touch(label, Box::new(move |c| *write(c) = gauge));
                }
            />
        }
    };
    view! {
        <div class="pair">
            <Text
                label=strings::CONNECTOR
                value=text(|c| c.label.clone())
                on_commit=move |label: String| {
                    touch(strings::CONNECTOR, Box::new(move |c| c.label = label));
                }
            />
            <Text
                label=strings::CONNECTOR_STYLE
                value=text(|c| c.style.clone())
                on_commit=move |style: String| {
                    touch(strings::CONNECTOR_STYLE, Box::new(move |c| c.style = style));
                }
            />
        </div>
        <Number
            label=strings::CONTACT_A
            value=Signal::derive(move || this.with(|c| c.as_ref().and_then(|c| c.contact_a)))
            on_commit=move |amps: Amount| {
                touch(strings::CONTACT_A, Box::new(move |c| c.contact_a = amps));
            }
        />
        <div class="pair">
            {gauge(strings::THICKEST_AWG, |c| c.thickest_awg, |c| &mut c.thickest_awg)}
            {gauge(strings::THINNEST_AWG, |c| c.thinnest_awg, |c| &mut c.thinnest_awg)}
        </div>
        <Choice
            label=strings::CONTACTS
            options=Signal::stored(contact_words())
            value=Signal::derive(move || {
                let contacts = this.with(|c| c.as_ref().and_then(|c| c.contacts));
                CONTACTS.iter().position(|it| *it == contacts).unwrap_or(0).to_string()
            })
            on_commit=move |at: String| {
                let contacts = CONTACTS.iter().enumerate().find(|(n, _)| n.to_string() == at);
                let contacts = contacts.and_then(|(_, contacts)| *contacts);
                touch(strings::CONTACTS, Box::new(move |c| c.contacts = contacts));
            }
        />
        <div class="pair">
            {field(strings::KEYING, |c| &mut c.keying)}
            {field(strings::CONTACT_PART, |c| &mut c.contact_part)}
        </div>
        <div class="pair">
            {field(strings::TOOL, |c| &mut c.tool)}
            {field(strings::TOOL_SETTING, |c| &mut c.tool_setting)}
        </div>
        <div class="pair">
            <Number
                label=strings::STRIP_MM
                value=Signal::derive(move || this.with(|c| c.as_ref().and_then(|c| c.strip_mm)))
                on_commit=move |mm: Amount| {
                    touch(strings::STRIP_MM, Box::new(move |c| c.strip_mm = mm));
                }
            />
        </div>
    }
    .into_any()
}

/// What a half may hold, in the order offered.
const CONTACTS: [Option<Contacts>; 3] = [None, Some(Contacts::Pins), Some(Contacts::Sockets)];

fn contact_words() -> Vec<(String, String)> {
    let words = [
        strings::CONTACTS_UNKNOWN,
        strings::CONTACTS_PINS,
        strings::CONTACTS_SOCKETS,
    ];
    let words = words.iter().enumerate();
    words
        .map(|(n, word)| (n.to_string(), (*word).to_owned()))
        .collect()
}

fn add(app: App, id: &DeviceId) {
    edit_device(app.session, strings::ADD_CONNECTOR, id, |device| {
        let n = (device.connectors.len() + 1..)
            .find(|n| {
                device
                    .connector(&ConnectorId::new(format!("j{n}")))
                    .is_none()
            })
            .unwrap_or_default();
        let id = ConnectorId::new(format!("j{n}"));
        device
            .connectors
            .push(Connector::called(id, format!("J{n}")));
    });
}
