//! The edits the tools make.

use std::collections::BTreeSet;

use loomwright_core::{
    document::{
        BuildStatus, Cable, CableKind, ConductorKind, Device, Document, End, Extra, Shield,
        ShieldEnd, Sheet, SheetItem, Shown, Splice, Wire, WireEnd,
    },
    drawing::geometry::{Point, snap},
    edit::{Change, Key, Record},
    ids::{CableId, DeviceId, ItemId, PlaceId, SheetId, SpliceId, WireId},
    units::Gauge,
};

use crate::strings;

/// A change, with the key of what it adds; or why it cannot be made.
pub type Made<T> = Result<(Change, T), String>;

/// Something that can be put on a sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Addition {
    /// A device that is new in the aircraft; its tag is without a number.
    New(Device),
    /// A device that is already in the aircraft.
    Known(DeviceId),
    /// A point on the metal of a place.
    Structure(PlaceId),
}

/// The first of `stem1`, `stem2`… that is not taken.
fn free(stem: &str, taken: impl Fn(&str) -> bool) -> String {
    let mut n = 1_u32;
    loop {
        let name = format!("{stem}{n}");
        if !taken(&name) {
            return name;
        }
        n += 1;
    }
}

fn sheet_of(document: &Document, sheet: &SheetId) -> Result<Sheet, String> {
    document
        .sheets
        .get(sheet)
        .cloned()
        .ok_or_else(|| strings::NO_SHEET.to_owned())
}

/// Moves items of a sheet.
pub fn move_items(
    document: &Document,
    sheet: &SheetId,
    items: &[ItemId],
    (dx, dy): (f64, f64),
) -> Result<Change, String> {
    let mut record = sheet_of(document, sheet)?;
    for item in items {
        if let Some(item) = record.items.get_mut(item) {
            item.x_mm = snap(item.x_mm) + dx;
            item.y_mm = snap(item.y_mm) + dy;
        }
    }
    Ok(Change::set(
        document,
        Key::Sheet(sheet.clone()),
        Some(Record::Sheet(record)),
    ))
}

/// Draws a wire between two ends. It takes gauge, insulation and colour of a wire that is already
/// at one of them, else 22 AWG white.
pub fn connect(document: &Document, from: &End, to: &End) -> Made<WireId> {
    if from == to {
        return Err(strings::SAME_END.into());
    }
    let number = free("W", |number| document.wires.values().any(|wire| wire.number == number));
    let id = WireId::new(free("w", |id| document.wires.contains_key(id)));
    let like = document
        .wires
        .values()
        .find(|wire| [&wire.from, &wire.to].iter().any(|end| *end == from || *end == to));
    let wire = Wire {
        number,
        from: from.clone(),
        to: to.clone(),
        gauge_awg: like.map_or(Gauge(22), |wire| wire.gauge_awg),
        insulation_c: Some(like.and_then(|wire| wire.insulation_c).unwrap_or(150.0)),
        colour: like.map_or_else(|| "white".into(), |wire| wire.colour.clone()),
        length_m: None,
        function: String::new(),
        status: BuildStatus::default(),
        conductor: ConductorKind::default(),
        fuse: None,
        route: Vec::new(),
        via: Vec::new(),
        note: String::new(),
        extra: Extra::default(),
    };
    let change = Change::set(document, Key::Wire(id.clone()), Some(Record::Wire(wire)));
    Ok((change, id))
}

/// Splices into a wire and runs a new wire from there to an end.
pub fn tap_wire(
    document: &Document,
    sheet: &SheetId,
    wire: &WireId,
    at: Point,
    end: &End,
) -> Made<WireId> {
    let (spliced, splice) = splice_into(document, sheet, wire, at)?;
    let mut with_splice = document.clone();
    spliced
        .apply(&mut with_splice)
        .map_err(|error| error.to_string())?;
    let (wired, id) = connect(&with_splice, &End::Splice(splice), end)?;
    Ok((spliced.then(&wired), id))
}

/// Puts a splice into a wire: the wire ends there, and a new one goes on. Each gets half the
/// length until it is measured.
pub fn splice_into(
    document: &Document,
    sheet: &SheetId,
    wire: &WireId,
    at: Point,
) -> Made<SpliceId> {
    let mut first = document
        .wires
        .get(wire)
        .cloned()
        .ok_or_else(|| strings::NO_WIRE.to_owned())?;
    let mut record = sheet_of(document, sheet)?;
    let splice = SpliceId::new(free("sp", |id| document.splices.contains_key(id)));
    let label = free("SP", |label| document.splices.values().any(|s| s.label == label));
    let second_id = WireId::new(free("w", |id| document.wires.contains_key(id)));

    let mut second = first.clone();
    second.number = free(&format!("{}-", first.number), |number| {
        document.wires.values().any(|wire| wire.number == number)
    });
    second.from = End::Splice(splice.clone());
    second.status = BuildStatus::default();
    first.to = End::Splice(splice.clone());
    match first.fuse.as_ref().map(|fuse| fuse.at) {
        Some(WireEnd::To) => first.fuse = None,
        Some(WireEnd::From) => second.fuse = None,
        None => {}
    }
    let whole_m = first.length_m.or_else(|| {
        let pieces = first.route.iter().filter_map(|id| document.routes.get(id));
        let sum: f64 = pieces.map(|route| route.length_m).sum();
        (sum > 0.0).then_some(sum)
    });
    first.length_m = whole_m.map(|m| m / 2.0);
    second.length_m = first.length_m;

    let item = ItemId::new(free("splice", |id| record.items.contains_key(id)));
    record
        .items
        .insert(item, item_at(Shown::Splice(splice.clone()), at));
    let joint = Splice {
        label,
        place: None,
        ohm: None,
        extra: Extra::default(),
    };
    let mut change = Change::set(
        document,
        Key::Splice(splice.clone()),
        Some(Record::Splice(joint)),
    );
    change.and_set(document, Key::Wire(wire.clone()), Some(Record::Wire(first)));
    change.and_set(document, Key::Wire(second_id), Some(Record::Wire(second)));
    change.and_set(document, Key::Sheet(sheet.clone()), Some(Record::Sheet(record)));
    Ok((change, splice))
}

fn item_at(shows: Shown, at: Point) -> SheetItem {
    SheetItem {
        shows,
        x_mm: snap(at.x),
        y_mm: snap(at.y),
        mirrored: false,
        extra: Extra::default(),
    }
}

/// Puts something on a sheet. Gives the key of what is shown.
pub fn add(document: &Document, sheet: &SheetId, addition: &Addition, at: Point) -> Made<Key> {
    let mut record = sheet_of(document, sheet)?;
    let mut change = Change::default();
    let (shows, key, stem) = match addition {
        Addition::New(device) => {
            let mut device = device.clone();
            device.tag = free(&device.tag, |tag| document.devices.values().any(|d| d.tag == tag));
            let stem = device.tag.to_lowercase();
            let id = if document.devices.contains_key(stem.as_str()) {
                free(&format!("{stem}-"), |id| document.devices.contains_key(id))
            } else {
                stem
            };
            let id = DeviceId::new(id);
            change.and_set(
                document,
                Key::Device(id.clone()),
                Some(Record::Device(device)),
            );
            (shown_whole(&id), Key::Device(id.clone()), id.to_string())
        }
        Addition::Known(id) => (shown_whole(id), Key::Device(id.clone()), id.to_string()),
        Addition::Structure(id) => {
            (Shown::Structure(id.clone()), Key::Place(id.clone()), id.to_string())
        }
    };
    let item = ItemId::new(free(&format!("{stem}."), |id| record.items.contains_key(id)));
    record.items.insert(item, item_at(shows, at));
    change.and_set(document, Key::Sheet(sheet.clone()), Some(Record::Sheet(record)));
    Ok((change, key))
}

fn shown_whole(id: &DeviceId) -> Shown {
    Shown::Device {
        device: id.clone(),
        terminals: Vec::new(),
        extra: Extra::default(),
    }
}

/// Deletes records, with everything that cannot stay without them. Wires that ended at a deleted
/// device stay, with that end not wired; a place is only taken off this sheet.
pub fn delete(
    document: &Document,
    sheet: &SheetId,
    keys: &BTreeSet<Key>,
) -> Result<Change, String> {
    let mut after = document.clone();
    let gone_end = |end: &End| match end {
        End::Terminal(id, _) => keys.contains(&Key::Device(id.clone())),
        End::Splice(id) => keys.contains(&Key::Splice(id.clone())),
        End::Structure(_) | End::Open => false,
    };
    after.devices.retain(|id, _| !keys.contains(&Key::Device(id.clone())));
    after.splices.retain(|id, _| !keys.contains(&Key::Splice(id.clone())));
    after.cables.retain(|id, _| !keys.contains(&Key::Cable(id.clone())));
    after.wires.retain(|id, wire| {
        for end in [&mut wire.from, &mut wire.to] {
            if gone_end(end) {
                *end = End::Open;
            }
        }
        let loose = wire.from == End::Open && wire.to == End::Open;
        !keys.contains(&Key::Wire(id.clone())) && !loose
    });
    let wires = &after.wires;
    after.cables.retain(|_, cable| {
        cable.wires.retain(|id| wires.contains_key(id));
        if let Some(shield) = &mut cable.shield {
            for end in [&mut shield.from, &mut shield.to] {
                if end.at().is_some_and(gone_end) {
                    *end = ShieldEnd::Floating;
                }
            }
        }
        !cable.wires.is_empty()
    });
    for (id, record) in &mut after.sheets {
        record.items.retain(|_, item| match &item.shows {
            Shown::Device { device, .. } => !keys.contains(&Key::Device(device.clone())),
            Shown::Splice(splice) => !keys.contains(&Key::Splice(splice.clone())),
            Shown::Structure(place) => id != sheet || !keys.contains(&Key::Place(place.clone())),
        });
    }
    let of_gone = |key: &str| {
        let device = key.split_once('/').map_or(key, |(device, _)| device);
        keys.contains(&Key::Device(device.into()))
    };
    for state in after.states.values_mut() {
        state.switches.retain(|key, _| !of_gone(key));
        state.pulled.retain(|key| !of_gone(key));
        state.loads.retain(|key, _| !of_gone(key));
    }
    Ok(difference(document, &after))
}

/// The change from one document to another.
fn difference(before: &Document, after: &Document) -> Change {
    let mut change = Change::default();
    for key in before.keys().into_iter().chain(after.keys()) {
        let record = after.record(&key);
        change.and_set(before, key, record);
    }
    change
}

/// Makes a cable of wires. Cores that run the other way are turned round.
pub fn make_cable(document: &Document, wires: &[WireId], shielded: bool) -> Made<CableId> {
    let taken = document
        .cables
        .values()
        .find_map(|cable| Some((cable, cable.wires.iter().find(|id| wires.contains(id))?)));
    if let Some((cable, wire)) = taken {
        let number = document.wire_label(wire);
        return Err(strings::already_in_cable(&number, &cable.label));
    }
    let Some(first) = wires.first().and_then(|id| document.wires.get(id)) else {
        return Err(strings::NO_WIRE.into());
    };
    let mut change = Change::default();
    for (id, wire) in wires.iter().filter_map(|id| Some((id, document.wires.get(id)?))) {
        let reversed = same_side(&wire.from, &first.to) || same_side(&wire.to, &first.from);
        let straight = same_side(&wire.from, &first.from) || same_side(&wire.to, &first.to);
        if reversed && !straight {
            change.and_set(document, Key::Wire(id.clone()), Some(Record::Wire(turned(wire))));
        }
    }
    let id = CableId::new(free("c", |id| document.cables.contains_key(id)));
    let floating = || ShieldEnd::Floating;
    let cable = Cable {
        label: free("C", |label| document.cables.values().any(|c| c.label == label)),
        kind: if shielded { CableKind::Shielded } else { CableKind::Jacketed },
        wires: wires.to_vec(),
        shield: shielded.then(|| Shield {
            from: floating(),
            to: floating(),
            gauge_awg: None,
            extra: Extra::default(),
        }),
        impedance_ohm: None,
        note: String::new(),
        extra: Extra::default(),
    };
    change.and_set(document, Key::Cable(id.clone()), Some(Record::Cable(cable)));
    Ok((change, id))
}

/// True if two ends are on the same device, splice or place.
fn same_side(a: &End, b: &End) -> bool {
    key_of_end(a).is_some_and(|key| key_of_end(b) == Some(key))
}

/// A wire with its ends exchanged.
fn turned(wire: &Wire) -> Wire {
    let mut wire = wire.clone();
    std::mem::swap(&mut wire.from, &mut wire.to);
    wire.route.reverse();
    wire.via.reverse();
    if let Some(fuse) = &mut wire.fuse {
        fuse.at = if fuse.at == WireEnd::From { WireEnd::To } else { WireEnd::From };
    }
    wire
}

/// The record an end is at.
pub fn key_of_end(end: &End) -> Option<Key> {
    match end {
        End::Terminal(device, _) => Some(Key::Device(device.clone())),
        End::Splice(id) => Some(Key::Splice(id.clone())),
        End::Structure(id) => Some(Key::Place(id.clone())),
        End::Open => None,
    }
}
