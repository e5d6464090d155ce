//! Two wires swap places at neighboring terminals of one device or connector half.

use loomwright_core::document::End;

use super::walk::{Edit, Mistake, Wiring, protector};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, device) in &wiring.document.devices {
        for row in Wiring::rows(device) {
            let ends = row
                .iter()
                .map(|it| End::Terminal(id.clone(), it.id.clone()));
            let wired: Vec<End> = ends
                .filter(|end| !wiring.wires_at(end).is_empty())
                .collect();
            for pair in wired.windows(2) {
                // The wires of two breakers: see `labels`.
                let is_load = |end: &End| {
                    let at = |load: &_| matches!(end, End::Terminal(_, it) if it == load);
                    device
                        .elements
                        .iter()
                        .any(|it| protector(it).is_some_and(|(_, load)| at(load)))
                };
                if pair.iter().all(is_load) {
                    continue;
                }
                let [first, second] = [0, 1].map(|at| wiring.wires_at(&pair[at])[0]);
                if first.0 == second.0 {
                    continue;
                }
                all.extend(
                    Edit::of(wiring)
                        .moved(first.0, first.1, pair[1].clone())
                        .moved(second.0, second.1, pair[0].clone())
                        .made(format!(
                            "{} at {} and {} at {} exchanged",
                            first.0, pair[0], second.0, pair[1]
                        )),
                );
            }
        }
    }
    all
}
