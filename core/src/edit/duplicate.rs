//! Duplicates devices with their wires and cables: the jacks of another seat, the other landing light.

use std::fmt;

use super::{
    Change, EditError, Key,
    copy::on_copy,
    counterpart::{Counterparts, WhyOpen},
    free,
};
use crate::{
    document::{BuildStatus, Document, End, Shield, ShieldEnd, Shown},
    ids::{CableId, DeviceId, SheetId, SpliceId, WireId},
    order::Map,
};

/// A duplicate, and which of its ends a person has to wire.
#[derive(Clone, Debug, PartialEq)]
pub struct Duplicated {
    /// The records added.
    pub change: Change,
    /// Far ends that are left open.
    pub open: Vec<LeftOpen>,
}

/// The far end of a duplicated wire or shield that is left open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOpen {
    /// Number of the new wire, or label of the new cable.
    pub label: String,
    /// True for the shield of that cable.
    pub is_shield: bool,
    /// Where its original ends, in words.
    pub original_at: String,
    /// Why no end like it was found.
    pub why: WhyOpen,
}

impl fmt::Display for LeftOpen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shield = if self.is_shield { " shield" } else { "" };
        let (label, at) = (&self.label, &self.original_at);
        write!(f, "{label}{shield} is open at {at}: {}", self.why)
    }
}

/// Duplicates devices and splices under free tags, with every wire between them and every wire that leads to them.
/// The far end of such a wire goes to the equivalent pin of the next seat, to another tab of a shared point, to the
/// same metal, or stays open; open ends are reported. Cables whose wires are all duplicated are duplicated with
/// them. The duplicates are shown on the sheet next to the originals, at the given distance.
///
/// # Errors
/// [`EditError::Cannot`] if neither a device nor a splice is named.
pub fn duplicate(
    document: &Document,
    sheet: Option<&SheetId>,
    keys: &[Key],
    by_mm: (f64, f64),
) -> Result<Duplicated, EditError> {
    let mut again = Copies::default();
    let change = on_copy(document, |copy| {
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
    })?;
    let open = again.open;
    Ok(Duplicated { change, open })
}

/// The new records, by their originals.
#[derive(Default)]
struct Copies {
    devices: Map<DeviceId, DeviceId>,
    splices: Map<SpliceId, SpliceId>,
    wires: Map<WireId, WireId>,
    /// By wire: label of its cable, and of the duplicated cable.
    labels: Map<WireId, (String, String)>,
    cables: Vec<(CableId, CableId)>,
    open: Vec<LeftOpen>,
}

impl Copies {
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

    /// The end of a duplicate for an end at one of the originals.
    fn inside(&self, end: &End) -> Option<End> {
        match end {
            End::Terminal(device, terminal) => {
                let new = self.devices.get(device)?;
                Some(End::Terminal(new.clone(), terminal.clone()))
            }
            End::Splice(id) => Some(End::Splice(self.splices.get(id)?.clone())),
            End::Structure(_) | End::Open => None,
        }
    }

    /// The ends of duplicated wires and shields at records that are not duplicated.
    fn far_ends<'d>(&self, document: &'d Document) -> Vec<&'d End> {
        let wires = document.wires.values();
        let wires = wires.filter(|it| self.is_inside(&it.from) || self.is_inside(&it.to));
        let cables = (self.cables.iter()).filter_map(|(old, _)| document.cables.get(old));
        let shields = cables.filter_map(|it| it.shield.as_ref());
        let shields = shields.flat_map(|it| [it.from.at(), it.to.at()]).flatten();
        let ends = wires.flat_map(|it| [&it.from, &it.to]).chain(shields);
        ends.filter(|end| !self.is_inside(end)).collect()
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
        let far = Counterparts::of(document, &self.far_ends(document));
        for (id, wire) in &document.wires {
            if !self.is_inside(&wire.from) && !self.is_inside(&wire.to) {
                continue;
            }
            let mut made = wire.clone();
            made.status = BuildStatus::Planned;
            made.number = self.number(copy, id, &wire.number);
            for end in [&mut made.from, &mut made.to] {
                let to = self.inside(end).map_or_else(|| far.of_wire(copy, end), Ok);
                *end = to.unwrap_or_else(|why| {
                    self.open.push(LeftOpen {
                        label: made.number.clone(),
                        is_shield: false,
                        original_at: document.end_label(end),
                        why,
                    });
                    End::Open
                });
            }
            let new: WireId = free::key(&copy.wires, "w1");
            copy.wires.insert(new.clone(), made);
            self.wires.insert(id.clone(), new);
        }
    }

    /// A free number: with the label of its duplicated cable, or else the next one.
    fn number(&self, copy: &Document, id: &WireId, number: &str) -> String {
        let in_cable = self.labels.get(id).and_then(|(old, new)| {
            let rest = number
                .strip_prefix(old.as_str())
                .filter(|_| !old.is_empty())?;
            Some(format!("{new}{rest}"))
        });
        free::number_after(copy, in_cable, number)
    }

    fn shields(&mut self, document: &Document, copy: &mut Document) {
        let far = Counterparts::of(document, &self.far_ends(document));
        for (old, new) in self.cables.clone() {
            let (Some(cable), Some(made)) = (document.cables.get(&old), copy.cables.get(&new))
            else {
                continue;
            };
            let wires = cable.wires.iter();
            let wires = wires.filter_map(|id| self.wires.get(id).cloned()).collect();
            let mut shield = cable.shield.clone();
            let label = &made.label;
            let ends = shield.iter_mut();
            for end in ends.flat_map(|Shield { from, to, .. }| [from, to]) {
                let Some(at) = end.at_mut() else { continue };
                match self.inside(at).map_or_else(|| far.of_shield(copy, at), Ok) {
                    Ok(to) => *at = to,
                    Err(why) => {
                        self.open.push(LeftOpen {
                            label: label.clone(),
                            is_shield: true,
                            original_at: document.end_label(at),
                            why,
                        });
                        *end = ShieldEnd::Floating;
                    }
                }
            }
            if let Some(made) = copy.cables.get_mut(&new) {
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
    use crate::{exchange, rules, testing::document};

    fn teasel() -> Document {
        seats(include_bytes!("../../../public/samples/teasel.json"))
    }

    fn seats(file: &[u8]) -> Document {
        exchange::open(file).expect("the sample opens").document
    }

    fn sorrel() -> Document {
        seats(include_bytes!("../../../public/samples/sorrel.json"))
    }

    /// The document with the duplicate of these devices, and the far end of each new wire, by the label of its
    /// original's near end.
    fn duplicated(
        document: &Document,
        ids: &[&str],
    ) -> (Document, Vec<(String, String)>, Duplicated) {
        let keys: Vec<Key> = ids.iter().map(|id| Key::Device((*id).into())).collect();
        let made = duplicate(document, None, &keys, (0.0, 60.0)).expect("devices");
        let after = made.change.applied(document).expect("made for this");
        let is_new = |end: &End| {
            let id = end.device();
            id.is_some_and(|id| !document.devices.contains_key(id))
        };
        let mut ends = Vec::new();
        for (id, wire) in &after.wires {
            if !document.wires.contains_key(id) {
                let (near, far) = match is_new(&wire.from) {
                    true => (&wire.from, &wire.to),
                    false => (&wire.to, &wire.from),
                };
                let End::Terminal(_, near) = near else {
                    continue;
                };
                ends.push((near.to_string(), said(&after, far)));
            }
        }
        ends.sort();
        (after, ends, made)
    }

    /// A pin by its name.
    fn said(document: &Document, end: &End) -> String {
        let End::Terminal(device, terminal) = end else {
            return end.to_string();
        };
        let terminal = document.devices[device].terminal(terminal);
        let terminal = terminal.expect("there");
        match terminal.name.as_str() {
            "" => terminal.label.clone(),
            name => name.to_owned(),
        }
    }

    fn pairs(ends: &[(String, String)]) -> Vec<(&str, &str)> {
        ends.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect()
    }

    /// The sample without these jacks, as before that seat was wired.
    fn without(document: &Document, ids: &[&str]) -> Document {
        let wires = document.wires.iter().filter(|(_, wire)| {
            let ends = [wire.from.device(), wire.to.device()];
            ends.into_iter()
                .flatten()
                .any(|id| ids.contains(&id.as_str()))
        });
        let devices = ids.iter().map(|id| Key::Device((*id).into()));
        let mut keys: Vec<Key> = devices.collect();
        keys.extend(wires.map(|(id, _)| Key::Wire(id.clone())));
        let change = crate::edit::delete(document, &keys).expect("there");
        change.applied(document).expect("made for this")
    }

    #[test]
    fn a_seat_is_wired_to_the_pins_of_the_next_seat() {
        // The pins of the two seats are not in one order: phones 4, 5, 17 and 8, 9, 20.
        let document = without(&sorrel(), &["jk3", "jk4"]);
        let (_, ends, made) = duplicated(&document, &["jk1", "jk2"]);
        let wanted = [
            ("ring", "CO-PILOT MIC HI"),
            ("ring", "CO-PILOT PHN R"),
            ("sleeve", "CO-PILOT MIC LO"),
            ("sleeve", "CO-PILOT PHN LO"),
            ("tip", "CO-PILOT PHN L"),
        ];
        assert_eq!(pairs(&ends), wanted);
        assert_eq!(
            made.open,
            [],
            "and their shields are tied beside the others"
        );
    }

    #[test]
    fn a_seat_behind_an_inline_connector_is_wired_to_its_pins() {
        let document = without(&teasel(), &["jk7", "jk8"]);
        let (after, ends, made) = duplicated(&document, &["jk5", "jk6"]);
        let wanted = [
            ("ring", "RR MIC HI"),
            ("ring", "RR PHN R"),
            ("sleeve", "RR MIC LO"),
            ("sleeve", "RR PHN LO"),
            ("tip", "RR PHN L"),
        ];
        assert_eq!(pairs(&ends), wanted);
        assert_eq!(made.open, []);
        let shields = after.cables.iter();
        let new = shields.filter(|(id, _)| !document.cables.contains_key(*id));
        let ties = new.filter_map(|(_, cable)| {
            let shield = cable.shield.as_ref()?;
            shield
                .from
                .at()
                .or(shield.to.at())
                .map(|at| said(&after, at))
        });
        let mut ties: Vec<_> = ties.collect();
        ties.sort();
        assert_eq!(ties, ["shield RR mic", "shield RR phones"]);
    }

    #[test]
    fn where_every_seat_is_wired_the_ends_are_left_open_and_reported() {
        for (document, ids) in [(sorrel(), ["jk1", "jk2"]), (teasel(), ["jk5", "jk6"])] {
            let (_, ends, made) = duplicated(&document, &ids);
            assert_eq!(ends.len(), 5);
            assert!(ends.iter().all(|(_, far)| far == "open"), "{ends:?}");
            let wires = made.open.iter().filter(|it| !it.is_shield);
            assert_eq!(wires.clone().count(), 5);
            assert!(wires.clone().all(|it| it.why == WhyOpen::Taken));
        }
        let (_, _, made) = duplicated(&sorrel(), &["jk1"]);
        let said = made.open[0].to_string();
        assert!(
            said.contains(" is open at IC1 J107-") && said.ends_with("are taken"),
            "{said}"
        );
    }

    #[test]
    fn pins_are_compared_by_words_not_by_order() {
        let document = document(
            "unit ICS A1:audio_low:MIC_3_LO A2:audio_high:PHONES_1 A3:audio_high:MIC_2_HI
                A4:audio_high:PHONES_RIGHT_1 A5:key_line:PTT_2 A6:audio_low:MIC_1_LO
                A7:audio_high:PHONES_2 A8:audio_high:MIC_1_HI A9:audio_low:MIC_2_LO
                B1:audio_high:PHONES_RIGHT_2 B2:key_line:PTT_1 B3:audio_high:MIC_3_HI
                B4:power_in:+12_V B5:audio_high:AUX
            ground GB1 STUD T1 T2 T3
            jack JK1 phones isolated
            jack JK2 mic isolated
            unit G1 P1:key_line P2:return P3:audio_high
            wire W1 JK1.tip ICS.A2
            wire W2 JK1.ring ICS.A4
            wire W3 JK2.ring ICS.A8
            wire W4 JK2.sleeve ICS.A6
            wire W5 G1.P1 ICS.B2
            wire W6 G1.P2 GB1.T1
            wire W7 G1.P3 ICS.B5"
                .replace("\n                ", " ")
                .as_str(),
        );
        let (_, ends, made) = duplicated(&document, &["JK1", "JK2", "G1"]);
        let wanted = [
            ("P1", "PTT 2"),
            ("P2", "T2"),
            ("P3", "open"),
            ("ring", "MIC 2 HI"),
            ("ring", "PHONES RIGHT 2"),
            ("sleeve", "MIC 2 LO"),
            ("tip", "PHONES 2"),
        ];
        let ends: Vec<_> = (ends.into_iter())
            .map(|(near, far)| (near, far.replace('_', " ")))
            .collect();
        assert_eq!(pairs(&ends), wanted);
        let open: Vec<_> = made.open.iter().map(ToString::to_string).collect();
        assert_eq!(open.len(), 1);
        assert!(
            open[0].ends_with("no pin there has the same use for another one"),
            "{open:?}"
        );
    }

    #[test]
    fn leads_of_one_thing_and_stereo_sides_are_no_seats() {
        let document = document(
            "unit RLY1 A1:passive:MOTOR_1 A2:passive:MOTOR_2
            unit ICS B1:audio_high:PILOT_PHN_L B2:audio_high:PILOT_PHN_R
            unit SRC C1:sensor_plus:+5_V C2:sensor_plus:+12_V
            unit M1 P1 P2 P3
            wire W1 M1.P1 RLY1.A1
            wire W2 M1.P2 ICS.B1
            wire W3 M1.P3 SRC.C1",
        );
        let (_, ends, made) = duplicated(&document, &["M1"]);
        assert!(ends.iter().all(|(_, far)| far == "open"), "{ends:?}");
        assert_eq!(made.open.len(), 3);
    }

    #[test]
    fn a_light_takes_a_spare_breaker_of_its_rating_or_none() {
        let text = |spare: u32| {
            format!(
                "bus MBUS CB1=5 CB2=5 CB3={spare}
                load LT1 2
                wire W1 MBUS.CB1 LT1.+
                wire W2 LT1.- open"
            )
        };
        let far = |spare| {
            let mut document = document(&text(spare));
            let bus = document.devices.get_mut("MBUS").expect("there");
            for terminal in &mut bus.terminals {
                if terminal.label == "CB2" {
                    terminal.name = "LDG LT".into();
                }
            }
            let (after, ..) = duplicated(&document, &["LT1"]);
            let mut new = after.wires.iter();
            let new =
                new.find(|(id, wire)| !document.wires.contains_key(*id) && wire.to != End::Open);
            new.map(|(_, wire)| wire.from.to_string())
        };
        assert_eq!(far(5).as_deref(), Some("terminal:MBUS/CB3"));
        assert_eq!(far(10).as_deref(), Some("open"));
    }

    #[test]
    fn a_seat_is_made_again_with_its_wires_and_cables() {
        let mut document = teasel();
        let before = document.clone();
        let keys = ["jk5", "jk6"].map(|id| Key::Device(id.into()));
        let sheet = document.sheets.keys().next().cloned();
        let made = duplicate(&document, sheet.as_ref(), &keys, (0.0, 60.0));
        let change = made.expect("two jacks").change;
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
        // No pin takes two.
        let found = rules::check(&document);
        let crowded = |it: &&rules::Finding| it.rule == "crowded-terminal" && it.accepted.is_none();
        assert_eq!(found.findings.iter().filter(crowded).count(), 0);
        change.invert().apply(&mut document).expect("undone");
        assert_eq!(document, before);
    }

    #[test]
    fn nothing_chosen_is_an_error() {
        let document = teasel();
        assert!(duplicate(&document, None, &[], (0.0, 0.0)).is_err());
    }
}
