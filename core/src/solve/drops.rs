//! Drops loads when not all can run, in a fixed order:
//!
//! 1. a constant-current or constant-power load without a conductive path (found when values are
//!    loaded);
//! 2. a constant-power load whose voltage is below its cut-off even with no such load running (and
//!    a constant-current load that only a leak reaches);
//! 3. with a point: the load furthest below its cut-off, relative to it; then solve again;
//! 4. without a point: increase all constant-power loads together from zero; drop the first to
//!    reach its cut-off; then solve again.
//!
//! A load never comes back on, so there are at most as many passes as loads.

use super::active_set::settle;
use super::assemble::{Load, PowerAs, System};
use super::constant_power::{first_to_give_way, from_above, margin};
use super::solution::{DropReason, Dropped, NoPoint};

/// A load less than this below its cut-off, in volt, counts as at it: rounding.
const AT_CUT_OFF_V: f64 = 1e-9;
/// A constant-current load below this, in volt, is fed only by a leak: drop it before its current,
/// which cannot flow, disturbs the others.
const DEAD_BELOW_V: f64 = -1e3;
/// Divisor of the shortfall of a load whose cut-off is lower than this, in volt; it may be 0.
const LEAST_CUT_OFF_V: f64 = 1.0;

/// Result of dropping loads.
#[derive(Debug, Default)]
pub(super) struct Verdict {
    pub(super) dropped: Vec<Dropped>,
    pub(super) no_point: Option<NoPoint>,
    pub(super) margin: Option<f64>,
}

/// Solves and drops loads until the rest runs. `dropped` are those of rule 1.
pub(super) fn settle_loads(system: &mut System, dropped: Vec<Dropped>) -> Verdict {
    let mut verdict = Verdict {
        dropped,
        ..Verdict::default()
    };
    loop {
        if !no_load_point(system, &mut verdict) {
            return verdict;
        }
        let start = system.save();
        if from_above(system) {
            let short = (0..system.loads.len()).filter_map(|at| Some((at, shortfall(system, at)?)));
            // The first of equals, so element order decides.
            let worst = short.reduce(|worst, next| if next.1 > worst.1 { next } else { worst });
            let Some((at, _)) = worst else { return verdict };
            drop_load(system, at, DropReason::UnderCutOff, &mut verdict);
        } else {
            system.restore(&start);
            if verdict.no_point.is_none() {
                verdict.no_point = Some(NoPoint::SupplyCannotCarry);
                verdict.margin = margin(system);
            }
            let Some(at) = first_to_give_way(system) else {
                verdict.no_point = Some(NoPoint::Numerical);
                return verdict;
            };
            drop_load(system, at, DropReason::SupplyCannotCarry, &mut verdict);
        }
    }
}

/// Accepts the point with the constant-power loads practically off, and drops the loads that cannot
/// run even there.
pub(super) fn no_load_point(system: &mut System, verdict: &mut Verdict) -> bool {
    loop {
        if settle(system, PowerAs::Trickle).is_err() {
            verdict.no_point = Some(NoPoint::Numerical);
            return false;
        }
        system.read_ports();
        let dead = |load: &Load| load.on && !load.is_power() && load.port_v < DEAD_BELOW_V;
        let dead: Vec<usize> = (0..system.loads.len())
            .filter(|&at| dead(&system.loads[at]))
            .collect();
        if dead.is_empty() {
            break;
        }
        for at in dead {
            drop_load(system, at, DropReason::NoLoadUnderCutOff, verdict);
        }
    }
    for at in 0..system.loads.len() {
        if system.loads[at].is_power() && shortfall(system, at).is_some() {
            drop_load(system, at, DropReason::NoLoadUnderCutOff, verdict);
        }
    }
    true
}

/// Shortfall of a running load below its cut-off at the accepted point, relative to the cut-off.
fn shortfall(system: &System, at: usize) -> Option<f64> {
    let load = &system.loads[at];
    let port_v = system.across(load.place);
    let under = load.v_cut - port_v;
    // At 0 V a load draws nothing, whatever its cut-off.
    let is_short = under > AT_CUT_OFF_V || port_v <= 0.0;
    (load.on && is_short).then(|| under / load.v_cut.max(LEAST_CUT_OFF_V))
}

fn drop_load(system: &mut System, at: usize, reason: DropReason, verdict: &mut Verdict) {
    let load = &mut system.loads[at];
    load.on = false;
    verdict.dropped.push(Dropped {
        element: load.element,
        reason,
    });
}
