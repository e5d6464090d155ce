//! Rules of returns, shields and what touches structure.

pub mod jack_on_structure;
pub mod shared_return;
pub mod uncovered_jack_terminal;
