//! Sources, protectors, wire size and voltage.

pub mod drop_over_limit;
pub mod protector_over_wire;
pub mod protector_under_load;
pub mod supply_cannot_carry;
pub mod wire_over_rating;
