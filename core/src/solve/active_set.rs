//! Finds the piece that each diode, alternator and charging battery is on, by solving and switching
//! pieces.
//!
//! No law falls with voltage, so with constant-power loads as currents the point is unique.
//! Switching all violated parts at once is quick but may cycle; `path` then always finds the point.

use super::assemble::{PowerAs, System};
use super::factor::BadPivot;
use super::path;

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
        let better = bent.pieces.better(bent.at, u);
        flipped |= better != bent.at;
        bent.at = better;
    }
    flipped
}
