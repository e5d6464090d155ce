//! Rules of audio, data and sensor wiring.

pub mod arinc_crossed;
pub mod arinc_receivers;
pub mod audio_level;
pub mod can_crossed;
pub mod can_not_terminated;
pub mod can_stub;
pub mod data_rate;
pub mod discrete_mismatch;
pub mod half_audio_pair;
pub mod joined;
pub mod magneto_switch;
pub mod mic_bias;
pub mod motor_no_stop;
pub mod motor_one_way;
pub mod pin_mismatch;
pub mod pin_of_another;
mod reversing;
pub mod rf_line;
pub mod serial_outputs;
pub mod serial_unheard;
pub mod serial_without_ground;
pub mod swapped_cores;
pub mod sync_line;
pub mod tach_on_p_lead;
pub mod thermocouple_crossed;
pub mod thermocouple_material;
