//! What a person hears, and a suspect: one path by which it may get into the audio.

use super::ripple::DriveKind;
use crate::netlist::EdgeOf;

/// What the person hears.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hear {
    /// A whine that follows the engine's speed.
    Whine,
    /// A tick with the strobe.
    Strobe,
    /// A hash while something charges.
    Charging,
    /// Any noise, in one seat only.
    OneSeat,
    /// Any noise, only while transmitting.
    Transmit,
}

impl Hear {
    /// Everything there is to hear.
    pub const ALL: [Self; 5] = [
        Self::Whine,
        Self::Strobe,
        Self::Charging,
        Self::OneSeat,
        Self::Transmit,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Whine => "a whine that follows the engine's speed",
            Self::Strobe => "a tick with the strobe",
            Self::Charging => "a hash while something charges",
            Self::OneSeat => "noise in one seat only",
            Self::Transmit => "noise only while transmitting",
        }
    }

    /// The source that drives it. For one seat the alternator represents any source.
    pub(super) fn drive(self) -> DriveKind {
        match self {
            Self::Whine | Self::OneSeat => DriveKind::Ripple,
            Self::Strobe => DriveKind::Strobe,
            Self::Charging => DriveKind::Charging,
            Self::Transmit => DriveKind::Transmit,
        }
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

/// One path by which the noise may get into the audio.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspect {
    /// What it is, in words.
    pub what: String,
    /// The records it consists of, for highlighting in the drawing.
    pub at: Vec<EdgeOf>,
    /// Volts it adds there, V; `None` if only a test can show it.
    pub volts: Option<f64>,
    /// Where it adds them.
    pub into: Onto,
    /// True if that figure leaves out inductance.
    pub resistive_only: bool,
    /// The next test to make.
    pub test: String,
    /// What it means if the noise changes.
    pub if_changed: String,
    /// What it means if it stays the same.
    pub if_same: String,
    /// Where to put the meter, and what to expect.
    pub meter: String,
    /// What its test showed, if the log holds one.
    pub outcome: Option<Outcome>,
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
