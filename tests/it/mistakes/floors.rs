//! The floors of the measure: what share of each kind of mistake is named, in percent. They only go up.

/// The kind of mistake does not fit this aircraft.
const NONE: f64 = -1.0;

/// Percent named at least, by operator: Sorrel, Teasel, the generated aircraft of 60 and of 130 wires.
#[rustfmt::skip]
const FLOORS: &[(&str, [f64; 4])] = &[
    ("left out", [87.6, 98.6, 98.2, 98.2]),
    ("exchanged", [76.9, 96.7, 53.6, 53.5]),
    ("next pin", [94.0, 94.7, 84.1, 84.0]),
    ("other ground", [100.0, 100.0, 100.0, 100.0]),
    ("past the protector", [96.0, 94.7, 100.0, 100.0]),
    ("big protector", [84.0, 94.4, 100.0, 100.0]),
    ("small protector", [76.0, 100.0, 60.0, 59.4]),
    ("thin wire", [86.3, 88.2, 21.0, 25.4]),
    ("long", [77.1, 65.2, 100.0, 100.0]),
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
    ("always hot", [15.0, NONE, NONE, NONE]),
    ("coax center on the shell", [50.0, NONE, NONE, NONE]),
    ("antennas swapped", [0.0, NONE, NONE, NONE]),
    ("P-lead on the case", [100.0, NONE, NONE, NONE]),
    ("P-leads swapped", [100.0, NONE, NONE, NONE]),
    ("P-lead left out", [100.0, NONE, NONE, NONE]),
    ("labels", [46.6, 80.0, 0.0, 0.0]),
];

/// The floor of an operator for the so many-th aircraft, percent; none if the operator does not fit it.
pub fn floor(operator: &str, sample: usize) -> Option<f64> {
    let row = FLOORS.iter().find(|(name, _)| *name == operator);
    let (_, floors) = row.expect("every operator has its floors");
    Some(floors[sample]).filter(|it| *it >= 0.0)
}

/// Pairs of named mistakes of which both are named when made together, percent at least.
pub const PAIRS: f64 = 99.8;
