//! Finds the piece that each diode, alternator and charging battery is on, by solving and switching
//! pieces.
//!
//! No law falls with voltage, so with constant-power loads as currents the point is unique.
//! Switching all violated parts at once is quick but may cycle; `path` then always finds the point.

use super::assemble::{PowerAs, System};
use super::factor::BadPivot;
use super::path;

/// A part stays on its piece while the neighboring piece would change its current by less than
/// this, in ampere.
///
/// An alternator with nothing connected is exactly at the end of its piece; without a tolerance
/// rounding noise would switch it (reasoned, not published).
pub(super) const FLIP_TOLERANCE_A: f64 = 1e-9;

/// Rounds of switching before the path is followed instead.
const ROUNDS: usize = 20;

/// Solves until every part is on the piece of its voltage; the point is then accepted.
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
