//! How many terminals go on one stud.

use crate::sources::{AC_43_13_1B, CASA_AC_21_99, Source, cite};

/// Terminals on one stud of a terminal strip before a small bus is used instead.
pub const TERMINALS_MAX: usize = 4;
/// Where that is said.
pub const TERMINALS_SOURCE: Source = cite(AC_43_13_1B, "par 11-174b, p. 11-67");

/// Ground wires on one stud.
pub const GROUND_WIRES_MAX: usize = 4;
/// Where that is said.
pub const GROUND_WIRES_SOURCE: Source = cite(CASA_AC_21_99, "section 2, chapter 13");
