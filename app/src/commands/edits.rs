//! The edits the tools make, as the core's verbs, with the key of what each adds.

use loomwright_core::order::Sorted;
use loomwright_core::{
    document::{Cable, CableKind, Document, End, Extra, Shield, ShieldEnd, Shown},
    drawing::{
        self,
        geometry::{Point, snap},
        scene::Scene,
    },
    edit::{self, Change, EditError, Key, SheetPoint},
    ids::{CableId, DeviceId, ItemId, SheetId, SpliceId, WireId},
};

use crate::{
    strings,
    view::{Addition, items_of},
};

/// A change, with the key of what it adds.
pub type Made<T> = Result<(Change, T), EditError>;

fn spot(sheet: &SheetId, at: Point) -> SheetPoint {
    SheetPoint {
        sheet: sheet.clone(),
        x_mm: snap(at.x),
        y_mm: snap(at.y),
    }
}

/// The key that a verb added, of the kind it always adds.
fn added<T>(change: Change, pick: impl Fn(&Key) -> Option<T>, otherwise: T) -> (Change, T) {
    let found = change.added().find_map(pick).unwrap_or(otherwise);
    (change, found)
}

fn wire_of(key: &Key) -> Option<WireId> {
    if let Key::Wire(id) = key {
        Some(id.clone())
    } else {
        None
    }
}

/// Draws a wire between two ends.
pub fn connect(document: &Document, from: &End, to: &End) -> Made<WireId> {
    let change = edit::connect(document, from.clone(), to.clone())?;
    Ok(added(change, wire_of, WireId::new("")))
}

/// Puts a splice into a wire where it is drawn at a point.
pub fn splice_into(
    document: &Document,
    scene: &Scene,
    sheet: &SheetId,
    wire: &WireId,
    at: Point,
) -> Made<SpliceId> {
    let share = share_at(scene, wire, at);
    let change = edit::splice_into(document, wire, share, Some(&spot(sheet, at)))?;
    let splice_of = |key: &Key| {
        if let Key::Splice(id) = key {
            Some(id.clone())
        } else {
            None
        }
    };
    Ok(added(change, splice_of, SpliceId::new("")))
}

/// Splices into a wire and runs a new wire from there to an end.
pub fn tap_wire(
    document: &Document,
    scene: &Scene,
    sheet: &SheetId,
    wire: &WireId,
    (at, end): (Point, &End),
) -> Made<WireId> {
    let (spliced, splice) = splice_into(document, scene, sheet, wire, at)?;
    let mut with_splice = document.clone();
    if spliced.apply(&mut with_splice).is_err() {
        // Cannot happen: the change was made for this very document.
        return connect(document, end, end);
    }
    let (wired, id) = connect(&with_splice, &End::Splice(splice), end)?;
    Ok((spliced.then(&wired), id))
}

/// Splices into two wires and runs a new wire from one splice to the other.
pub fn bridge(
    document: &Document,
    scene: &Scene,
    sheet: &SheetId,
    (first, from): (&WireId, Point),
    (second, to): (&WireId, Point),
) -> Made<WireId> {
    let (spliced, splice) = splice_into(document, scene, sheet, first, from)?;
    let mut with_splice = document.clone();
    if spliced.apply(&mut with_splice).is_err() {
        // Cannot happen: the change was made for this very document.
        return connect(document, &End::Open, &End::Open);
    }
    let end = End::Splice(splice);
    let (rest, id) = tap_wire(&with_splice, scene, sheet, second, (to, &end))?;
    Ok((spliced.then(&rest), id))
}

/// How far along a drawn wire a point is, from its `from` end, 0 to 1.
fn share_at(scene: &Scene, wire: &WireId, at: Point) -> f64 {
    let pieces = || {
        scene
            .paths
            .get(wire)
            .into_iter()
            .flatten()
            .flat_map(|path| path.windows(2))
    };
    let whole: f64 = pieces().map(|piece| piece[0].distance(piece[1])).sum();
    let (mut before, mut best, mut nearest) = (0.0, 0.5, f64::INFINITY);
    for piece in pieces() {
        let off = at.distance_to_line(piece[0], piece[1]);
        if off < nearest {
            nearest = off;
            best =
                (before + piece[0].distance(at).min(piece[0].distance(piece[1]))) / whole.max(1e-6);
        }
        before += piece[0].distance(piece[1]);
    }
    best
}

/// Puts something on a sheet, at the free place nearest to a point. Gives the key of what is shown.
pub fn add(document: &Document, sheet: &SheetId, addition: &Addition, at: Point) -> Made<Key> {
    let (change, key) = add_at(document, sheet, addition, at)?;
    let Ok(after) = change.applied(document) else {
        return Ok((change, key));
    };
    let is_new = |id: &ItemId| {
        let before = document.sheets.get(sheet);
        before.is_some_and(|it| !it.items.contains_key(id))
    };
    let boxes = drawing::boxes(&after, sheet);
    let (new, others): (Vec<_>, Vec<_>) = boxes.iter().partition(|(id, _)| is_new(id));
    let (Some((id, rect)), Some(drawn)) = (new.first(), after.sheets.get(sheet)) else {
        return Ok((change, key));
    };
    let others: Vec<_> = others.into_iter().map(|(_, rect)| *rect).collect();
    let by = drawing::clear_of_others(drawn.size, &[**rect], &others, (0.0, 0.0));
    let Some(mut item) = drawn.items.get(*id).cloned() else {
        return Ok((change, key));
    };
    (item.x_mm, item.y_mm) = (rect.x + by.0, rect.y + by.1);
    let put = edit::put_items(&after, sheet, &[((*id).clone(), item)].into())?;
    Ok((change.then(&put), key))
}

/// Moves items by a step, mm, or by as many as lead over what is in the way. None: the paper ends before.
pub fn step(
    document: &Document,
    sheet: &SheetId,
    items: &[ItemId],
    by_mm: (f64, f64),
) -> Option<Result<Change, EditError>> {
    let size = document.sheets.get(sheet)?.size;
    let boxes = drawing::boxes(document, sheet);
    let [moving, others] = drawing::moving_and_others(&boxes, items);
    let by = drawing::clear_in_steps(size, &moving, &others, by_mm)?;
    Some(edit::move_items(document, sheet, items, by))
}

fn add_at(document: &Document, sheet: &SheetId, addition: &Addition, at: Point) -> Made<Key> {
    let spot = spot(sheet, at);
    Ok(match addition {
        Addition::New(device) => {
            let change = edit::add_device(document, device.as_ref().clone(), Some(&spot))?;
            let device_of = |key: &Key| matches!(key, Key::Device(_)).then(|| key.clone());
            added(change, device_of, Key::Project)
        }
        Addition::Known(id) => {
            let shows = Shown::Device {
                device: id.clone(),
                terminals: Vec::new(),
                extra: Extra::default(),
            };
            (
                edit::place_on_sheet(document, &spot, shows)?,
                Key::Device(id.clone()),
            )
        }
        Addition::Structure(id) => {
            let shows = Shown::Structure(id.clone());
            (
                edit::place_on_sheet(document, &spot, shows)?,
                Key::Place(id.clone()),
            )
        }
    })
}

/// Lays out the items of a sheet that show these records; all of them if none is named.
pub fn tidy(document: &Document, sheet: &SheetId, keys: &Sorted<Key>) -> Result<Change, String> {
    let drawn = document.sheets.get(sheet).ok_or(strings::NO_ROOM)?;
    let chosen = items_of(document, sheet, |key| keys.contains(key));
    let items = match keys.is_empty() {
        true => drawn.items.keys().cloned().collect(),
        false => chosen,
    };
    let stands = drawing::tidy::tidy(document, sheet, &items).ok_or(strings::NO_ROOM)?;
    edit::put_items(document, sheet, &stands).map_err(|error| error.to_string())
}

/// Duplicates devices with their wires, and puts the copies where the sheet has room for them. Gives the
/// far ends that a person has to wire, in words.
pub fn duplicate(document: &Document, sheet: Option<&SheetId>, keys: &[Key]) -> Made<Vec<String>> {
    /// How far from their originals copies are placed where there is no room.
    const DOWN_MM: (f64, f64) = (10.0, 30.0);
    let edit::Duplicated { change, open } = edit::duplicate(document, sheet, keys, DOWN_MM)?;
    let open = open.iter().map(ToString::to_string).collect();
    let (Ok(after), Some(id)) = (change.applied(document), sheet) else {
        return Ok((change, open));
    };
    let added: Sorted<Key> = change.added().cloned().collect();
    let items = items_of(&after, id, |key| added.contains(key));
    match drawing::tidy::tidy(&after, id, &items) {
        Some(stands) => Ok((change.then(&edit::put_items(&after, id, &stands)?), open)),
        None => Ok((change, open)),
    }
}

/// Records taken off a sheet.
pub struct Deleted {
    /// What it changes.
    pub change: Change,
    /// What became of the devices, to say when it is done; empty if there is nothing to say.
    pub said: String,
    /// What has to be asked before: devices with wires leave the aircraft. Empty if it need not be.
    pub asks: String,
}

/// Takes records off a sheet. See [`edit::take_off`].
pub fn delete(
    document: &Document,
    sheet: &SheetId,
    keys: &Sorted<Key>,
) -> Result<Deleted, EditError> {
    let taken = edit::take_off(document, sheet, keys)?;
    let label = |id: &DeviceId| document.record_label("device", id.as_str());
    let kept = taken.kept.iter().map(|id| strings::still_on(&label(id)));
    let gone = taken.deleted.iter();
    let gone = gone.map(|(id, reach)| strings::deleted(&label(id), reach.wires));
    let said: Vec<String> = kept.chain(gone).collect();
    let wired = taken.deleted.iter().filter(|(_, reach)| reach.wires > 0);
    let asks: Vec<String> = wired
        .map(|(id, reach)| strings::asks_to_delete(&label(id), reach.wires))
        .collect();
    Ok(Deleted {
        change: taken.change,
        said: said.join(" \u{b7} "),
        asks: asks.join(" \u{b7} "),
    })
}

/// Makes a cable of wires.
pub fn make_cable(document: &Document, wires: &[WireId], shielded: bool) -> Made<CableId> {
    let cable = Cable {
        label: String::new(),
        kind: if shielded {
            CableKind::Shielded
        } else {
            CableKind::Jacketed
        },
        wires: wires.to_vec(),
        shield: shielded.then(|| Shield {
            from: ShieldEnd::Floating,
            to: ShieldEnd::Floating,
            gauge_awg: None,
            extra: Extra::default(),
        }),
        impedance_ohm: None,
        done: Vec::new(),
        note: String::new(),
        extra: Extra::default(),
    };
    let cable_of = |key: &Key| {
        if let Key::Cable(id) = key {
            Some(id.clone())
        } else {
            None
        }
    };
    Ok(added(
        edit::make_cable(document, cable)?,
        cable_of,
        CableId::new(""),
    ))
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
