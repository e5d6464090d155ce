//! Laws as linear pieces: the current from `a` to `b` as g * u + c over ranges of the branch
//! voltage u.

use super::network::{Law, OPEN_ABOVE_OHM};
use super::solution::PartState;

/// A part stays on its piece while the neighboring piece would change its current by less than
/// this, in ampere.
///
/// An alternator with nothing connected is exactly at the end of its piece; without a tolerance
/// rounding noise would switch it (reasoned, not published).
const FLIP_TOLERANCE_A: f64 = 1e-9;

/// Leak across every part with more than one piece, in siemens.
///
/// Keeps a potential on the node of a blocked diode or an alternator at its limit. 14 V across it
/// gives 14 nA, far below any current that matters here (reasoned, not published).
pub(super) const LEAK_S: f64 = 1e-9;

/// One piece: current from `a` to `b` = `slope_s` * u + `at_zero_a`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    pub(super) slope_s: f64,
    pub(super) at_zero_a: f64,
}

impl Line {
    const NONE: Self = Self {
        slope_s: 0.0,
        at_zero_a: 0.0,
    };

    /// The line of slope `slope_s` that is zero at `u`.
    fn through_zero_at(u: f64, slope_s: f64) -> Self {
        Self {
            slope_s,
            at_zero_a: -slope_s * u,
        }
    }

    pub(super) fn at(self, u: f64) -> f64 {
        self.slope_s * u + self.at_zero_a
    }

    fn leaking(self) -> Self {
        Self {
            slope_s: self.slope_s + LEAK_S,
            ..self
        }
    }
}

/// A law of two or three pieces, in order of rising voltage, continuous and never falling.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pieces {
    lines: [Line; 3],
    breaks: [f64; 2],
    count: usize,
    /// The start piece of the computation.
    pub(super) start: usize,
}

impl Pieces {
    fn two(low: Line, break_v: f64, high: Line, start: usize) -> Self {
        Self {
            lines: [low.leaking(), high.leaking(), Line::NONE],
            breaks: [break_v, f64::INFINITY],
            count: 2,
            start,
        }
    }

    pub(super) fn line(&self, piece: usize) -> Line {
        self.lines[piece]
    }

    /// Lower and upper end of a piece in volt.
    pub(super) fn ends(&self, piece: usize) -> (f64, f64) {
        let low = if piece == 0 {
            f64::NEG_INFINITY
        } else {
            self.breaks[piece - 1]
        };
        let high = if piece + 1 == self.count {
            f64::INFINITY
        } else {
            self.breaks[piece]
        };
        (low, high)
    }

    /// The piece that contains `u`.
    pub(super) fn holding(&self, u: f64) -> usize {
        self.breaks[..self.count - 1]
            .iter()
            .filter(|&&edge| u > edge)
            .count()
    }

    /// The piece that contains `u`, unless `piece` still fits within [`FLIP_TOLERANCE_A`].
    pub(super) fn better(&self, piece: usize, u: f64) -> usize {
        let held = self.holding(u);
        if held == piece
            || (self.lines[held].at(u) - self.lines[piece].at(u)).abs() <= FLIP_TOLERANCE_A
        {
            piece
        } else {
            held
        }
    }
}

/// How the solver treats a law.
pub(super) enum Kind {
    /// Nothing: no current at any voltage.
    Open,
    /// One fixed line.
    Straight(Line),
    /// Several lines.
    Polyline(Pieces),
    /// Constant-current load: amp, cut-off.
    Current { amp: f64, v_cut: f64 },
    /// Constant-power load: watt, cut-off.
    Power { watt: f64, v_cut: f64 },
    /// The two nodes are one.
    Ideal,
}

pub(super) fn kind(law: &Law) -> Kind {
    if law.is_ideal() {
        return Kind::Ideal;
    }
    match *law {
        Law::Ideal => Kind::Ideal,
        Law::Resistor { ohm } | Law::LoadResistance { ohm } if ohm > OPEN_ABOVE_OHM => Kind::Open,
        Law::Resistor { ohm } | Law::LoadResistance { ohm } => Kind::Straight(Line {
            slope_s: 1.0 / ohm,
            at_zero_a: 0.0,
        }),
        Law::Battery {
            emf_v,
            ohm,
            charge_ohm: None,
        } => Kind::Straight(Line::through_zero_at(emf_v, 1.0 / ohm)),
        Law::Battery {
            emf_v,
            ohm,
            charge_ohm: Some(charge_ohm),
        } => Kind::Polyline(Pieces::two(
            Line::through_zero_at(emf_v, 1.0 / ohm),
            emf_v,
            Line::through_zero_at(emf_v, 1.0 / charge_ohm),
            0,
        )),
        Law::Diode { vf_v, ohm } => Kind::Polyline(Pieces::two(
            Line::NONE,
            vf_v,
            Line::through_zero_at(vf_v, 1.0 / ohm),
            0,
        )),
        Law::Alternator {
            v_set,
            ohm_reg,
            i_max,
        } => Kind::Polyline(Pieces {
            lines: [
                Line {
                    slope_s: 0.0,
                    at_zero_a: -i_max,
                }
                .leaking(),
                Line::through_zero_at(v_set, 1.0 / ohm_reg).leaking(),
                Line::NONE.leaking(),
            ],
            breaks: [v_set - i_max * ohm_reg, v_set],
            count: 3,
            start: 1,
        }),
        Law::CurrentSource { amp } => Kind::Straight(Line {
            slope_s: 0.0,
            at_zero_a: amp,
        }),
        Law::LoadCurrent { amp, v_cut } => Kind::Current { amp, v_cut },
        Law::LoadPower { watt, v_cut } => Kind::Power { watt, v_cut },
    }
}

/// The state shown for a piece; a battery's shows in the sign of its current.
pub(super) fn state_of(law: &Law, piece: usize) -> Option<PartState> {
    match (law, piece) {
        (Law::Diode { .. }, 0) | (Law::Alternator { .. }, 2) => Some(PartState::Off),
        (Law::Diode { .. }, _) => Some(PartState::On),
        (Law::Alternator { .. }, 1) => Some(PartState::Regulating),
        (Law::Alternator { .. }, _) => Some(PartState::Limit),
        _ => None,
    }
}
