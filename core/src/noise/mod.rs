//! Noise review: loops of returns and shields, the sources that drive current through them, and
//! what to test first.

pub mod graph;
pub mod guide;
pub mod loops;
pub mod names;
mod phasors;
pub mod results;
pub mod review;
pub mod ripple;
pub mod shared;
pub mod suspect;

pub use graph::{Class, Link, ReturnGraph};
pub use guide::suspects;
pub use loops::{Finding, LoopKind, Loops, loops};
pub use phasors::{Branch, Phasors};
pub use review::{Effect, LoopNoise, Noise, SupplyNoise};
pub use ripple::{Drive, DriveKind, Settings};
pub use shared::{SharedReturn, shared_returns};
pub use suspect::{Hear, Onto, Outcome, Suspect};
