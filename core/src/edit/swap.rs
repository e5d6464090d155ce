//! Replaces a device by another unit: its wires move to the matching pins of the new unit.

use super::{
    Change, EditError,
    copy::{let_go, on_copy},
    free,
};
use crate::{
    document::{
        BuildStatus, Connector, Device, Document, Element, ElementKind, End, Role, ShieldEnd,
        Shown, Terminal, folded,
    },
    ids::{ConnectorId, DeviceId, ElementId, TerminalId},
    order::{Map, Sorted},
};

/// How the match of a pin was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// The new unit has a pin of the same name.
    Name,
    /// It has one with the same function and another name.
    Role,
    /// A person set it.
    Hand,
    /// The new unit has no matching pin, as far as can be determined.
    Nothing,
}

impl By {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Name => "same name",
            Self::Role => "same function, other name",
            Self::Hand => "by hand",
            Self::Nothing => "no match",
        }
    }
}

/// Where the wires at a pin of the old unit go.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pin {
    /// Terminal of the old unit.
    pub old: TerminalId,
    /// Terminal of the new unit, by its own key; none leaves the ends open.
    pub new: Option<TerminalId>,
    /// How the match was found.
    pub by: By,
}

/// Proposes where the pins of a device go in another unit: to a pin of the same name first, then to one with the
/// same function. If several fit, only power, returns and shields take any of them: which audio line is which, a
/// person decides.
pub fn match_pins(document: &Document, id: &DeviceId, unit: &Device) -> Vec<Pin> {
    let Some(old) = document.devices.get(id) else {
        return Vec::new();
    };
    let used = used_terminals(document, id);
    let plugs = same_plugs(old, unit);
    let mut pairs = Pairs {
        old: &old.terminals,
        new: &unit.terminals,
        goes: vec![None; old.terminals.len()],
        taken: vec![false; unit.terminals.len()],
    };
    let same_name = |a: &Terminal, b: &Terminal| {
        !a.name.trim().is_empty() && folded(a.name.trim()) == folded(b.name.trim())
    };
    let same_cavity = |a: &Terminal, b: &Terminal| is_cavity(&plugs, a, b);
    let same_use = |a: &Terminal, b: &Terminal| a.role == b.role && a.role != Role::Spare;
    let is_used = |it: &Terminal| used.contains(&it.id);
    pairs.pass(By::Name, |a, b| {
        same_name(a, b) && a.role == b.role && same_cavity(a, b)
    });
    pairs.pass(By::Name, |a, b| {
        is_used(a) && same_name(a, b) && a.role == b.role
    });
    pairs.pass(By::Name, |a, b| is_used(a) && same_name(a, b));
    pairs.pass(By::Name, same_name);
    pairs.pass(By::Role, |a, b| same_use(a, b) && same_cavity(a, b));
    pairs.pass(By::Role, |a, b| {
        is_used(a) && same_use(a, b) && is_any_as_good(a.role)
    });
    pairs.only_ones(|a| is_used(a) && a.role != Role::Passive, same_use);
    pairs.pass(By::Role, |a, b| {
        a.role == Role::Spare && b.role == Role::Spare && same_cavity(a, b)
    });
    let pin = |(old, goes): (&Terminal, &Option<(usize, By)>)| Pin {
        old: old.id.clone(),
        new: goes.map(|(at, _)| unit.terminals[at].id.clone()),
        by: goes.map_or(By::Nothing, |(_, by)| by),
    };
    old.terminals.iter().zip(&pairs.goes).map(pin).collect()
}

/// Where pins go if the old plug is connected to the new unit unchanged: each to the same cavity.
pub fn match_cavities(old: &Device, unit: &Device) -> Vec<Pin> {
    let plugs = same_plugs(old, unit);
    let pin = |old: &Terminal| {
        let new = unit
            .terminals
            .iter()
            .find(|new| is_cavity(&plugs, old, new));
        Pin {
            old: old.id.clone(),
            new: new.map(|it| it.id.clone()),
            by: By::Hand,
        }
    };
    old.terminals.iter().map(pin).collect()
}

/// Replaces a device by another unit. Its tag, its place and what it must survive stay; so do the designations of
/// its connectors, and the key of a terminal that is the same cavity of the same plug, so that a co-builder's edit
/// of a wire there still merges. Phase settings of inside parts move to parts of the same kind. A wire that moves
/// to another cavity must be rung out again, and a reading taken there is removed.
///
/// # Errors
/// [`EditError::NotThere`] if there is no such device, or a pin is mapped to one that the unit does not have.
pub fn swap(
    document: &Document,
    id: &DeviceId,
    unit: Device,
    pins: &[Pin],
) -> Result<Change, EditError> {
    let old = document.devices.get(id);
    let old = old.ok_or_else(|| EditError::not_there("device", id))?;
    for new in pins.iter().filter_map(|pin| pin.new.as_ref()) {
        unit.terminal(new)
            .ok_or_else(|| EditError::not_there("pin", new))?;
    }
    let (unit, keys) = fitted(old, unit);
    let goes = |terminal: &TerminalId| {
        let pin = pins.iter().find(|pin| pin.old == *terminal)?;
        keys.get(pin.new.as_ref()?)
    };
    on_copy(document, |copy| {
        copy.devices.insert(id.clone(), unit);
        move_ends(copy, id, goes);
        show(document, copy, id, goes);
        let_go(copy);
        Ok(())
    })
}

/// Terminals of a device at which a wire or a shield ends.
pub fn used_terminals<'d>(document: &'d Document, id: &DeviceId) -> Sorted<&'d TerminalId> {
    let wires = document.wires.values().flat_map(|it| [&it.from, &it.to]);
    let shields = document.cables.values().filter_map(|it| it.shield.as_ref());
    let shields = shields.flat_map(|it| [it.from.at(), it.to.at()]).flatten();
    let ends = wires.chain(shields);
    ends.filter_map(|end| match end {
        End::Terminal(device, terminal) if device == id => Some(terminal),
        _ => None,
    })
    .collect()
}

/// Roles for which any pin is as good as another.
fn is_any_as_good(role: Role) -> bool {
    matches!(
        role,
        Role::PowerIn | Role::PowerOut | Role::Return | Role::SignalReturn | Role::ShieldTie
    )
}

/// Pins of two units, and their mapping.
struct Pairs<'d> {
    old: &'d [Terminal],
    new: &'d [Terminal],
    goes: Vec<Option<(usize, By)>>,
    taken: Vec<bool>,
}

impl Pairs<'_> {
    /// Gives each unmapped pin the first free one that fits.
    fn pass(&mut self, by: By, fits: impl Fn(&Terminal, &Terminal) -> bool) {
        for (at, old) in self.old.iter().enumerate() {
            if self.goes[at].is_some() {
                continue;
            }
            let mut free = (0..self.new.len()).filter(|&to| !self.taken[to]);
            if let Some(to) = free.find(|&to| fits(old, &self.new[to])) {
                self.goes[at] = Some((to, by));
                self.taken[to] = true;
            }
        }
    }

    /// The same where exactly one pin is unmapped and exactly one is free.
    fn only_ones(
        &mut self,
        asks: impl Fn(&Terminal) -> bool,
        fits: impl Fn(&Terminal, &Terminal) -> bool,
    ) {
        let old = self.old.iter().enumerate();
        let open: Vec<usize> = old
            .filter(|(at, old)| self.goes[*at].is_none() && asks(old))
            .map(|(at, _)| at)
            .collect();
        for &at in &open {
            let it = &self.old[at];
            let free = (0..self.new.len()).filter(|&to| !self.taken[to]);
            let free: Vec<usize> = free.filter(|&to| fits(it, &self.new[to])).collect();
            let asking = open
                .iter()
                .filter(|other| self.old[**other].role == it.role);
            if let ([to], 1) = (free.as_slice(), asking.count()) {
                self.goes[at] = Some((*to, By::Role));
                self.taken[*to] = true;
            }
        }
    }
}

/// Connectors of the new unit that take the plug of an old one: the same style, in order. A style that is not set
/// may be the same.
fn same_plugs(old: &Device, unit: &Device) -> Vec<(ConnectorId, ConnectorId)> {
    let mut left: Vec<&Connector> = old.connectors.iter().collect();
    let mut plugs = Vec::new();
    for new in &unit.connectors {
        let style = folded(new.style.trim());
        let same = left.iter().position(|it| {
            let old = folded(it.style.trim());
            old == style || old.is_empty() || style.is_empty()
        });
        if let Some(at) = same {
            plugs.push((left.remove(at).id.clone(), new.id.clone()));
        }
    }
    plugs
}

/// True if a new terminal takes an old one's cavity: the same marking in the same plug, or the same loose screw,
/// tab or lead.
fn is_cavity(plugs: &[(ConnectorId, ConnectorId)], old: &Terminal, new: &Terminal) -> bool {
    folded(&old.label) == folded(&new.label)
        && match (&old.connector, &new.connector) {
            (None, None) => true,
            (Some(a), Some(b)) => plugs.iter().any(|(x, y)| (x, y) == (a, b)),
            _ => false,
        }
}

/// The unit in the old one's place, and the keys of its terminals by its own keys.
fn fitted(old: &Device, mut unit: Device) -> (Device, Map<TerminalId, TerminalId>) {
    let plugs = same_plugs(old, &unit);
    let cavity = |new: &Terminal| old.terminals.iter().find(|it| is_cavity(&plugs, it, new));
    // Cavities keep their keys; new ones get a key that no cavity has.
    let mut keys: Map<TerminalId, TerminalId> = Map::new();
    let mut taken: Sorted<String> = old.terminals.iter().map(|it| it.id.to_string()).collect();
    for terminal in &unit.terminals {
        let key = match cavity(terminal) {
            Some(old) => old.id.clone(),
            None => {
                let free = free::numbered(terminal.id.as_str(), |text| taken.contains(text));
                taken.insert(free.clone());
                free.into()
            }
        };
        keys.insert(terminal.id.clone(), key);
    }
    let connectors = connectors(old, &mut unit, &plugs);
    for terminal in &mut unit.terminals {
        terminal.id = keys[&terminal.id].clone();
        if let Some(id) = &mut terminal.connector
            && let Some(key) = connectors.get(id)
        {
            *id = key.clone();
        }
    }
    elements(old, &mut unit, &keys);
    unit.tag.clone_from(&old.tag);
    unit.place.clone_from(&old.place);
    unit.critical = old.critical;
    unit.in_reach = old.in_reach;
    unit.independent_of.clone_from(&old.independent_of);
    (unit, keys)
}

/// Gives the connectors of the unit the keys and designations of those that they replace, and the data of the
/// harness half where the plug is the same.
fn connectors(
    old: &Device,
    unit: &mut Device,
    plugs: &[(ConnectorId, ConnectorId)],
) -> Map<ConnectorId, ConnectorId> {
    let mut left: Vec<&Connector> = old.connectors.iter().collect();
    left.retain(|it| plugs.iter().all(|(old, _)| *old != it.id));
    left.reverse();
    let mut taken: Sorted<String> = old.connectors.iter().map(|it| it.id.to_string()).collect();
    let mut keys = Map::new();
    for connector in &mut unit.connectors {
        let own = connector.id.clone();
        let plug = plugs.iter().find(|(_, new)| *new == own);
        let same = plug.and_then(|(old_id, _)| old.connector(old_id));
        if let Some(there) = same.or_else(|| left.pop()) {
            connector.id = there.id.clone();
            connector.label.clone_from(&there.label);
        } else {
            let free = free::numbered(own.as_str(), |text| taken.contains(text));
            taken.insert(free.clone());
            connector.id = free.into();
        }
        if let Some(there) = same {
            connector.contacts = connector.contacts.or(there.contacts);
            connector.thickest_awg = connector.thickest_awg.or(there.thickest_awg);
            connector.thinnest_awg = connector.thinnest_awg.or(there.thinnest_awg);
            connector.strip_mm = connector.strip_mm.or(there.strip_mm);
            for (own, theirs) in [
                (&mut connector.keying, &there.keying),
                (&mut connector.contact_part, &there.contact_part),
                (&mut connector.tool, &there.tool),
                (&mut connector.tool_setting, &there.tool_setting),
            ] {
                if own.is_empty() {
                    own.clone_from(theirs);
                }
            }
        }
        keys.insert(own, connector.id.clone());
    }
    keys
}

/// Connects the elements of the unit to the keys of its terminals, under the keys of old ones of their kind.
fn elements(old: &Device, unit: &mut Device, terminals: &Map<TerminalId, TerminalId>) {
    let mut left: Vec<&Element> = old.elements.iter().collect();
    let mut taken: Sorted<String> = old.elements.iter().map(|it| it.id.to_string()).collect();
    let mut keys: Map<ElementId, ElementId> = Map::new();
    for element in &mut unit.elements {
        let is_kind = |it: &&Element| it.is.name() == element.is.name();
        let own = element.id.clone();
        let same = left.iter().position(|it| is_kind(it) && it.id == own);
        let key = match same.or_else(|| left.iter().position(is_kind)) {
            Some(at) => left.remove(at).id.clone(),
            None => {
                let free = free::numbered(own.as_str(), |text| taken.contains(text));
                taken.insert(free.clone());
                free.into()
            }
        };
        keys.insert(own, key);
    }
    for element in &mut unit.elements {
        element.id = keys[&element.id].clone();
        if element.label == unit.tag {
            element.label.clone_from(&old.tag);
        }
        if let ElementKind::Contact(contact) = &mut element.is
            && let Some(coil) = keys.get(&contact.coil)
        {
            contact.coil = coil.clone();
        }
        element.is.each_terminal_mut(&mut |terminal| {
            if let Some(key) = terminals.get(terminal) {
                *terminal = key.clone();
            }
        });
    }
}

/// Moves the ends at the old unit's terminals.
fn move_ends<'k>(
    document: &mut Document,
    id: &DeviceId,
    goes: impl Fn(&TerminalId) -> Option<&'k TerminalId>,
) {
    // The new end for an end at the device; none for any other end.
    let moved = |end: &End| match end {
        End::Terminal(device, terminal) if device == id => Some(match goes(terminal) {
            Some(new) => End::Terminal(id.clone(), new.clone()),
            None => End::Open,
        }),
        _ => None,
    };
    for wire in document.wires.values_mut() {
        let mut is_moved = false;
        for end in [&mut wire.from, &mut wire.to] {
            if let Some(new) = moved(end).filter(|new| new != end) {
                *end = new;
                is_moved = true;
            }
        }
        if is_moved && wire.status == BuildStatus::Tested {
            wire.status = BuildStatus::Routed;
        }
    }
    let shields = document
        .cables
        .values_mut()
        .filter_map(|it| it.shield.as_mut());
    for end in shields.flat_map(|shield| [&mut shield.from, &mut shield.to]) {
        match end.at().and_then(moved) {
            Some(End::Open) => *end = ShieldEnd::Floating,
            Some(new) => end.at_mut().into_iter().for_each(|at| *at = new.clone()),
            None => {}
        }
    }
    let stays = |end: &End| moved(end).is_none_or(|new| new == *end);
    (document.readings).retain(|_, it| stays(&it.from) && stays(&it.to));
}

/// Shows the unit where the old one was shown. If only some pins were shown, a new pin is shown with the first of
/// them, because a power input that no sheet shows would never be wired.
fn show<'k>(
    before: &Document,
    document: &mut Document,
    id: &DeviceId,
    goes: impl Fn(&TerminalId) -> Option<&'k TerminalId>,
) {
    let Document {
        devices, sheets, ..
    } = document;
    let unit = &devices[id];
    let part = |shows: &Shown| match shows {
        Shown::Device {
            device, terminals, ..
        } if device == id && !terminals.is_empty() => Some(
            terminals
                .iter()
                .filter_map(|old| goes(old).cloned())
                .collect::<Vec<_>>(),
        ),
        _ => None,
    };
    let old = before.devices[id].terminals.iter();
    let known: Sorted<&TerminalId> = old.filter_map(|it| goes(&it.id)).collect();
    let is_new = |it: &&Terminal| it.role != Role::Spare && !known.contains(&it.id);
    let rest = unit.terminals.iter().filter(is_new).map(|it| it.id.clone());
    let mut rest: Vec<TerminalId> = rest.collect();
    for sheet in sheets.values_mut() {
        sheet.items.retain(|_, item| {
            let Some(mut new) = part(&item.shows) else {
                return true;
            };
            new.append(&mut rest);
            let is_left = !new.is_empty();
            if let Shown::Device { terminals, .. } = &mut item.shows {
                *terminals = new;
            }
            is_left
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        catalogue,
        document::invariants,
        testing::{document, whole},
    };

    /// A radio on one plug, its lighting wired to pin 2.
    const RADIO: &str = "
        bus MBUS CB4=5 CB7=2
        ground GB1 STUD T1
        unit COM1 J105-1:power_in:POWER J105-2:input_power:DIMMER J105-3:serial_tx:TX J105-9:return:GROUND
        wire P4A MBUS.CB4 COM1.J105-1 20 1m
        wire L7A MBUS.CB7 COM1.J105-2 22 1m
        wire D1A COM1.J105-3 open 22 1m
        wire P4B COM1.J105-9 GB1.T1 20 1m";

    fn radio() -> Document {
        let mut radio = document(RADIO);
        for wire in radio.wires.values_mut() {
            wire.status = BuildStatus::Tested;
        }
        radio
    }

    /// The same plug; pin 2 is a power input now, and data goes out at pin 4.
    fn next_radio() -> Device {
        let next = document(
            "unit NEXT J1-1:power_in:POWER J1-2:power_in:POWER J1-4:serial_tx:TX J1-9:return:GROUND",
        );
        next.devices["NEXT"].clone()
    }

    fn made(document: &Document, unit: &Device, pins: &[Pin]) -> Document {
        let id = "COM1".into();
        let change = swap(document, &id, unit.clone(), pins).expect("it fits");
        let after = change.applied(document).expect("made for it");
        assert_eq!(invariants::broken(&after), []);
        assert_eq!(change.invert().applied(&after).as_ref(), Ok(document));
        after
    }

    fn ends(document: &Document) -> Vec<String> {
        let ends = |id: &str| {
            let wire = &document.wires[id];
            let radio = [&wire.from, &wire.to].into_iter();
            let mut radio =
                radio.filter(|end| !matches!(end, End::Terminal(it, _) if it.as_str() != "COM1"));
            radio.next().map_or(String::new(), ToString::to_string)
        };
        ["P4A", "L7A", "D1A", "P4B"].map(ends).to_vec()
    }

    #[test]
    fn the_plug_on_the_wires_keeps_its_contact_keying_and_tool() {
        let mut before = radio();
        let radio = before.devices.get_mut("COM1").expect("it");
        radio.in_reach = Some(true);
        radio.connectors[0].contact_part = "part 7".into();
        radio.connectors[0].keying = "posts".into();
        radio.connectors[0].tool_setting = "selector 6".into();
        let unit = next_radio();
        let pins = match_pins(&before, &"COM1".into(), &unit);
        let after = made(&before, &unit, &pins);
        let device = &after.devices["COM1"];
        let plug = &device.connectors[0];
        let told = [&*plug.contact_part, &*plug.keying, &*plug.tool_setting];
        assert_eq!(told, ["part 7", "posts", "selector 6"]);
        assert_eq!(device.in_reach, Some(true));
    }

    #[test]
    fn pins_go_by_name_then_by_use_and_a_pin_that_changed_lets_go() {
        let before = radio();
        let unit = next_radio();
        let pins = match_pins(&before, &"COM1".into(), &unit);
        let by: Vec<By> = pins.iter().map(|pin| pin.by).collect();
        assert_eq!(by, [By::Name, By::Nothing, By::Name, By::Name]);
        let after = made(&before, &unit, &pins);
        let com = &after.devices["COM1"];
        assert_eq!(
            (com.tag.as_str(), com.connectors[0].label.as_str()),
            ("COM1", "J105")
        );
        // The dimmer's wire is on no pin; data has moved to cavity 4.
        let data = com.terminals.iter().find(|it| it.name == "TX").expect("it");
        assert_eq!(data.label, "4");
        let at = |id: &TerminalId| format!("terminal:COM1/{id}");
        let same = |id: &str| at(&before.devices["COM1"].terminal(&id.into()).expect("it").id);
        assert_eq!(
            ends(&after),
            [same("J105-1"), "open".into(), at(&data.id), same("J105-9")]
        );
        let status = |id: &str| after.wires[id].status;
        assert_eq!(status("P4A"), BuildStatus::Tested);
        assert_eq!([status("L7A"), status("D1A")], [BuildStatus::Routed; 2]);
    }

    #[test]
    fn the_old_plug_pushed_in_as_it_is_puts_each_wire_on_its_cavity() {
        let before = radio();
        let unit = next_radio();
        let pins = match_cavities(&before.devices["COM1"], &unit);
        let after = made(&before, &unit, &pins);
        assert_eq!(ends(&after)[..2], ends(&before)[..2]);
        assert_eq!(ends(&after)[2], "open", "the new unit has no pin 3");
        let second = after.devices["COM1"]
            .terminal(&"J105-2".into())
            .expect("it");
        assert_eq!(
            (second.name.as_str(), second.role),
            ("POWER", Role::PowerIn)
        );
    }

    #[test]
    fn a_person_says_otherwise_and_a_pin_that_is_not_there_is_refused() {
        let before = radio();
        let unit = next_radio();
        let mut pins = match_pins(&before, &"COM1".into(), &unit);
        pins[1] = Pin {
            new: Some("J1-2".into()),
            by: By::Hand,
            ..pins[1].clone()
        };
        let after = made(&before, &unit, &pins);
        assert_eq!(ends(&after)[1], "terminal:COM1/J105-2");
        pins[1].new = Some("J1-77".into());
        let refused = swap(&before, &"COM1".into(), unit.clone(), &pins);
        assert!(
            refused
                .expect_err("no such pin")
                .to_string()
                .contains("J1-77")
        );
        assert!(swap(&before, &"NONE".into(), unit, &[]).is_err());
    }

    /// Every device of a document is swapped for every part of the catalog: the result is valid, and can be undone.
    #[test]
    fn any_device_can_become_any_part_and_back() {
        let before = whole();
        for id in before.devices.keys() {
            for part in catalogue::all() {
                let unit = part.device();
                let pins = match_pins(&before, id, &unit);
                let change = swap(&before, id, unit, &pins).expect("it fits");
                let after = change.applied(&before).expect("made for it");
                assert_eq!(invariants::broken(&after), [], "{id} by {}", part.id);
                assert_eq!(change.invert().applied(&after).as_ref(), Ok(&before));
            }
        }
    }

    /// A unit swapped for itself is itself.
    #[test]
    fn the_same_unit_again_changes_nothing() {
        let before = whole();
        for (id, device) in &before.devices {
            let pins = match_pins(&before, id, device);
            let change = swap(&before, id, device.clone(), &pins).expect("it fits");
            assert!(change.is_empty(), "{id}: {:?}", change.steps());
        }
    }
}
