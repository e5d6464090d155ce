//! Published tables and formulas, one a file, each with its citation.

pub mod wire_table;
