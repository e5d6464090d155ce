//! Small parts of the interface that know nothing of wiring.

pub mod dialog;
pub mod icon;

pub use dialog::Dialog;
pub use icon::Icon;
