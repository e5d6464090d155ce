//! The wires of two breakers are swapped, so that the label of each names the other's load.

use loomwright_core::document::End;

use super::walk::{Edit, Mistake, Wiring, protector};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, device) in &wiring.document.devices {
        let loads = device
            .elements
            .iter()
            .filter_map(protector)
            .map(|(_, load)| load);
        let ends = loads.map(|it| End::Terminal(id.clone(), it.clone()));
        let wired: Vec<End> = ends.filter(|it| !wiring.wires_at(it).is_empty()).collect();
        for pair in wired.windows(2) {
            let mut edit = Edit::of(wiring);
            for (from, to) in [(&pair[0], &pair[1]), (&pair[1], &pair[0])] {
                for (wire, which) in wiring.wires_at(from) {
                    edit = edit.moved(wire, *which, to.clone());
                }
            }
            all.extend(edit.made(format!("wires of {} and {} swapped", pair[0], pair[1])));
        }
    }
    all
}
