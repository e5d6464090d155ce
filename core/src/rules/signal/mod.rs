//! Data lines and audio.

pub mod can_not_terminated;
