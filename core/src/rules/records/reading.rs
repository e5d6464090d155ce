//! Holds what a person measured against what the ring-out sheet expects.

use crate::{
    analysis::ring_out::{Expect, Line, OPEN_OHM},
    document::{Jack, Place, Reading},
};

/// What a reading says of its line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// As drawn.
    Right,
    /// Not as drawn: why.
    Wrong(String),
    /// Unknown whether it is as drawn.
    Unknown,
}

/// Judges a reading of this line. One without a value, which a person ticked, passes.
pub fn judge(line: &Line, reading: &Reading) -> Outcome {
    let ohm = match (reading.over_range, reading.value) {
        (true, _) => f64::INFINITY,
        (false, Some(ohm)) => ohm,
        (false, None) => return Outcome::Right,
    };
    let Some([least, most]) = line.limits_ohm() else {
        return match line.expect {
            Expect::Open { .. } if ohm >= OPEN_OHM => Outcome::Right,
            _ => Outcome::Unknown,
        };
    };
    if (least..=most).contains(&ohm) {
        return Outcome::Right;
    }
    let expected = match line.expect {
        Expect::Ohm(_) => format!("at most {most:.2} ohm expected"),
        Expect::Open { .. } => format!("{least:.0} ohm or more expected"),
        Expect::About(want) => format!("{want:.0} ohm expected"),
        Expect::Probe(Some(leads)) if ohm < least => format!("its leads alone have {leads:.1} ohm"),
        Expect::Probe(_) => format!("at most {most:.0} ohm expected"),
    };
    let shown = match reading.over_range {
        true => "open".into(),
        false => format!("{} ohm", reading.shown()),
    };
    Outcome::Wrong(format!("{shown}, {expected}"))
}

/// Judges the ohms from a jack's barrel to the panel it is mounted in: open, unless the barrel is meant to touch it.
pub fn judge_barrel(jack: &Jack, panel: &Place, reading: &Reading) -> Outcome {
    let is_kept_off = jack.isolated == Some(true) || panel.conductive == Some(false);
    match (is_kept_off, reading.over_range, reading.value) {
        (false, ..) => Outcome::Unknown,
        (_, true, _) | (_, _, None) => Outcome::Right,
        (_, _, Some(ohm)) if ohm >= OPEN_OHM => Outcome::Right,
        _ => Outcome::Wrong(format!("{} ohm, open expected", reading.shown())),
    }
}
