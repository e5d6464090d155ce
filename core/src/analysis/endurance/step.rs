//! Steps in time: an ordinary differential equation, integrated with the embedded fifth-order pair of
//! Dormand and Prince (1980; coefficients from memory, checked in the tests against closed forms).
//!
//! A load's cut-off, a battery's cut-off or end, and a relay that drops out are events: the step
//! ends at the first of them.

use super::{
    case::Stage,
    moment::{Run, SHORTEST_S, Solved},
};
use crate::solve::{simulator::Loads, states::Overrides};

/// Error allowed in a step, as a share of a battery's usable capacity.
const TOLERANCE: f64 = 1e-7;
/// Time accuracy of an event, s.
const EVENT_S: f64 = 0.02;

impl Run<'_> {
    /// One step of at most `most_s`, cut at its first event. Returns its length and the result.
    pub(super) fn step(
        &mut self,
        stage: &Stage,
        given: &Overrides,
        at: &Solved,
        most_s: f64,
    ) -> Result<(f64, Solved), String> {
        let mut step_s = most_s;
        loop {
            let Some((next, used, error)) = self.try_step(stage, given, at, step_s)? else {
                if step_s > SHORTEST_S {
                    step_s = (step_s / 4.0).max(SHORTEST_S);
                    continue;
                }
                // A jump: step just beyond it.
                let used: Vec<f64> = sum(&self.used, &[(step_s, &at.rates)]);
                self.used = used;
                let next = self.solve(stage, given, &self.used.clone(), Loads::On)?;
                return Ok((step_s, next));
            };
            if error > TOLERANCE && step_s > SHORTEST_S {
                let shrink = 0.9 * (TOLERANCE / error).powf(0.2);
                step_s = (step_s * shrink.clamp(0.2, 0.9)).max(SHORTEST_S);
                continue;
            }
            if self
                .worst(&next, &used)
                .is_some_and(|(margin, _)| margin < 0.0)
                && step_s > EVENT_S
            {
                let part = self.event(stage, given, (at, &next), &used, step_s)?;
                if let Some((next, used, _)) = self.try_step(stage, given, at, part * step_s)? {
                    self.used = used;
                    return Ok((part * step_s, next));
                }
            }
            self.used = used;
            return Ok((step_s, next));
        }
    }

    /// The share of the step just beyond its first event.
    fn event(
        &mut self,
        stage: &Stage,
        given: &Overrides,
        (at, next): (&Solved, &Solved),
        used: &[f64],
        step_s: f64,
    ) -> Result<f64, String> {
        let margin = |run: &Self, at: &Solved, used: &[f64]| {
            run.worst(at, used)
                .map_or(f64::INFINITY, |(margin, _)| margin)
        };
        let before = self.used.clone();
        let (mut low, mut high) = (0.0, 1.0);
        let mut low_m = margin(self, at, &before);
        let mut high_m = margin(self, next, used);
        let mut side = 0;
        for _ in 0..60 {
            if (high - low) * step_s <= EVENT_S {
                break;
            }
            // Regula falsi with the Illinois weights, kept away from the ends, where it would
            // converge slowly.
            let guess = high - high_m * (high - low) / (high_m - low_m);
            let room = 0.25 * EVENT_S / step_s;
            let part = guess.clamp(low + room, high - room);
            let between: Vec<f64> = (0..before.len())
                .map(|cell| {
                    let rates = (at.rates[cell], next.rates[cell]);
                    hermite(part, step_s, (before[cell], used[cell]), rates)
                })
                .collect();
            let solved = self.solve(stage, given, &between, Loads::On)?;
            let found = match solved.collapsed.is_empty() && solved.relays == self.relays {
                true => margin(self, &solved, &between),
                false => -1.0,
            };
            if found < 0.0 {
                (high, high_m) = (part, found);
                if side == -1 {
                    low_m /= 2.0;
                }
                side = -1;
            } else {
                (low, low_m) = (part, found);
                if side == 1 {
                    high_m /= 2.0;
                }
                side = 1;
            }
        }
        Ok(high)
    }

    /// A step of this length: the used shares, the network there, and the error. `None` if it is
    /// too long: a relay drops out, the supply collapses, or it ends where no battery is.
    fn try_step(
        &mut self,
        stage: &Stage,
        given: &Overrides,
        at: &Solved,
        step_s: f64,
    ) -> Result<Option<(Solved, Vec<f64>, f64)>, String> {
        let mut rates: Vec<Vec<f64>> = vec![at.rates.clone()];
        let mut last = None;
        for row in &DORMAND_PRINCE {
            let parts: Vec<(f64, &Vec<f64>)> = (row.iter().zip(&rates))
                .map(|(weight, rates)| (weight * step_s, rates))
                .collect();
            let used = sum(&self.used, &parts);
            let solved = match self.solve(stage, given, &used, Loads::On) {
                // It looks past empty, where a steep end of the curve, drawn on, is no voltage at all.
                Err(_) if used.iter().any(|used| *used > 1.0) => return Ok(None),
                solved => solved?,
            };
            if !solved.collapsed.is_empty() || solved.relays != self.relays {
                return Ok(None);
            }
            rates.push(solved.rates.clone());
            last = Some((solved, used));
        }
        let error = (0..self.used.len()).map(|cell| {
            let parts = ERROR.iter().zip(&rates);
            let sum: f64 = parts.map(|(weight, rates)| weight * rates[cell]).sum();
            (sum * step_s).abs()
        });
        let error = error.fold(0.0, f64::max);
        Ok(last.map(|(solved, used)| (solved, used, error)))
    }
}

/// The used shares plus these rates times these times.
fn sum(used: &[f64], parts: &[(f64, &Vec<f64>)]) -> Vec<f64> {
    let more = |cell: usize| parts.iter().map(|(s, rates)| s * rates[cell]).sum::<f64>();
    (0..used.len())
        .map(|cell| used[cell] + more(cell))
        .collect()
}

/// The cubic through both ends of a step with their slopes.
pub(super) fn hermite(part: f64, step_s: f64, ends: (f64, f64), rates: (f64, f64)) -> f64 {
    let (s, rest) = (part, 1.0 - part);
    let ends = ends.0 * (1.0 + 2.0 * s) * rest * rest + ends.1 * (3.0 - 2.0 * s) * s * s;
    ends + step_s * s * rest * (rates.0 * rest - rates.1 * s)
}

/// Weights of the rates before it for each stage; the last is the fifth-order result.
const DORMAND_PRINCE: [&[f64]; 6] = [
    &[1.0 / 5.0],
    &[3.0 / 40.0, 9.0 / 40.0],
    &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
    &[
        19372.0 / 6561.0,
        -25360.0 / 2187.0,
        64448.0 / 6561.0,
        -212.0 / 729.0,
    ],
    &[
        9017.0 / 3168.0,
        -355.0 / 33.0,
        46732.0 / 5247.0,
        49.0 / 176.0,
        -5103.0 / 18656.0,
    ],
    &[
        35.0 / 384.0,
        0.0,
        500.0 / 1113.0,
        125.0 / 192.0,
        -2187.0 / 6784.0,
        11.0 / 84.0,
    ],
];

/// Weights of the difference to the embedded fourth-order result.
const ERROR: [f64; 7] = [
    71.0 / 57600.0,
    0.0,
    -71.0 / 16695.0,
    71.0 / 1920.0,
    -17253.0 / 339_200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];
