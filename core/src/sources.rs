//! The published documents we cite, by name and edition, and the form of a citation.

use serde::Serialize;

/// A place in a published document, or the statement that there is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Source {
    /// Document and edition, or "common practice, no source".
    pub document: &'static str,
    /// Paragraph, table or figure.
    pub place: &'static str,
}

/// A citation: `cite(AC_43_13_1B, "Table 11-9")`.
pub const fn cite(document: &'static str, place: &'static str) -> Source {
    Source { document, place }
}

/// The citation of common practice that no document states.
pub const COMMON_PRACTICE: &str = "common practice, no source";

/// Acceptable Methods, Techniques, and Practices: Aircraft Inspection and Repair, with change 1.
pub const AC_43_13_1B: &str = "FAA AC 43.13-1B CHG 1 (27 Sep 2001)";
/// The same document before change 1; cited where only that text was read.
pub const AC_43_13_1B_1998: &str = "FAA AC 43.13-1B (8 Sep 1998)";
/// Airframe handbook.
pub const FAA_H_8083_31: &str = "FAA-H-8083-31, Aviation Maintenance Technician Handbook: Airframe";
/// Powerplant handbook.
pub const FAA_H_8083_32: &str =
    "FAA-H-8083-32, Aviation Maintenance Technician Handbook: Powerplant";
/// Airworthiness rules for small airplanes before amendment 64.
pub const CFR_14_23: &str = "14 CFR 23 (1 Jan 2014 edition)";
/// Airworthiness rules for small rotorcraft, where they word a rule that airplanes had too.
pub const CFR_14_27: &str = "14 CFR 27";
/// Airworthiness rules for transport airplanes.
pub const CFR_14_25: &str = "14 CFR 25 (2024 edition)";
/// Wiring practices of the Australian authority.
pub const CASA_AC_21_99: &str = "CASA AC 21-99(1) (Sep 2013)";
/// Wiring, aerospace vehicle.
pub const MIL_W_5088L: &str = "MIL-W-5088L";
/// Aircraft electric power characteristics.
pub const MIL_STD_704F: &str = "MIL-STD-704F (12 Mar 2004)";
/// Grounding, bonding and shielding.
pub const MIL_HDBK_419A: &str = "MIL-HDBK-419A (29 Dec 1987)";
/// Wire gauge sizes; the formula as quoted by wire makers.
pub const ASTM_B258: &str = "ASTM B258 (gauge formula as quoted by wire makers)";
/// Earthing arrangements and protective conductors; the formula, as it is widely quoted.
pub const IEC_60364_5_54: &str = "IEC 60364-5-54 (formula as widely quoted)";
/// Blade fuses; as makers' sheets quote it.
pub const ISO_8820_3: &str = "ISO 8820-3, blade fuses (as makers' sheets quote it)";
/// Controller area network; cited from memory, not read.
pub const ISO_11898: &str = "ISO 11898-2, high-speed CAN (from memory)";
/// Thermocouples; cited from memory, not read.
pub const ASTM_E230: &str = "ASTM E230, thermocouple types and their legs (from memory)";
/// Text that looks like other text; cited from memory, not read.
pub const UNICODE_TR_36: &str =
    "Unicode Technical Report #36, Unicode Security Considerations (from memory)";
/// Digital information transfer system; cited from memory, not read.
pub const ARINC_429: &str = "ARINC Specification 429 (from memory)";
