//! The drawing tools: pure state machines fed with plain input. No browser, no signals.
//!
//! A tool gets every press, move and release with what is under it, and answers with what it shows,
//! what it selects and what it changes. A draft is shown and taken back; only a commit is kept, as
//! one step of undo. Escape leaves nothing behind.

mod cable;
mod device;
#[cfg(test)]
mod driver;
pub mod hit;
mod ink;
mod machine;
mod magnet;
mod pen;
mod select;
mod splice;
mod tool;
mod wire;

pub use hit::Hit;
pub use machine::machine;
pub use pen::pins_of;
pub use tool::{At, Input, Reply, Tool, World};
