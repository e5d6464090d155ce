//! Where noise gets into the audio: loops of returns and shields, what drives current through them, and
//! what to test first.

pub mod graph;
pub mod loops;

pub use graph::{Class, Link, ReturnGraph};
pub use loops::{Finding, LoopKind, Loops, loops};
