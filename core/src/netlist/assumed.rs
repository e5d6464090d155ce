//! Resistances that stand in for those that nobody gave.

use crate::units::Gauge;

/// Resistance of a closed breaker or fuse, ohm, if not set (assumed, no published single value).
pub const PROTECTOR_OHM: f64 = 0.002;
/// Resistance of a bond to structure, ohm, if not set (AC 43.13-1B par 11-188f: under 2.5 mΩ).
pub const BOND_OHM: f64 = 0.0025;
/// Equivalent size of a shield's braid if not set (assumed, common practice).
pub const SHIELD_GAUGE: Gauge = Gauge(20);
/// Resistance of a closed switch, ohm, if not set (assumed, no published single value).
pub(super) const SWITCH_OHM: f64 = 0.002;
/// Resistance of a closed contact, ohm, if not set (assumed, no published single value).
pub(super) const CONTACT_OHM: f64 = 0.0005;
/// Resistance of a mated pair of pins, ohm, if not set (assumed, no published single value).
pub(super) const MATE_OHM: f64 = 0.001;
/// Resistance of a battery while charging, ohm, if not set (assumed).
pub(super) const CHARGE_OHM: f64 = 0.3;
