//! Published tables and formulas, one per file, each with its citation.

pub mod bundle;
pub mod conductor_heat;
pub mod contact_load;
pub mod drop_limits;
pub mod free_air;
pub mod opening_time;
pub mod protection_chart;
pub mod stud;
pub mod switch_factor;
pub mod thermocouple;
pub mod wire_table;
pub mod wire_weight;
