//! Constant-power loads: the upper voltage at which supply and demand balance, if there is one.
//!
//! Start from the point with these loads off, which is above every solution, and descend: by steps
//! with constant currents, which reuse the factor, and where those are slow by Newton steps. With
//! constant-power demand alone both stay above the solution, so a pivot or a load voltage that is
//! not positive means that there is no solution. (Taheri and Kekatos, "Power flow solvers for
//! direct current networks"; Jeeninga, De Persis and van der Schaft on feasibility of
//! constant-power loads.) Parts with several pieces can upset a single Newton step; then constant
//! currents continue.

use super::active_set::settle;
use super::assemble::{PowerAs, System};

/// Change of a load's voltage, in volt, at which Newton steps stop; the error left is its square.
const NEWTON_DONE_V: f64 = 1e-6;
/// The same for steps with constant currents, whose error only shrinks by a factor.
const CURRENT_DONE_V: f64 = 1e-11;
/// Newton needs under ten steps even at 99.9 % of the limit (measured); more means that it
/// diverges.
const NEWTON_STEPS: usize = 40;
/// Steps with constant currents: hundreds only within a thousandth of the limit (measured).
const CURRENT_STEPS: usize = 400;
/// Steps with constant currents before a try of Newton. They need no new factor, and where wires
/// lose a twentieth, each step reduces the error by a factor of twenty: most networks need no
/// Newton step.
const CURRENT_RUN: usize = 10;
/// Relative accuracy of a common factor found by bisection. It is shown to a tenth of a percent;
/// closer to the limit every step with constant currents gets shorter.
const FACTOR_DONE: f64 = 1e-4;
/// Most bisections, enough to get from 1 to below 1e-12.
const HALVINGS: usize = 60;
/// The search stops at a supply that could carry this many times the demand.
const LARGEST_FACTOR: f64 = 1e6;

/// True if there is an operating point with the loads that are on. Starts at the accepted point,
/// which must be above it; the point found becomes the accepted one.
pub(super) fn from_above(system: &mut System) -> bool {
    comes_down(system, ports_positive)
}

/// The same, stopped as soon as a step is not `good`: every step is above the wanted point, so a
/// voltage too low at a step is too low there.
fn comes_down(system: &mut System, good: fn(&System) -> bool) -> bool {
    if !system.loads.iter().any(|load| load.on && load.is_power()) {
        return settle(system, PowerAs::Trickle).is_ok();
    }
    system.read_ports();
    for _ in 0..CURRENT_STEPS / CURRENT_RUN {
        for _ in 0..CURRENT_RUN {
            if settle(system, PowerAs::Current).is_err() || !good(system) {
                return false;
            }
            if system.read_ports() <= CURRENT_DONE_V {
                return true;
            }
        }
        let here = system.save();
        match newton(system, good) {
            Newton::Found => return true,
            Newton::TooLow => return false,
            Newton::Lost => system.restore(&here),
        }
    }
    false
}

/// Result of a run of Newton steps.
enum Newton {
    Found,
    /// A load is too low.
    TooLow,
    /// A point may still exist.
    Lost,
}

fn newton(system: &mut System, good: fn(&System) -> bool) -> Newton {
    if !ports_positive(system) {
        return Newton::Lost;
    }
    for _ in 0..NEWTON_STEPS {
        if settle(system, PowerAs::Tangent).is_err() || !ports_positive(system) {
            return Newton::Lost;
        }
        if system.read_ports() <= NEWTON_DONE_V {
            return match good(system) {
                true => Newton::Found,
                false => Newton::TooLow,
            };
        }
    }
    Newton::Lost
}

fn ports_positive(system: &System) -> bool {
    system
        .loads
        .iter()
        .filter(|load| load.on && load.is_power())
        .all(|load| system.across(load.place) > 0.0)
}

/// True if every constant-power load that is on has at least its cut-off voltage.
fn above_cut_offs(system: &System) -> bool {
    let mut loads = system
        .loads
        .iter()
        .filter(|load| load.on && load.is_power());
    loads.all(|load| {
        let port_v = system.across(load.place);
        port_v > 0.0 && port_v >= load.v_cut
    })
}

/// Largest common factor on all constant-power loads that are on for which `holds` finds a point good.
/// `holds` is true at 0 and false at `too_much`. The accepted point afterwards is the one at the factor.
fn largest_factor(
    system: &mut System,
    too_much: f64,
    mut holds: impl FnMut(&mut System) -> bool,
) -> f64 {
    let (mut good, mut bad) = (0.0, too_much);
    let mut best = system.save();
    for _ in 0..HALVINGS {
        if bad - good <= FACTOR_DONE * good {
            break;
        }
        let middle = f64::midpoint(good, bad);
        system.restore(&best);
        system.power_scale = middle;
        // A smaller factor's point is above a larger one's, so it is a good start.
        if holds(system) {
            good = middle;
            best = system.save();
        } else {
            bad = middle;
        }
    }
    system.restore(&best);
    system.power_scale = 1.0;
    good
}

/// Share of the demanded power that can be carried, ignoring cut-offs; start at the point without
/// constant-power loads. `None` if none are on, or if there is no limit.
pub(super) fn margin(system: &mut System) -> Option<f64> {
    if !system.loads.iter().any(|load| load.on && load.is_power()) {
        return None;
    }
    let start = system.save();
    let mut too_much = 1.0;
    loop {
        system.restore(&start);
        system.power_scale = too_much;
        if !from_above(system) {
            break;
        }
        too_much *= 2.0;
        if too_much > LARGEST_FACTOR {
            system.power_scale = 1.0;
            return None;
        }
    }
    system.restore(&start);
    let factor = largest_factor(system, too_much, from_above);
    system.restore(&start);
    Some(factor)
}

/// The constant-power load that reaches its cut-off first when all are increased together from
/// zero: at the last factor with every load above its cut-off, the one with the least headroom
/// left.
pub(super) fn first_to_give_way(system: &mut System) -> Option<usize> {
    let start = system.save();
    let no_load_v: Vec<f64> = system
        .loads
        .iter()
        .map(|load| system.across(load.place))
        .collect();
    largest_factor(system, 1.0, |system| comes_down(system, above_cut_offs));
    let headroom = |at: usize| {
        let load = &system.loads[at];
        (system.across(load.place) - load.v_cut)
            / (no_load_v[at] - load.v_cut).max(f64::MIN_POSITIVE)
    };
    let first = (0..system.loads.len())
        .filter(|&at| system.loads[at].on && system.loads[at].is_power())
        .min_by(|&x, &y| headroom(x).total_cmp(&headroom(y)));
    system.restore(&start);
    first
}
