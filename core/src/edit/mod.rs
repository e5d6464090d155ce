//! The only code that makes changes: each edit is a function that returns a [`Change`].

pub mod change;

pub use change::{Change, Key, Record};
