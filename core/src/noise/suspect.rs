//! What a person hears, and a suspect: one path by which it may get into the audio.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::ripple::DriveKind;
use crate::{document::End, ids::DeviceId, netlist::EdgeOf};

/// What the person hears, and when.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hear {
    /// A whine that follows the engine's speed.
    Whine,
    /// A tick with the strobe.
    Strobe,
    /// A hash while something charges.
    Charging,
    /// Any noise that is there with the engine off too.
    EngineOff,
    /// A squelch that opens without a signal.
    Squelch,
    /// Any noise, only while transmitting.
    Transmit,
    /// Any noise, in one seat only.
    OneSeat,
    /// Any noise that follows nothing known yet.
    Other,
}

impl Hear {
    /// Everything there is to hear.
    pub const ALL: [Self; 8] = [
        Self::Whine,
        Self::Strobe,
        Self::Charging,
        Self::EngineOff,
        Self::Squelch,
        Self::Transmit,
        Self::OneSeat,
        Self::Other,
    ];

    /// In words. They are the titles of log entries, so they never change.
    pub fn words(self) -> &'static str {
        match self {
            Self::Whine => "a whine that follows the engine's speed",
            Self::Strobe => "a tick with the strobe",
            Self::Charging => "a hash while something charges",
            Self::EngineOff => "a hash with the engine off",
            Self::Squelch => "the squelch opens without a signal",
            Self::Transmit => "noise only while transmitting",
            Self::OneSeat => "noise in one seat only",
            Self::Other => "a noise that follows nothing known yet",
        }
    }

    /// The kind of source that drives it, if what is heard says so.
    pub(super) fn drive(self) -> Option<DriveKind> {
        match self {
            Self::Whine => Some(DriveKind::Ripple),
            Self::Strobe => Some(DriveKind::Strobe),
            Self::Charging => Some(DriveKind::Charging),
            Self::Transmit => Some(DriveKind::Transmit),
            Self::EngineOff | Self::Squelch | Self::OneSeat | Self::Other => None,
        }
    }

    /// True if a source of this kind may drive it.
    pub(super) fn fits(self, kind: DriveKind) -> bool {
        match (self.drive(), kind) {
            (Some(wanted), _) => kind == wanted,
            // A radio on receive drives nothing, and the engine may be off.
            (None, DriveKind::Transmit) => false,
            (None, DriveKind::Ripple) => self.engine_runs(),
            (None, _) => true,
        }
    }

    /// True if the engine runs while it is heard.
    pub(super) fn engine_runs(self) -> bool {
        matches!(self, Self::Whine | Self::OneSeat | Self::Other)
    }
}

/// Where a suspect adds its volts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Onto {
    /// In series with the audio.
    Audio,
    /// On the ground of a unit; how much of it is heard depends on how its audio is connected.
    Ground,
    /// On the supply of a unit; how much of it is heard depends on the unit.
    Supply,
}

impl Onto {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Audio => "in the audio",
            Self::Ground => {
                "on its ground; how much is heard depends on how its audio is connected"
            }
            Self::Supply => "on its supply; how much is heard depends on the unit",
        }
    }
}

/// What is wrong, if a suspect is a cause.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// The body of a jack touches metal.
    Jack(DeviceId),
    /// A part closes a loop, or lets a loop pick up a field: a shield's second end, a wire, a case.
    Part(EdgeOf),
    /// This unit and others share a return.
    Shared(DeviceId),
    /// It comes in with the supply of this unit.
    Supply(DeviceId),
    /// A joint of the ground path of audio units is loose.
    Joint(End),
    /// The audio low of this jack is open.
    Low(DeviceId),
    /// The headset of this jack, its cord or plug.
    Headset(DeviceId),
    /// The antenna of this radio picks it up, or what it radiates gets into the audio.
    Air(DeviceId),
    /// The shield of a magneto's P-lead is open.
    PLead(DeviceId),
}

/// One path by which the noise may get into the audio.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// What it is, in words.
    pub what: String,
    /// What is wrong, if it is a cause.
    pub fault: Fault,
    /// The records it consists of, for highlighting in the drawing.
    pub at: Vec<EdgeOf>,
    /// Volts it adds there, V; `None` if only a test can show it.
    pub volts: Option<f64>,
    /// Where it adds them.
    pub into: Onto,
    /// True if that figure leaves out inductance.
    pub resistive_only: bool,
    /// The test that tells.
    pub test: String,
    /// What to do if it is a cause.
    pub if_changed: String,
    /// Where to put the meter, and what to expect.
    pub meter: String,
    /// What its own test showed, if the log holds one.
    pub outcome: Option<Outcome>,
    /// How likely it is a cause after every answer, 0 to 1.
    pub likely: f64,
    /// True if an answer speaks against it, not only for the others.
    pub(super) implicated: bool,
    /// Odds that it is a cause before any answer.
    pub(super) odds: f64,
    /// What the noise passes on its way: without any of it, it is gone.
    pub(super) path: Vec<EdgeIndex>,
    /// The conductor that touches metal: only while it has a second way to metal does a current
    /// flow.
    pub(super) touches: Option<NodeIndex>,
    /// Seats that hear it, as bits.
    pub(super) seats: u64,
    /// Sources that may drive it, as bits.
    pub(super) sources: u64,
}

impl Suspect {
    /// How sure it is, in words.
    pub fn verdict(&self) -> &'static str {
        match self.likely {
            _ if self.is_found() => "a cause",
            it if it >= 0.25 => "likely",
            it if it >= 0.02 => "possible",
            _ => "unlikely",
        }
    }

    /// True if the answers leave little doubt that it is a cause: nothing is blamed only because the others are
    /// cleared.
    pub fn is_found(&self) -> bool {
        self.implicated && self.likely >= FOUND
    }
}

/// From here on a suspect counts as a cause. A judgment, no source.
pub(super) const FOUND: f64 = 0.9;

/// A suspect and the source that drives it.
#[derive(Clone, Copy)]
pub(super) struct Cause {
    /// The suspect's number.
    pub suspect: usize,
    /// The source's number.
    pub source: usize,
    /// Seats that hear it, as bits.
    pub seats: u64,
    /// Odds before any answer.
    pub odds: f64,
}

/// How to take a jack off its metal.
pub(super) fn hang_clear(jack: &str) -> String {
    format!(
        "loosen {jack} so that it hangs clear of the metal, or slip a sheet of paper between, and listen again"
    )
}

/// What a suspect's test showed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The noise changed: the suspect is a cause.
    Changed,
    /// The noise stayed the same: the suspect is cleared.
    Same,
}

impl Outcome {
    /// The words in the log. They are read back, so they never change.
    pub fn words(self) -> &'static str {
        match self {
            Self::Changed => "the noise changed",
            Self::Same => "the noise stayed the same",
        }
    }
}
