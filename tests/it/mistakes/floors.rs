//! The floors of the measure: what share of each kind of mistake is named, in percent. They only go up.

/// The kind of mistake does not fit this aircraft.
const NONE: f64 = -1.0;

/// Percent named at least, by operator: Sorrel, Teasel, the generated aircraft of 60 and of 130 wires.
#[rustfmt::skip]
const FLOORS: &[(&str, [f64; 4])] = &[
    ("left out", [97.3, 100.0, 100.0, 100.0]),
    ("exchanged", [98.0, 100.0, 100.0, 100.0]),
    ("next pin", [99.5, 100.0, 99.3, 98.4]),
    ("other ground", [100.0, 100.0, 100.0, 100.0]),
    ("past the protector", [100.0, 100.0, 100.0, 100.0]),
    ("big protector", [88.0, 100.0, 100.0, 100.0]),
    ("small protector", [95.9, 100.0, 75.9, 75.6]),
    ("thin wire", [95.4, 88.2, 71.0, 76.3]),
    ("long", [96.9, 100.0, 100.0, 100.0]),
    ("bypassed", [100.0, 100.0, 100.0, 100.0]),
    ("polarity", [100.0, 100.0, 100.0, 100.0]),
    ("not mated", [100.0, 100.0, 100.0, 100.0]),
    ("shield at both ends", [77.7, 100.0, 100.0, 100.0]),
    ("shield nowhere", [100.0, 100.0, 100.0, 100.0]),
    ("shield on a power pin", [100.0, 100.0, 100.0, 100.0]),
    ("shield on a signal pin", [100.0, 100.0, 100.0, 100.0]),
    ("shield on a spare pin", [100.0, 100.0, NONE, NONE]),
    ("shield as the low", [100.0, 100.0, 100.0, 100.0]),
    ("jack on metal", [100.0, 100.0, 100.0, 100.0]),
    ("terminator missing", [100.0, NONE, NONE, NONE]),
    ("one terminator too many", [100.0, NONE, NONE, NONE]),
    ("always hot", [69.9, NONE, NONE, NONE]),
    ("coax center on the shell", [100.0, NONE, NONE, NONE]),
    ("antennas swapped", [100.0, NONE, NONE, NONE]),
    ("P-lead on the case", [100.0, NONE, NONE, NONE]),
    ("P-leads swapped", [100.0, NONE, NONE, NONE]),
    ("P-lead left out", [100.0, NONE, NONE, NONE]),
    ("labels", [100.0, 100.0, 0.0, 0.0]),
];

/// Findings of one mistake side by side, at most, for 95 of 100 mistakes and for all of them; what follows from a cause
/// is under it. They only go down.
pub const SIDE_BY_SIDE: usize = 5;
pub const MOST_SIDE_BY_SIDE: usize = 20;

/// Mistakes, in percent at least, at which the first finding points.
pub const CAUSE_FIRST: f64 = 85.0;

/// Of all mistakes of an aircraft together, percent named at least.
pub const OF_ALL: f64 = 95.0;

/// The floor of an operator for the so many-th aircraft, percent; none if the operator does not fit it.
pub fn floor(operator: &str, sample: usize) -> Option<f64> {
    let row = FLOORS.iter().find(|(name, _)| *name == operator);
    let (_, floors) = row.expect("every operator has its floors");
    Some(floors[sample]).filter(|it| *it >= 0.0)
}

/// Pairs of named mistakes of which both are named when made together, percent at least.
pub const PAIRS: f64 = 99.8;
