//! Allowed voltage drop between bus and equipment (FAA AC 43.13-1B, Tables 11-6 to 11-8).

use crate::sources::{AC_43_13_1B, Source, cite};

/// Source of the limits. The continuous ones were read as limits of Tables 11-7 and 11-8; the
/// intermittent ones and the pairing with system voltage (Table 11-6, an image) are from memory.
pub const SOURCE: Source = cite(
    AC_43_13_1B,
    "par 11-66, Tables 11-6 (intermittent limits: from memory), 11-7, 11-8",
);

/// Allowed drop for one system voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DropLimit {
    /// For a continuous load, V.
    pub continuous_v: f64,
    /// For an intermittent load, V.
    pub intermittent_v: f64,
}

/// Share of the regulated voltage that the main power wires may lose, from an alternator at its rated current to the
/// bus (FAA-H-8083-31, fig. 9-121).
pub const FEEDER_SHARE: f64 = 0.02;

/// The limits for a nominal system voltage: 14 V and 28 V. `None` for any other.
pub fn drop_limit(nominal_v: f64) -> Option<DropLimit> {
    let limit = |continuous_v, intermittent_v| {
        Some(DropLimit {
            continuous_v,
            intermittent_v,
        })
    };
    match nominal_v {
        14.0 => limit(0.5, 1.0),
        28.0 => limit(1.0, 2.0),
        _ => None,
    }
}
