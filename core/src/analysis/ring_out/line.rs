//! One line of the sheet: what is measured, and what passes.

use petgraph::graph::EdgeIndex;

use crate::{
    document::{End, Reading, Test, WireEnd},
    ids::CableId,
};

/// What a meter may show over the computed ohms, leads nulled: the larger of this, ohm, and of a
/// quarter (common practice, no source).
const OVER_OHM: f64 = 0.2;
/// From here on a circuit is open to another, ohm (common practice, no source).
pub const OPEN_OHM: f64 = 100_000.0;
/// Share by which the resistance of a data bus may differ (5 % resistors and a meter's own error;
/// common practice, no source).
const RESISTOR_SHARE: f64 = 0.1;
/// Below this a coil or motor that stays connected looks the same as a short, ohm (common practice, no
/// source).
pub(super) const LEAST_TOLD_OHM: f64 = 2.0;
/// The most that continuity shows if a length is not known, ohm (common practice, no source).
const UNKNOWN_OHM: f64 = 5.0;
/// What a thermocouple probe's own leads may add to those drawn, ohm (common practice, no source).
const PROBE_OHM: f64 = 20.0;
/// A thermocouple pair that reads less than this share of its leads touches before its probe.
const PAIR_SHARE: f64 = 0.75;

/// What a line expects.
#[derive(Clone, Debug, PartialEq)]
pub enum Expect {
    /// So many ohms, leads nulled, or less where a parallel path exists; not known if a length is
    /// missing or the conductor is not copper.
    Ohm(Option<f64>),
    /// Open; but what is named stays joined and is measured with it. The ohms of all of it, if it is
    /// known, else the meter shows what the unit lets it.
    Open {
        /// What stays joined.
        through: Vec<String>,
        /// Its ohms.
        ohm: Option<f64>,
    },
    /// So many ohms through resistors.
    About(f64),
    /// A thermocouple pair through its junction: the ohms of its leads, if lengths and alloys are known. The
    /// probe's own leads add to them.
    Probe(Option<f64>),
}

/// One measurement.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What is measured.
    pub test: Test,
    /// One lead.
    pub from: End,
    /// The other; [`End::Open`] for all other circuits and structure, and for shields.
    pub to: End,
    /// What is taken off its terminal first.
    pub off: Vec<End>,
    /// The switch that is moved from rest, `DEVICE/ELEMENT`, and its position.
    pub position: Option<(String, usize)>,
    /// What is to be read.
    pub expect: Expect,
    /// What is measured along, from one lead to the other.
    pub path: Vec<EdgeIndex>,
    /// Shields, by the end where a lead is on the braid: it is cut back there, or lifted from its terminal for this
    /// line. Each is measured to `from`, and the worst counts.
    pub shields: Vec<(CableId, WireEnd)>,
}

impl Line {
    /// A measurement with nothing taken off, every switch at rest.
    pub(super) fn new(test: Test, from: End, to: End, expect: Expect) -> Self {
        Self {
            test,
            from,
            to,
            off: Vec::new(),
            position: None,
            expect,
            path: Vec::new(),
            shields: Vec::new(),
        }
    }

    /// True if a reading of the wired aircraft is of this line, either way round.
    pub fn is_of(&self, reading: &Reading) -> bool {
        let ends = (&reading.from, &reading.to);
        !reading.before_wiring
            && self.test == reading.test
            && self.position == reading.position
            && (ends == (&self.from, &self.to) || ends == (&self.to, &self.from))
    }

    /// The most, or the least, that passes, ohm.
    pub fn limit_ohm(&self) -> Option<f64> {
        match &self.expect {
            Expect::Ohm(Some(ohm)) => Some(ohm + OVER_OHM.max(ohm / 4.0)),
            Expect::Ohm(None) => Some(UNKNOWN_OHM),
            Expect::Open { through, .. } if through.is_empty() => Some(OPEN_OHM),
            // What is nearly a short anyway says nothing.
            Expect::Open { ohm, .. } => ohm.filter(|it| *it >= LEAST_TOLD_OHM).map(|it| it / 2.0),
            Expect::About(ohm) => Some(*ohm),
            Expect::Probe(ohm) => Some(ohm.map_or(UNKNOWN_OHM, |it| it * 1.25) + PROBE_OHM),
        }
    }

    /// The least and the most that pass, ohm; `None` if no reading can be judged.
    pub fn limits_ohm(&self) -> Option<[f64; 2]> {
        let limit = self.limit_ohm()?;
        Some(match self.expect {
            Expect::Ohm(_) | Expect::Probe(None) => [f64::NEG_INFINITY, limit],
            Expect::Open { .. } => [limit, f64::INFINITY],
            Expect::About(ohm) => [ohm - RESISTOR_SHARE * ohm, ohm + RESISTOR_SHARE * ohm],
            Expect::Probe(Some(leads)) => [PAIR_SHARE * leads, limit],
        })
    }

    /// True if a reading of so many ohms does not pass.
    pub fn fails(&self, ohm: f64) -> bool {
        let limits = self.limits_ohm();
        limits.is_some_and(|[least, most]| !(least..=most).contains(&ohm))
    }

    /// The limits in words: "0.25 Ω or less".
    pub fn limits(&self) -> String {
        let Some([least, most]) = self.limits_ohm() else {
            return "not judged".into();
        };
        match &self.expect {
            Expect::Ohm(_) => format!("{most:.2} Ω or less"),
            Expect::Open { through, .. } if through.is_empty() => "100 kΩ or more".into(),
            Expect::Open { .. } => format!("{least:.1} Ω or more"),
            Expect::About(_) => format!("{least:.0} to {most:.0} Ω"),
            Expect::Probe(None) => format!("{most:.0} Ω or less"),
            Expect::Probe(Some(_)) => format!("{least:.1} to {most:.0} Ω"),
        }
    }
}
