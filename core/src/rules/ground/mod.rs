//! Rules of returns, shields and what touches the airframe.

pub mod antenna_without_ground_plane;
pub mod audio_low_on_return;
pub mod avionics_return_elsewhere;
pub mod ground_block_loose;
pub mod grounds;
pub mod jack_on_structure;
pub mod sender_ground;
pub mod shared_return;
pub mod shield_both_ends;
pub mod shield_nowhere;
pub mod shield_on_pin;
pub mod shields;
pub mod uncovered_jack_terminal;
