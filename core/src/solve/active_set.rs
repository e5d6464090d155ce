//! Finds the piece each diode, alternator and charging battery is on, by solving and flipping.
//!
//! All laws never fall with voltage, so with constant-power loads as currents the point is unique. Flipping
//! all violated parts at once is quick but may go round in a circle; `path` then finds the point for sure.

use super::assemble::{PowerAs, System};
use super::factor::BadPivot;
use super::path;

/// A part stays on its piece while the piece next to it would change its current by less, in ampere.
///
/// An alternator with nothing connected sits exactly at the end of its piece; without a tolerance
/// rounding noise would flip it (reasoned, not published).
pub(super) const FLIP_TOLERANCE_A: f64 = 1e-9;

/// Rounds of flipping before the path is followed instead.
const ROUNDS: usize = 20;

/// Solves until every part is on the piece its voltage asks for; the point is accepted.
pub(super) fn settle(system: &mut System, power: PowerAs) -> Result<(), BadPivot> {
    for _ in 0..ROUNDS {
        system.step(power)?;
        system.accept();
        if !flip_violated(system) {
            return Ok(());
        }
    }
    path::follow(system, power)
}

fn flip_violated(system: &mut System) -> bool {
    let mut flipped = false;
    let volts = &system.volts;
    for bent in &mut system.bent {
        let u = volts[bent.place.a] - volts[bent.place.b];
        let better = bent.pieces.better(bent.at, u, FLIP_TOLERANCE_A);
        flipped |= better != bent.at;
        bent.at = better;
    }
    flipped
}
