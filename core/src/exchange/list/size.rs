//! The size of a wire as lists give it.

use crate::{
    standards::{conductor_heat::mm2_of_cmil, wire_table},
    units::{Gauge, number},
};

/// A gauge may have this much more metal than the list says, for rounding: 0.6 mm² for 20 AWG, which has 0.616.
const MORE: f64 = 1.05;
/// Areas beyond these are no wire of a light aircraft, mm².
const PLAUSIBLE_MM2: std::ops::RangeInclusive<f64> = 0.19..=120.0;

/// An area with its unit, or in a column of areas: "0,34 mm²", "2.5 sq mm". None if it is no area.
pub(super) fn area_mm2(text: &str, is_in_mm2: bool) -> Option<f64> {
    let text = text.trim().to_lowercase();
    let ends = ["mm\u{b2}", "mm2", "mm^2", "sq mm", "sqmm", "sq. mm", "qmm"];
    let own = ends.iter().find_map(|end| text.strip_suffix(end));
    match own {
        Some(digits) => number(digits),
        None if is_in_mm2 => number(&text),
        None => None,
    }
}

/// The thickest gauge that has no more metal than this, but for rounding. So a wire is never taken for thicker than it
/// is.
///
/// # Errors
/// An area that no gauge of the table has.
pub(super) fn gauge_of(mm2: f64) -> Result<Gauge, String> {
    let is_under = |row: &&wire_table::Row| mm2_of_cmil(row.circular_mil) <= mm2 * MORE;
    let by_area =
        |a: &&wire_table::Row, b: &&wire_table::Row| a.circular_mil.total_cmp(&b.circular_mil);
    let found = (wire_table::ROWS.iter()).filter(is_under).max_by(by_area);
    found
        .filter(|_| PLAUSIBLE_MM2.contains(&mm2))
        .map(|row| row.gauge)
        .ok_or_else(|| format!("no wire here has {mm2} mm\u{b2}; type the AWG size"))
}

/// What is written of a wire whose size was an area.
pub(super) fn note(mm2: f64) -> String {
    format!("{mm2} mm\u{b2} in the list")
}
