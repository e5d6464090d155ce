//! Typed keys of records. A key never changes and is never shown; the label a person sees is a
//! field. Short keys, nearly all of them, are stored inline, because a check mostly compares keys.

use std::{borrow::Borrow, fmt};

use ecow::EcoString;
use serde::{Deserialize, Serialize};

macro_rules! id {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
        #[serde(transparent)]
        pub struct $name(#[cfg_attr(feature = "cli", schemars(with = "String"))] EcoString);

        impl $name {
            /// The key with this text.
            pub fn new(text: impl AsRef<str>) -> Self {
                Self(EcoString::from(text.as_ref()))
            }
            /// The key's text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }
        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self::new(text)
            }
        }
        impl From<String> for $name {
            fn from(text: String) -> Self {
                Self(EcoString::from(text))
            }
        }
        impl Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    )*};
}

id! {
    /// A place in the aircraft.
    PlaceId,
    /// A stroke of ink, unique within its sheet.
    InkId,
    /// A device.
    DeviceId,
    /// A connector, unique within its device.
    ConnectorId,
    /// A terminal, unique within its device.
    TerminalId,
    /// An element inside a device, unique within its device.
    ElementId,
    /// A wire.
    WireId,
    /// A cable.
    CableId,
    /// A splice.
    SpliceId,
    /// A route section between two places.
    RouteId,
    /// A state: a phase of flight or of a test.
    StateId,
    /// A sheet.
    SheetId,
    /// An item on a sheet, unique within its sheet.
    ItemId,
    /// An entry of the log.
    LogId,
    /// An accepted finding.
    AcceptedId,
    /// A measured value.
    ReadingId,
    /// A revision.
    RevisionId,
}
