//! Rules of the record itself: numbers, readings, acceptances.

pub mod duplicate_wire_number;
pub mod hidden_characters;
pub mod measured_otherwise;
pub mod reading;
pub mod unused_acceptance;
