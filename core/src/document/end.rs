//! Where a conductor ends.

use std::{fmt, str::FromStr};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use crate::ids::{DeviceId, PlaceId, SpliceId, TerminalId};

/// Where a conductor ends. In a file it is one text: `terminal:DEVICE/TERMINAL`, `splice:SPLICE`,
/// `structure:PLACE` or `open` (not wired yet).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// A terminal of a device.
    Terminal(DeviceId, TerminalId),
    /// A splice.
    Splice(SpliceId),
    /// The metal of a place.
    Structure(PlaceId),
    /// Nowhere yet.
    Open,
}

impl End {
    /// The end at this terminal of this device.
    pub fn terminal(device: impl AsRef<str>, terminal: impl AsRef<str>) -> Self {
        Self::Terminal(DeviceId::new(device), TerminalId::new(terminal))
    }

    /// The device of this end, if any.
    pub fn device(&self) -> Option<&DeviceId> {
        match self {
            Self::Terminal(device, _) => Some(device),
            _ => None,
        }
    }
}

/// A text that is not an end.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error(
    "found {0:?}, expected \"terminal:DEVICE/TERMINAL\", \"splice:SPLICE\", \"structure:PLACE\" or \"open\""
)]
pub struct ParseEndError(String);

impl FromStr for End {
    type Err = ParseEndError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let wrong = || ParseEndError(text.chars().take(80).collect());
        if text == "open" {
            return Ok(Self::Open);
        }
        let (kind, rest) = text.split_once(':').ok_or_else(wrong)?;
        if rest.is_empty() {
            return Err(wrong());
        }
        match kind {
            "terminal" => match rest.split_once('/') {
                Some((device, terminal)) if !device.is_empty() && !terminal.is_empty() => {
                    Ok(Self::terminal(device, terminal))
                }
                _ => Err(wrong()),
            },
            "splice" => Ok(Self::Splice(rest.into())),
            "structure" => Ok(Self::Structure(rest.into())),
            _ => Err(wrong()),
        }
    }
}

impl fmt::Display for End {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Terminal(device, terminal) => write!(f, "terminal:{device}/{terminal}"),
            Self::Splice(splice) => write!(f, "splice:{splice}"),
            Self::Structure(place) => write!(f, "structure:{place}"),
            Self::Open => f.write_str("open"),
        }
    }
}

impl Serialize for End {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for End {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(de::Error::custom)
    }
}

#[cfg(feature = "cli")]
impl schemars::JsonSchema for End {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "End".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "type": "string",
            "pattern": "^(open|terminal:[^/]+/.+|splice:.+|structure:.+)$"
        })
    }
}
