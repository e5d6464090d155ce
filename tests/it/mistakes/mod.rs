//! What the rules are worth: plausible wiring mistakes, one at a time, made by rule everywhere they fit in sound aircraft.
//! An operator knows roles of pins, elements and devices, never keys of a sample.
//!
//! `cargo test mistakes -- --nocapture` prints the table and what is silent or aside; `LOOMWRIGHT_MISTAKES=operator` takes
//! one operator. `LOOMWRIGHT_WRITE=1` writes the table to `tests/measured.md`.

mod always_hot;
mod bypassed;
mod coax;
mod exchanged;
mod floors;
mod jack;
mod judge;
mod labels;
mod left_out;
mod long;
mod magneto;
mod next_pin;
mod not_mated;
mod other_ground;
mod pairs;
mod past_protector;
mod polarity;
mod protector_size;
mod same;
mod shield;
mod table;
mod terminator;
mod thin_wire;
mod unknowable;
mod walk;

pub use self::{
    judge::{Sound, Worth},
    walk::Wiring,
};
use walk::Mistake;

/// A kind of mistake.
pub struct Operator {
    pub name: &'static str,
    make: fn(&Wiring<'_>) -> Vec<Mistake>,
}

macro_rules! operators {
    ($($name:literal: $make:path;)*) => {
        /// Every kind of mistake.
        pub const OPERATORS: &[Operator] = &[$(Operator { name: $name, make: $make },)*];
    };
}

operators! {
    "left out": left_out::make;
    "exchanged": exchanged::make;
    "next pin": next_pin::make;
    "other ground": other_ground::make;
    "past the protector": past_protector::make;
    "big protector": protector_size::big;
    "small protector": protector_size::small;
    "thin wire": thin_wire::make;
    "long": long::make;
    "bypassed": bypassed::make;
    "polarity": polarity::make;
    "not mated": not_mated::make;
    "shield at both ends": shield::both_ends;
    "shield nowhere": shield::nowhere;
    "shield on a power pin": shield::on_power;
    "shield on a signal pin": shield::on_signal;
    "shield on a spare pin": shield::on_spare;
    "shield as the low": shield::as_low;
    "jack on metal": jack::make;
    "terminator missing": terminator::missing;
    "one terminator too many": terminator::too_many;
    "always hot": always_hot::make;
    "coax center on the shell": coax::on_shell;
    "antennas swapped": coax::swapped;
    "P-lead on the case": magneto::on_case;
    "P-leads swapped": magneto::swapped;
    "P-lead left out": magneto::left_out;
    "labels": labels::make;
}

/// The operator of this name.
pub fn operator(name: &str) -> &'static Operator {
    let mut all = OPERATORS.iter();
    all.find(|it| it.name == name).expect("an operator")
}

impl Operator {
    /// Every mistake of this kind that fits.
    pub fn mistakes(&self, wiring: &Wiring<'_>) -> Vec<Mistake> {
        (self.make)(wiring)
    }

    /// A wire left out is named by a note, or by an entry of what is not wired yet.
    pub fn note_will_do(&self) -> bool {
        self.name.ends_with("left out")
    }
}
