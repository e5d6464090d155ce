//! Where known values come from.

use serde::{Deserialize, Serialize};

use crate::order::Map;

/// Where a known value comes from. A value without an origin was typed, or is in a file of before origins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum ValueOrigin {
    /// A typical value of the catalog; replace it with the unit's own.
    Catalogue,
    /// Measured in the aircraft or on the part.
    Measured,
    /// From a list that was pasted.
    Pasted,
}

impl ValueOrigin {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Catalogue => "catalog",
            Self::Measured => "measured",
            Self::Pasted => "pasted",
        }
    }
}

/// The origins of a record's values that were not typed, by the name of the field.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Origins(Map<String, ValueOrigin>);

impl Origins {
    /// True if every value was typed.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The origin of a field's value.
    pub fn of(&self, field: &str) -> Option<ValueOrigin> {
        self.0.get(field).copied()
    }

    /// Sets the origin of a field's value, none for a typed one.
    pub fn set(&mut self, field: &str, origin: Option<ValueOrigin>) {
        match origin {
            Some(origin) => {
                self.0.insert(field.to_owned(), origin);
            }
            None => {
                self.0.remove(field);
            }
        }
    }

    /// The origin of a field's value in a word; none if it was typed.
    pub fn word(&self, field: &str) -> Option<&'static str> {
        self.of(field).map(ValueOrigin::word)
    }
}
