//! Resistance of the conductors in the graph.

use crate::{
    document::ConductorKind,
    netlist::EdgeKind,
    standards::{thermocouple, wire_table::copper_ohm_per_m},
    units::Gauge,
};

/// Length used for a wire without a length, so that it still connects, m. Rules must report that
/// they could not check it.
pub const UNKNOWN_LENGTH_M: f64 = 0.1;

/// The gauge that such a piece has if the gauge is not known.
pub const UNKNOWN_GAUGE: Gauge = Gauge(20);

/// Smallest resistance of a conductor in the solution, ohm; below it the split of current between
/// parallel conductors would be undetermined. 1 mV at 100 A (reasoned, not published).
pub(super) const LEAST_OHM: f64 = 1e-5;

/// Ohm per meter of a thermocouple alloy at 20 °C; `None` for copper.
pub fn alloy_ohm_per_m(conductor: ConductorKind, gauge: Gauge) -> Option<f64> {
    let alloy = match conductor {
        ConductorKind::TypeKPositive => thermocouple::K_POSITIVE,
        ConductorKind::TypeKNegative => thermocouple::K_NEGATIVE,
        ConductorKind::TypeJPositive => thermocouple::J_POSITIVE,
        ConductorKind::TypeJNegative => thermocouple::J_NEGATIVE,
        ConductorKind::Copper | ConductorKind::Coax => return None,
    };
    thermocouple::ohm_per_m(alloy, gauge)
}

/// Resistance of a conductor, ohm, with wires at `conductor_c`; `None` for a part that is not a
/// plain resistance, and for bars, whose resistance is negligible.
pub fn edge_ohm(kind: &EdgeKind, conductor_c: f64) -> Option<f64> {
    let along = |ohm_per_m: f64, length_m: Option<f64>| {
        let known = length_m.filter(|length_m| length_m.is_finite() && *length_m > 0.0);
        ohm_per_m * known.unwrap_or(UNKNOWN_LENGTH_M)
    };
    let copper = |gauge, length_m| along(copper_ohm_per_m(gauge, conductor_c), length_m);
    let ohm = match *kind {
        EdgeKind::Wire {
            gauge: None,
            joint_ohm,
            ..
        } => copper(UNKNOWN_GAUGE, None) + joint_ohm,
        EdgeKind::Wire {
            length_m,
            gauge: Some(gauge),
            joint_ohm,
            conductor,
        } => match alloy_ohm_per_m(conductor, gauge) {
            Some(ohm_per_m) => along(ohm_per_m, length_m) + joint_ohm,
            None => copper(gauge, length_m) + joint_ohm,
        },
        EdgeKind::Shield { length_m, gauge } => copper(gauge, length_m),
        EdgeKind::ShieldEnd { length_m, gauge } if length_m > 0.0 => copper(gauge, Some(length_m)),
        EdgeKind::ShieldEnd { .. } => 0.0,
        EdgeKind::JackTie(_) => crate::netlist::BOND_OHM,
        EdgeKind::Mate { ohm }
        | EdgeKind::Shunt { ohm }
        | EdgeKind::Resistor { ohm }
        | EdgeKind::Tie { ohm }
        | EdgeKind::Bond { ohm }
        | EdgeKind::Protector { ohm, .. }
        | EdgeKind::Switch { ohm, .. }
        | EdgeKind::Contact { ohm, .. } => ohm,
        EdgeKind::Bar(_)
        | EdgeKind::Coil { .. }
        | EdgeKind::Diode { .. }
        | EdgeKind::Load
        | EdgeKind::Battery { .. }
        | EdgeKind::Alternator { .. } => return None,
    };
    Some(if ohm.is_finite() {
        ohm.max(LEAST_OHM)
    } else {
        LEAST_OHM
    })
}
