//! Rules of the record itself: numbers, readings, acceptances.

pub mod duplicate_wire_number;
pub mod function_of_another;
pub mod hidden_characters;
pub mod measured_otherwise;
pub mod number_in_pieces;
pub mod reading;
pub mod unlikely_length;
pub mod unused_acceptance;
