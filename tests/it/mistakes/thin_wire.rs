//! A wire eight gauges thinner.

use loomwright_core::units::Gauge;

use super::walk::{Edit, Mistake, Wiring};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, wire) in &wiring.document.wires {
        let thin = wire.gauge_awg.and_then(|it| {
            let thinner = Gauge::ALL.into_iter().filter(|size| size.0 >= it.0 + 8);
            thinner.min_by_key(|size| size.0)
        });
        if let Some(thin) = thin {
            let what = format!("{id}: {} becomes {thin} AWG", wire.size());
            all.extend(
                Edit::of(wiring)
                    .wire(id, |it| it.gauge_awg = Some(thin))
                    .made(what),
            );
        }
    }
    all
}
