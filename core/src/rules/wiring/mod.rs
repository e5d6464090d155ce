//! Rules of wires and where they end.

pub mod contact_size;
pub mod crowded_stud;
pub mod crowded_terminal;
pub mod noisy_beside_audio;
pub mod unconnected_end;
