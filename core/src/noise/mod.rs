//! Noise review: loops of returns and shields, the sources that drive current through them, and
//! what to test first.

pub mod guide;
pub mod names;
pub mod results;
pub mod review;
pub mod ripple;
pub mod suspect;

pub use guide::suspects;
pub use review::{Effect, LoopNoise, Noise, SupplyNoise};
pub use ripple::{Drive, DriveKind, Settings};
pub use suspect::{Hear, Onto, Outcome, Suspect};
