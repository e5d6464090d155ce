//! Quantities that need more than a name with its unit in it.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Metres in one foot (exact, international foot).
pub const M_PER_FT: f64 = 0.3048;

/// American wire gauge. 24 to 1 as they are; 1/0, 2/0, 3/0 and 4/0 are 0, -1, -2 and -3
/// (the `n` of the gauge formula, ASTM B258 basis).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(transparent)]
pub struct Gauge(pub i8);

impl Gauge {
    /// The sizes of AC 43.13-1B Table 11-9, thinnest first.
    pub const ALL: [Gauge; 17] = [
        Gauge(24),
        Gauge(22),
        Gauge(20),
        Gauge(18),
        Gauge(16),
        Gauge(14),
        Gauge(12),
        Gauge(10),
        Gauge(8),
        Gauge(6),
        Gauge(4),
        Gauge(2),
        Gauge(1),
        Gauge(0),
        Gauge(-1),
        Gauge(-2),
        Gauge(-3),
    ];

    /// True if this conductor is thinner than the other.
    pub fn is_thinner_than(self, other: Gauge) -> bool {
        self.0 > other.0
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            n if n <= 0 => write!(f, "{}/0", 1 - i32::from(n)),
            n => write!(f, "{n}"),
        }
    }
}
