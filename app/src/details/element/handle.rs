//! One element of one device, read and edited.

use leptos::prelude::*;
use loomwright_core::{
    document::{Device, Element, ElementKind},
    ids::{DeviceId, ElementId},
};

use crate::{App, commands::edit_device};

/// Something that edits an element.
type Touch = Box<dyn FnOnce(&mut ElementKind)>;

/// One element of one device.
#[derive(Clone, Copy)]
pub struct Handle {
    /// The app.
    pub app: App,
    /// The device.
    pub device: Memo<Device>,
    /// The keys of both.
    pub key: StoredValue<(DeviceId, ElementId)>,
}

impl Handle {
    /// Reads the element, if it is there.
    pub fn with<T>(self, read: impl FnOnce(&Element) -> T) -> Option<T> {
        self.device
            .with(|device| self.key.with_value(|(_, id)| device.element(id).map(read)))
    }

    /// A number of it.
    pub fn number(
        self,
        read: impl Fn(&ElementKind) -> Option<f64> + Send + Sync + 'static,
    ) -> Signal<Option<f64>> {
        Signal::derive(move || self.with(|e| read(&e.is)).flatten())
    }

    /// Where a value of it comes from, in a word; empty for a typed one.
    pub fn origin(self, field: &'static str) -> Signal<String> {
        Signal::derive(move || {
            let word = self.with(|e| e.is.known().and_then(|it| it.origins().word(field)));
            word.flatten().unwrap_or_default().to_owned()
        })
    }

    /// A word of it.
    pub fn word(self, read: fn(&ElementKind) -> String) -> Signal<String> {
        Signal::derive(move || self.with(|e| read(&e.is)).unwrap_or_default())
    }

    /// Edits it as one step of undo.
    pub fn touch(self, label: &str, touch: Touch) {
        let (id, element) = self.key.get_value();
        edit_device(self.app.session, label, &id, |device| {
            if let Some(element) = device.elements.iter_mut().find(|e| e.id == element) {
                touch(&mut element.is);
            }
        });
    }

    /// Its key in a phase, as `DEVICE/ELEMENT`.
    pub fn state_key(self) -> String {
        self.key
            .with_value(|(device, element)| format!("{device}/{element}"))
    }
}

/// A field for a number of a kind of element: one that may be empty (`;`), or one that must not (`,`).
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
/// A field for what is so, not so, or not known of a kind of element.
macro_rules! yes_no {
    ($handle:ident, $label:expr, $words:expr, $kind:ident, $field:ident) => {
        view! {
            <YesNo
                label=$label
                words=$words
                value=Signal::derive(move || {
                    let known = |element: &Element| match &element.is {
                        ElementKind::$kind(it) => it.$field,
                        _ => None,
                    };
                    $handle.with(known).flatten()
                })
                note=$handle.origin(stringify!($field))
                on_commit=move |known: Known| {
                    $handle.touch($label, Box::new(move |kind| {
                        if let ElementKind::$kind(it) = kind {
                            it.$field = known;
                        }
                    }));
                }
            />
        }
    };
}
pub(super) use {number, yes_no};
