//! The check room: loads, endurance, reviews, noise.

pub const LOADS_BY_PHASE: &str = "Loads by phase";
pub const ENDURANCE: &str = "Endurance without alternator";
/// Heading of the review of failures.
pub const WHAT_STOPS: &str = "What stops if a part fails open";
/// Heading of the noise paper.
pub const NOISE: &str = "Noise in the headset";
/// Asks for what is heard.
pub const WHAT_IS_HEARD: &str =
    "What do you hear, and when? The next test and the suspects in this drawing follow.";
/// Nothing to look at.
pub const NO_STATE: &str = "There is no phase yet. Add one in the plan room.";
/// No loop with audio.
pub const NO_AUDIO_LOOP: &str = "No loop includes an audio low or an audio shield.";
/// The next test of a suspect.
pub const TEST: &str = "Test";
/// What a change means.
pub const IF_CHANGED: &str = "If it changes";
/// Where to put the meter.
pub const METER: &str = "Meter";
/// The noise is gone in a test.
pub const IT_IS_GONE: &str = "It is gone";
/// The noise is weaker in a test.
pub const IT_IS_WEAKER: &str = "Weaker at every seat";
/// The noise is gone at the seats that are marked.
pub const GONE_AT_MARKED: &str = "Gone at those marked";
/// Keeps what is marked.
pub const KEEP_MARKED: &str = "Keep what is marked";
/// Removes an answer.
pub const TAKE_BACK: &str = "Remove";
/// The noise stayed the same in a test.
pub const IT_STAYED: &str = "It stayed the same";
/// Selects the records on the drawing.
pub const SHOW_ON_DRAWING: &str = "Show on drawing";
/// Heading of the figures that no drawing holds.
pub const NOISE_FIGURES_TITLE: &str = "Values not on the drawing";
/// The figures, in the core's order.
pub const NOISE_FIGURES: [&str; 8] = [
    "Engine speed, 1/min",
    "Alternator turns per engine turn",
    "Pole pairs of the alternator",
    "Ripple current, A rms",
    "Inductance of wires, µH/m",
    "Inductance of a bond, µH",
    "Microphone level, mV rms",
    "Headphone level, mV rms",
];

/// How many loops the returns have.
pub fn returns(independent: usize, benign: usize) -> String {
    format!(
        "Return loops: {independent}, {benign} of them parallel power grounds, which do no harm."
    )
}

/// What a loop adds.
pub fn at_most_in_audio(level: &str) -> String {
    format!("At most {level} in the audio")
}

/// What may drive the noise, the most likely first.
pub fn sources(list: &str) -> String {
    format!("Sources, the most likely first: {list}")
}

/// What a test showed, and who made it.
pub fn found_by(outcome: &str, who: &str, date: &str) -> String {
    format!("Found: {outcome} ({who}, {date})")
}

/// Heading of the paper of wires that are always live.
pub const ALWAYS_HOT: &str = "Always hot";
/// Heading of the review of shorts.
pub const WHAT_SHORTS: &str = "What a wire shorted to structure does";
/// Ends a review before it is done.
pub const STOP: &str = "Stop";
/// Said if a review cannot be made.
pub const REVIEW_BROKEN: &str = "The review failed. Reload the page; if it fails again, report it.";

/// The current that recharges the battery in the target time.
pub fn recharge(amps: f64) -> String {
    format!("To recharge the battery in the target time: {amps:.1} A")
}

/// Why something could not be computed.
pub fn not_computed(missing: &str) -> String {
    format!("Not computed: {missing}")
}
