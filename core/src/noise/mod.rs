//! Noise review: loops of returns and shields, the sources that drive current through them, and
//! the hunt for what is heard: its suspects, and the next test.

mod drawn;
mod effects;
pub mod guide;
mod hidden;
pub mod hunt;
pub mod names;
pub mod results;
pub mod review;
pub mod ripple;
mod sources;
pub mod step;
pub mod suspect;

pub use hunt::{Hunt, Proposal, hunt};
pub use review::{Effect, LoopNoise, Noise, SupplyNoise};
pub use ripple::{Drive, DriveKind, Settings};
pub use sources::Source;
pub use step::{Answer, Step};
pub use suspect::{Fault, Hear, Onto, Outcome, Suspect};
