//! Rules of audio, data and sensor wiring.

pub mod arinc_crossed;
pub mod can_crossed;
pub mod can_not_terminated;
pub mod joined;
pub mod serial_outputs;
pub mod swapped_cores;
