//! Number of terminals on one stud.

use crate::sources::{AC_43_13_1B, CASA_AC_21_99, Source, cite};

/// Most terminals on one stud of a terminal strip; with more, use a small bus.
pub const TERMINALS_MAX: usize = 4;
/// Source of that number.
pub const TERMINALS_SOURCE: Source = cite(AC_43_13_1B, "par 11-174b, p. 11-67");

/// Most ground wires on one stud.
pub const GROUND_WIRES_MAX: usize = 4;
/// Source of that number.
pub const GROUND_WIRES_SOURCE: Source = cite(CASA_AC_21_99, "section 2, chapter 13");
