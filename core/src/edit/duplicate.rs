//! Devices once more, with their wires and cables: the jacks of another seat, the other landing light.

use super::{Change, EditError, Key, connect::next_pin, copy::on_copy, free};
use crate::{
    document::{BuildStatus, Document, End, ShieldEnd, Shown},
    ids::{CableId, DeviceId, SheetId, SpliceId, WireId},
    order::Map,
};

/// Makes these devices and splices once more under free tags, with every wire that runs between them and
/// every wire that leads to them. Beyond, such a wire ends at the next free pin after that of its
/// original, on the same metal, or nowhere yet. Cables whose wires are all made again are made again
/// with them. What the sheet shows of them it shows again, so much further on.
///
/// # Errors
/// [`EditError::Cannot`] if neither a device nor a splice is named.
pub fn duplicate(
    document: &Document,
    sheet: Option<&SheetId>,
    keys: &[Key],
    by_mm: (f64, f64),
) -> Result<Change, EditError> {
    on_copy(document, |copy| {
        let mut again = Again::default();
        again.devices(document, copy, keys);
        if again.devices.is_empty() && again.splices.is_empty() {
            return Err(EditError::cannot(
                "nothing selected can be duplicated",
                "select devices",
            ));
        }
        again.cables(document, copy);
        again.wires(document, copy);
        again.shields(document, copy);
        again.items(copy, sheet, by_mm);
        Ok(())
    })
}

/// What was made again, by what it was made from.
#[derive(Default)]
struct Again {
    devices: Map<DeviceId, DeviceId>,
    splices: Map<SpliceId, SpliceId>,
    wires: Map<WireId, WireId>,
    /// By wire: label of its cable, and of the cable made again.
    labels: Map<WireId, (String, String)>,
    cables: Vec<(CableId, CableId)>,
}

impl Again {
    fn devices(&mut self, document: &Document, copy: &mut Document, keys: &[Key]) {
        for key in keys {
            match key {
                Key::Device(id) => {
                    let Some(mut device) = document.devices.get(id).cloned() else {
                        continue;
                    };
                    device.set_tag(free::tag(copy, &device.tag));
                    let new: DeviceId = free::key(&copy.devices, &free::slug(&device.tag));
                    copy.devices.insert(new.clone(), device);
                    self.devices.insert(id.clone(), new);
                }
                Key::Splice(id) => {
                    let Some(mut splice) = document.splices.get(id).cloned() else {
                        continue;
                    };
                    let taken = |label: &str| copy.splices.values().any(|it| it.label == label);
                    splice.label = free::numbered(&splice.label, taken);
                    let new: SpliceId = free::key(&copy.splices, id.as_str());
                    copy.splices.insert(new.clone(), splice);
                    self.splices.insert(id.clone(), new);
                }
                _ => {}
            }
        }
    }

    fn is_inside(&self, end: &End) -> bool {
        match end {
            End::Terminal(device, _) => self.devices.contains_key(device),
            End::Splice(id) => self.splices.contains_key(id),
            _ => false,
        }
    }

    /// Where a wire made again ends that ended here.
    fn end(&self, copy: &Document, end: &End) -> End {
        match end {
            End::Terminal(device, terminal) => match self.devices.get(device) {
                Some(new) => End::Terminal(new.clone(), terminal.clone()),
                None => next_pin(copy, end).unwrap_or(End::Open),
            },
            // Another's splice would join both circuits.
            End::Splice(id) => {
                (self.splices.get(id)).map_or(End::Open, |it| End::Splice(it.clone()))
            }
            End::Structure(_) | End::Open => end.clone(),
        }
    }

    fn cables(&mut self, document: &Document, copy: &mut Document) {
        for (id, cable) in &document.cables {
            let goes_along = |id: &WireId| {
                let wire = document.wires.get(id);
                wire.is_some_and(|it| self.is_inside(&it.from) || self.is_inside(&it.to))
            };
            if cable.wires.is_empty() || !cable.wires.iter().all(goes_along) {
                continue;
            }
            let mut made = cable.clone();
            let taken = |label: &str| copy.cables.values().any(|it| it.label == label);
            made.label = free::numbered(&cable.label, taken);
            made.wires.clear();
            for wire in &cable.wires {
                let labels = (cable.label.clone(), made.label.clone());
                self.labels.insert(wire.clone(), labels);
            }
            let new: CableId = free::key(&copy.cables, &free::slug(&made.label));
            copy.cables.insert(new.clone(), made);
            self.cables.push((id.clone(), new));
        }
    }

    fn wires(&mut self, document: &Document, copy: &mut Document) {
        for (id, wire) in &document.wires {
            if !self.is_inside(&wire.from) && !self.is_inside(&wire.to) {
                continue;
            }
            let mut made = wire.clone();
            (made.from, made.to) = (self.end(copy, &wire.from), self.end(copy, &wire.to));
            made.status = BuildStatus::Planned;
            made.number = self.number(copy, id, &wire.number);
            let new: WireId = free::key(&copy.wires, "w1");
            copy.wires.insert(new.clone(), made);
            self.wires.insert(id.clone(), new);
        }
    }

    /// A free number: with the label of its cable made again, else counted on.
    fn number(&self, copy: &Document, id: &WireId, number: &str) -> String {
        let in_cable = self.labels.get(id).and_then(|(old, new)| {
            let rest = number
                .strip_prefix(old.as_str())
                .filter(|_| !old.is_empty())?;
            Some(format!("{new}{rest}"))
        });
        free::number_after(copy, in_cable, number)
    }

    fn shields(&self, document: &Document, copy: &mut Document) {
        for (old, new) in &self.cables {
            let Some(cable) = document.cables.get(old) else {
                continue;
            };
            let wires = cable
                .wires
                .iter()
                .filter_map(|id| self.wires.get(id).cloned());
            let wires: Vec<WireId> = wires.collect();
            let shield = cable.shield.clone().map(|mut shield| {
                for end in [&mut shield.from, &mut shield.to] {
                    let moved = end.at().map(|at| self.end(copy, at));
                    match (&mut *end, moved) {
                        (ShieldEnd::Tied { at, .. } | ShieldEnd::Carried { at, .. }, Some(to))
                            if to != End::Open =>
                        {
                            *at = to;
                        }
                        (end, Some(_)) => *end = ShieldEnd::Floating,
                        (_, None) => {}
                    }
                }
                shield
            });
            if let Some(made) = copy.cables.get_mut(new) {
                (made.wires, made.shield) = (wires, shield);
            }
        }
    }

    fn items(&self, copy: &mut Document, sheet: Option<&SheetId>, by_mm: (f64, f64)) {
        let Some(sheet) = sheet.and_then(|id| copy.sheets.get_mut(id)) else {
            return;
        };
        for mut item in sheet.items.values().cloned().collect::<Vec<_>>() {
            match &mut item.shows {
                Shown::Device { device, .. } => match self.devices.get(device) {
                    Some(new) => *device = new.clone(),
                    None => continue,
                },
                Shown::Splice(id) => match self.splices.get(id) {
                    Some(new) => *id = new.clone(),
                    None => continue,
                },
                Shown::Structure(_) => continue,
            }
            item.x_mm += by_mm.0;
            item.y_mm += by_mm.1;
            let id = free::key(&sheet.items, "i1");
            sheet.items.insert(id, item);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{exchange, rules};

    fn teasel() -> Document {
        let file = include_bytes!("../../../public/samples/teasel.json");
        exchange::open(file).expect("the sample opens").document
    }

    #[test]
    fn a_seat_is_made_again_with_its_wires_and_cables() {
        let mut document = teasel();
        let before = document.clone();
        let keys = ["jk5", "jk6"].map(|id| Key::Device(id.into()));
        let sheet = document.sheets.keys().next().cloned();
        let change = duplicate(&document, sheet.as_ref(), &keys, (0.0, 60.0)).expect("two jacks");
        change.apply(&mut document).expect("made for this");
        let added = |of: fn(&Key) -> bool| change.added().filter(|key| of(key)).count();
        assert_eq!(added(|key| matches!(key, Key::Device(_))), 2);
        let at_jacks = |document: &Document, ids: [&str; 2]| {
            let wires = document.wires.values();
            let at = wires.filter(|wire| {
                let ends = [wire.from.device(), wire.to.device()];
                ends.iter().flatten().any(|id| ids.contains(&id.as_str()))
            });
            at.count()
        };
        assert_eq!(
            added(|key| matches!(key, Key::Wire(_))),
            at_jacks(&before, ["jk5", "jk6"])
        );
        assert!(added(|key| matches!(key, Key::Cable(_))) > 0);
        let mut numbers: Vec<_> = document.wires.values().map(|it| &it.number).collect();
        let count = numbers.len();
        numbers.sort();
        numbers.dedup();
        assert_eq!(numbers.len(), count, "no number twice");
        // No pin takes two: what a pin of the original had, the next free one has.
        let found = rules::check(&document);
        let crowded = |it: &&rules::Finding| it.rule == "crowded-terminal" && it.accepted.is_none();
        assert_eq!(found.findings.iter().filter(crowded).count(), 0);
        change.invert().apply(&mut document).expect("undone");
        assert_eq!(document, before);
    }

    #[test]
    fn nothing_chosen_is_told() {
        let document = teasel();
        assert!(duplicate(&document, None, &[], (0.0, 0.0)).is_err());
    }
}
