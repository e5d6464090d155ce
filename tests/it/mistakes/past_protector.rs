//! A circuit is fed from the line side of its breaker or fuse, or without the fuse in its wire.

use loomwright_core::document::End;

use super::walk::{BOTH, Edit, Mistake, Wiring, end_of, protector};

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, wire) in &wiring.document.wires {
        if wire.fuse.is_some() {
            all.extend(
                Edit::of(wiring)
                    .wire(id, |it| it.fuse = None)
                    .made(format!("{id} without its fuse")),
            );
        }
        for which in BOTH {
            let Some((device_id, device, terminal)) = wiring.terminal(end_of(wire, which)) else {
                continue;
            };
            let protectors = device.elements.iter().filter_map(protector);
            for (line, _) in protectors.filter(|(_, load)| **load == terminal.id) {
                let end = End::Terminal(device_id.clone(), line.clone());
                let what = format!("{id}: {} to {end}", end_of(wire, which));
                all.extend(Edit::of(wiring).moved(id, which, end).made(what));
            }
        }
    }
    all
}
