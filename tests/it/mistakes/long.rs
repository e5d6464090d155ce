//! A wire of ten times its length, where the voltage drop of that length alone is over the limit of its circuit
//! (AC 43.13-1B table 11-6, with the resistances of its table 11-9).

use std::collections::BTreeMap;

use loomwright_core::{
    ids::WireId,
    solve::operate_all,
    standards::{drop_limits::drop_limit, wire_table},
};

use super::walk::{Edit, Mistake, Wiring};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let document = wiring.document;
    let Some(limit) = drop_limit(document.project.nominal_v) else {
        return Vec::new();
    };
    let mut most_a: BTreeMap<&WireId, f64> = BTreeMap::new();
    // Cranking has no limit of its own.
    for point in operate_all(document) {
        let state = &document.states[&point.state];
        if state
            .loads
            .values()
            .any(|it| *it != loomwright_core::document::LoadUse::Off)
        {
            continue;
        }
        for id in document.wires.keys() {
            let amps = point.wire_amps(id).unwrap_or(0.0).abs();
            let most = most_a.entry(id).or_default();
            *most = most.max(amps);
        }
    }
    let mut all = Vec::new();
    for (id, wire) in &document.wires {
        let (Some(gauge), Some(length_m), Some(amps)) =
            (wire.gauge_awg, document.wire_length_m(wire), most_a.get(id))
        else {
            continue;
        };
        let Some(row) = wire_table::find(gauge) else {
            continue;
        };
        if amps * row.ohm_per_m() * 10.0 * length_m > limit.continuous_v {
            let edit = Edit::of(wiring).wire(id, |it| it.length_m = Some(10.0 * length_m));
            all.extend(edit.made(format!(
                "{id}: {length_m} m becomes {:.1} m",
                10.0 * length_m
            )));
        }
    }
    all
}
