//! Rules of wires and where they end.

pub mod contact_size;
pub mod crowded_stud;
pub mod crowded_terminal;
pub mod noisy_beside_audio;
pub mod not_wired_yet;
pub mod one_sided;
pub mod unconnected_end;
pub mod unmated_pin;
pub mod wire_on_spare;
