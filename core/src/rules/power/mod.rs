//! Rules of supply, protection, wire size and return.

pub mod alternator_gives_nothing;
pub mod always_hot;
pub mod bus_without_source;
pub mod bypassed;
mod coil_lead;
pub mod contact_over_rating;
pub mod diode_heat;
pub mod drop_over_limit;
pub mod load_cannot_run;
pub mod load_left_on;
pub mod no_return;
pub mod not_selective;
pub mod overloaded_alternator;
pub mod protector_over_wire;
pub mod protector_under_load;
pub mod reversed_polarity;
pub mod shared_feed;
pub mod short_endurance;
pub mod short_too_weak;
pub mod single_failure;
pub mod slow_recharge;
pub mod starting_current;
pub mod supply_cannot_carry;
pub mod supply_to_return;
pub mod switch_over_rating;
pub mod unprotected_wire;
pub mod wire_over_rating;
