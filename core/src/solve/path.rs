//! Follows the solution from 0 V to the operating point, crossing one piece boundary at a time.
//!
//! Method: Katzenelson, "An algorithm for solving nonlinear resistor networks", Bell System
//! Technical Journal 44 (1965), cited from memory. Within one set of pieces the network is linear,
//! so the path to its solution is a straight line; at the first boundary that a part reaches, only
//! that part changes piece. The remaining imbalance shrinks with every step.

use super::assemble::{PowerAs, System};
use super::factor::BadPivot;

/// Steps allowed: a few per part. If they run out, the last point stays and the balance check
/// rejects it.
fn steps_allowed(parts: usize) -> usize {
    100 + 20 * parts
}

pub(super) fn follow(system: &mut System, power: PowerAs) -> Result<(), BadPivot> {
    system.volts.fill(0.0);
    for bent in &mut system.bent {
        bent.at = bent.pieces.holding(0.0);
    }
    for _ in 0..steps_allowed(system.bent.len()) {
        system.step(power)?;
        let Some((part, neighbour, share)) = first_border(system) else {
            system.accept();
            return Ok(());
        };
        for (volt, next) in system.volts.iter_mut().zip(&system.next) {
            *volt += share * (next - *volt);
        }
        system.bent[part].at = neighbour;
    }
    Ok(())
}

/// The part whose boundary is reached first between the accepted point and `next`: its index, the
/// piece beyond, and how far along the path (0 to 1).
fn first_border(system: &System) -> Option<(usize, usize, f64)> {
    let mut first: Option<(usize, usize, f64)> = None;
    for (part, bent) in system.bent.iter().enumerate() {
        let from = system.volts[bent.place.a] - system.volts[bent.place.b];
        let to = system.next[bent.place.a] - system.next[bent.place.b];
        if bent.pieces.better(bent.at, to) == bent.at {
            continue;
        }
        let (low, high) = bent.pieces.ends(bent.at);
        let (border, neighbour) = if to > high {
            (high, bent.at + 1)
        } else {
            (low, bent.at.saturating_sub(1))
        };
        // Already on the boundary, or past it by rounding: no distance.
        let share = ((border - from) / (to - from)).clamp(0.0, 1.0);
        let share = if share.is_nan() { 0.0 } else { share };
        if first.is_none_or(|(_, _, nearest)| share < nearest) {
            first = Some((part, neighbour, share));
        }
    }
    first
}
