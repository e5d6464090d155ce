//! A wire list from a spreadsheet becomes devices, connectors, wires and cables. Existing records
//! are found by their labels. Missing ones are created as plain boxes, and the builder fills in
//! their inside.

mod kinds;
mod shape;
mod size;

use self::shape::Shaped;
pub use super::headings::{ColumnContent, LengthUnit, List};
use crate::order::InOrder;
use crate::{
    document::{
        Cable, CableKind, Device, Document, End, EndNames, Extra, Known, NoSuchEnd, Origins, Place,
        Splice, Terminal, ValueOrigin, Wire, folded, invariants, natural_cmp,
    },
    edit::{
        Change, connector_called, free,
        grid::{self, COLUMNS, CellError},
        pin_called,
    },
    ids::{DeviceId, PlaceId, SpliceId, WireId},
    order::Map,
    units::number,
};

/// The result of importing a list.
#[derive(Clone, Debug, PartialEq)]
pub struct Imported {
    /// The records added.
    pub change: Change,
    /// The devices among them, in the order of the list.
    pub devices: Vec<DeviceId>,
    /// How many wires were added.
    pub wires: usize,
}

/// Creates the wires of a list and the points they end at. A row with the number and ends of an
/// existing wire updates that wire.
///
/// # Errors
/// Every row that cannot be read, by its position under the headings. Then nothing is created.
pub fn import(document: &Document, list: &List) -> Result<Imported, Vec<CellError>> {
    let Shaped { list, rows: from } = shape::shaped(list)?;
    let of_the_list = |mut error: CellError| {
        error.row = from.get(error.row).copied().unwrap_or(error.row);
        error
    };
    import_rows(document, &list)
        .map_err(|errors| errors.into_iter().map(of_the_list).collect::<Vec<_>>())
}

fn import_rows(document: &Document, list: &List) -> Result<Imported, Vec<CellError>> {
    let mut copy = document.clone();
    let mut errors = Vec::new();
    let typing = grid::Typing::new(document);
    let mut making = Making::new(document, &typing.ends);
    let mut rows: Vec<Row> = Vec::new();
    for (at, cells) in list.rows.iter().enumerate() {
        let mut row = Row::default();
        for (n, (says, text)) in list.columns.iter().zip(cells).enumerate() {
            match says {
                Some(ColumnContent::Grid(column)) => match read_cell(list, *column, n, text.trim())
                {
                    Ok((text, note)) => {
                        row.cells.push((*column, text));
                        row.note += &note;
                    }
                    Err(why) => errors.push(CellError {
                        row: at,
                        column: COLUMNS[*column].key,
                        why,
                    }),
                },
                Some(ColumnContent::Device(end)) => row.ends[*end][0] = text.trim(),
                Some(ColumnContent::Connector(end)) => row.ends[*end][1] = text.trim(),
                Some(ColumnContent::Pin(end)) => row.ends[*end][2] = text.trim(),
                Some(ColumnContent::Cable) => row.cable = text.trim(),
                // A list with two ends in one cell was split before.
                Some(ColumnContent::Both) | None => {}
            }
        }
        for (which, key) in ["from", "to"].into_iter().enumerate() {
            match making.end(&mut copy, &row.typed_end(which, key)) {
                Ok(end) => row.found[which] = Some(end),
                Err(why) => errors.push(CellError {
                    row: at,
                    column: key,
                    why,
                }),
            }
        }
        rows.push(row);
    }
    let mated = making.finish(&mut copy, list, &rows);
    for end in rows.iter_mut().flat_map(|row| &mut row.found).flatten() {
        if let Some(moved) = mated.get(end) {
            *end = moved.clone();
        }
    }
    let mut by_cable: Map<String, Vec<WireId>> = Map::new();
    let mut added = 0;
    let mut wires: Vec<WireId> = Vec::new();
    let there: Map<String, WireId> = (document.wires.iter())
        .filter(|(_, wire)| !wire.number.is_empty())
        .map(|(id, wire)| (wire.number.clone(), id.clone()))
        .collect();
    for (at, row) in rows.iter().enumerate() {
        let [from, to] = row.found.clone().map(|end| end.unwrap_or(End::Open));
        let number = row.text("number").trim().to_owned();
        let same = there.get(&number).filter(|id| {
            let wire = &document.wires[*id];
            (&wire.from, &wire.to) == (&from, &to)
        });
        let mut wire = match same {
            Some(id) => copy.wires[id].clone(),
            None => {
                // The row's own gauge, if it has one, is written over this one.
                Wire {
                    gauge_awg: list.gauge_awg,
                    ..Wire::between(from.clone(), to.clone())
                }
            }
        };
        (wire.from, wire.to) = (from, to);
        for (column, text) in &row.cells {
            let key = COLUMNS[*column].key;
            let stays = same.is_some() && is_same(&grid::text(document, &wire, *column), text);
            if matches!(key, "from" | "to") || text.trim().is_empty() || stays {
                continue;
            }
            let pasted = Some(ValueOrigin::Pasted);
            if let Err(why) = grid::write(&typing, &mut wire, *column, (text.trim(), pasted)) {
                errors.push(CellError {
                    row: at,
                    column: key,
                    why,
                });
            }
        }
        if wire.note.is_empty() {
            wire.note.clone_from(&row.note);
        }
        let id = match same {
            Some(id) => id.clone(),
            None => {
                added += 1;
                free::key(&copy.wires, &format!("w{}", copy.wires.len() + 1))
            }
        };
        if !row.cable.is_empty() {
            by_cable.or_default(row.cable.to_owned()).push(id.clone());
        }
        wires.push(id.clone());
        copy.wires.insert(id, wire);
    }
    for (label, wires) in by_cable {
        put_cable(&mut copy, label, wires);
    }
    for broken in invariants::broken(&copy) {
        let mut path = broken.path.split('.').skip(1);
        let (id, field) = (path.next().unwrap_or_default(), path.next());
        let column = COLUMNS.iter().find(|column| Some(column.key) == field);
        errors.push(CellError {
            row: (wires.iter().position(|wire| wire.as_str() == id)).unwrap_or(0),
            column: column.map_or("list", |column| column.key),
            why: broken.why,
        });
    }
    if !errors.is_empty() {
        errors.order_by_key(|error| error.row);
        return Err(errors);
    }
    Ok(Imported {
        change: Change::between(document, &copy),
        devices: making.made,
        wires: added,
    })
}

/// Lengths beyond these are a wrong unit: no light aircraft has such a wire, and none can be terminated
/// that is shorter (common practice, no source), m.
const PLAUSIBLE_M: std::ops::RangeInclusive<f64> = 0.005..=60.0;

/// A cell as the wire list reads it, and what is to be noted of the wire. A length gets the unit of its column; an
/// area becomes the gauge that has no more metal, and is noted.
fn read_cell(list: &List, column: usize, n: usize, text: &str) -> Result<(String, String), String> {
    let plain = |text: String| (text, String::new());
    match COLUMNS[column].key {
        "length_m" if !text.is_empty() => length_cell(list, text).map(plain),
        "gauge_awg" if !text.is_empty() => match size::area_mm2(text, list.is_in_mm2(n)) {
            Some(mm2) => Ok((size::gauge_of(mm2)?.to_string(), size::note(mm2))),
            None => Ok(plain(text.to_owned())),
        },
        _ => Ok(plain(text.to_owned())),
    }
}

/// A length in feet and inches, in: 3' 6", 3 ft 6 in, 2'.
fn feet_and_inches(text: &str) -> Option<f64> {
    let marks = ["\u{2032}", "'", "feet", "foot", "ft.", "ft"];
    let (feet, rest) = marks.iter().find_map(|mark| text.split_once(mark))?;
    let ends = ["\u{2033}", "\"", "inches", "inch", "in.", "in"];
    let rest = rest.trim();
    let inches = ends
        .iter()
        .find_map(|end| rest.strip_suffix(end))
        .unwrap_or(rest);
    Some(12.0 * number(feet)? + number(inches)?)
}

fn length_cell(list: &List, text: &str) -> Result<String, String> {
    let number_ends = text
        .rfind(|c: char| c.is_ascii_digit())
        .map_or(text.len(), |at| at + 1);
    let (digits, own) = text.split_at(number_ends);
    // 1,200 is twelve hundred to some and one and a fifth to others.
    let thousands = digits.split_once(',').filter(|(whole, part)| {
        part.len() == 3 && !whole.trim_start_matches('0').is_empty() && !part.contains('.')
    });
    if thousands.is_some() {
        return Err(format!(
            "\"{text}\" can be read in two ways; type it without a comma"
        ));
    }
    if let Some(inches) = feet_and_inches(text) {
        return Ok(format!("{inches} in"));
    }
    let unit = match own.trim() {
        "" => (list.unit())
            .ok_or_else(|| format!("\"{text}\" has no unit; choose the unit of the column"))?,
        own => LengthUnit::of_word(own).ok_or_else(|| format!("\"{text}\" is not a length"))?,
    };
    let length = number(digits).ok_or_else(|| format!("\"{text}\" is not a length"))?;
    let length_m = length * unit.in_m();
    if length_m > 0.0 && !PLAUSIBLE_M.contains(&length_m) {
        return Err(format!(
            "{digits} {} is {length_m:.3} m; no aircraft has such a wire, check the unit",
            unit.sign()
        ));
    }
    Ok(format!("{digits} {}", unit.sign()))
}

/// True if two cells are equal: as text, or as numbers with more or fewer digits.
fn is_same(a: &str, b: &str) -> bool {
    let bare = |text: &str| number(text.trim_end_matches(|c: char| c.is_alphabetic()));
    a == b || (bare(a).is_some() && bare(a) == bare(b))
}

/// A row split into its fields.
#[derive(Default)]
struct Row<'t> {
    cells: Vec<(usize, String)>,
    /// By end: device, connector, pin.
    ends: [[&'t str; 3]; 2],
    cable: &'t str,
    /// What is to be noted of the wire.
    note: String,
    found: [Option<End>; 2],
}

impl Row<'_> {
    fn text(&self, key: &str) -> &str {
        let mut cells = self.cells.iter();
        let cell = cells.find(|(column, _)| COLUMNS[*column].key == key);
        cell.map_or("", |(_, text)| text)
    }

    /// An end as given in the row: in one cell, or in two or three.
    fn typed_end(&self, which: usize, key: &str) -> TypedEnd {
        let [device, connector, pin] = self.ends[which];
        if device.is_empty() {
            return TypedEnd::taken_apart(self.text(key));
        }
        TypedEnd {
            text: [device, connector, pin].join(" ").trim().to_owned(),
            device: device.to_owned(),
            connector: connector.to_owned(),
            pin: pin.to_owned(),
        }
    }
}

/// An end as it was typed.
struct TypedEnd {
    text: String,
    device: String,
    connector: String,
    pin: String,
}

impl TypedEnd {
    /// "COM1 J105-1", "COM1 PWR", "CB12-2", "GB1:3".
    fn taken_apart(text: &str) -> Self {
        let text = text.trim();
        let parts = |c: char| c.is_whitespace() || ":/,.".contains(c);
        let (device, rest) = match text.split_once(parts) {
            Some((device, rest)) => (device, rest.trim()),
            None => text.rsplit_once('-').unwrap_or((text, "")),
        };
        let (connector, pin) = match rest.rsplit_once(['-', ':', '.']) {
            Some((connector, pin)) if !connector.is_empty() && !pin.is_empty() => (connector, pin),
            _ => ("", rest),
        };
        Self {
            text: text.into(),
            device: device.into(),
            connector: connector.trim().into(),
            pin: pin.trim().into(),
        }
    }
}

/// The records created while a list is read.
struct Making<'n> {
    names: &'n EndNames,
    /// By tag, ignoring case.
    tags: Map<String, DeviceId>,
    /// New devices, in the order of the list.
    made: Vec<DeviceId>,
}

impl<'n> Making<'n> {
    fn new(document: &Document, names: &'n EndNames) -> Self {
        let devices = document.devices.iter();
        Self {
            names,
            tags: devices
                .map(|(id, device)| (folded(&device.tag), id.clone()))
                .collect(),
            made: Vec::new(),
        }
    }

    /// The typed point, created if it is missing.
    fn end(&mut self, document: &mut Document, typed: &TypedEnd) -> Result<End, String> {
        match self.names.find(&typed.text) {
            Ok(end) => return Ok(end),
            Err(error @ NoSuchEnd::Ambiguous(_)) => return Err(error.to_string()),
            Err(NoSuchEnd::Unknown(_)) => {}
        }
        for word in ["airframe,", "structure,"] {
            if let Some(title) = folded_prefix(&typed.text, word) {
                return Ok(metal(document, title));
            }
        }
        if typed.pin.is_empty() && is_splice(&typed.text) {
            return Ok(splice(document, &typed.text));
        }
        if typed.pin.is_empty() {
            return Err(format!(
                "\"{}\" names no pin; enter a device and a pin, such as COM1 J105-1 or GB1 3",
                typed.text
            ));
        }
        let tag = folded(&typed.device);
        let id = match self.tags.get(&tag) {
            Some(id) => id.clone(),
            None => {
                let id: DeviceId = free::key(&document.devices, &free::slug(&typed.device));
                document
                    .devices
                    .insert(id.clone(), Device::plain(&typed.device, ""));
                self.tags.insert(tag, id.clone());
                self.made.push(id.clone());
                id
            }
        };
        let device = document
            .devices
            .get_mut(&id)
            .ok_or("the device was deleted")?;
        let connector = match typed.connector.as_str() {
            "" => None,
            label => Some(connector_called(device, label)),
        };
        let terminal = pin_called(device, connector.as_ref(), &typed.pin);
        Ok(End::Terminal(id, terminal))
    }

    /// Sorts the pins of new devices, puts facing halves of connectors together, and gives each its kind and what
    /// follows from that. Returns the ends that have moved.
    fn finish(&mut self, document: &mut Document, list: &List, rows: &[Row]) -> Map<End, End> {
        let moved = self.put_together(document, list);
        let nominal_v = document.project.nominal_v;
        for id in &self.made {
            let Some(device) = document.devices.get_mut(id) else {
                continue;
            };
            let connectors = device.connectors.clone();
            let place = |terminal: &Terminal| {
                let of = terminal.connector.as_ref();
                of.and_then(|id| connectors.iter().position(|it| it.id == *id))
            };
            device.terminals.order_by(|a, b| {
                let by_connector = place(a).cmp(&place(b));
                by_connector.then_with(|| natural_cmp(&a.label, &b.label))
            });
            if device.elements.is_empty() {
                let chosen = list.kinds.get(&folded(&device.tag)).copied();
                device.kind = chosen.unwrap_or_else(|| kinds::proposed(device));
                let here =
                    |row: &&Row| row.found.iter().flatten().any(|it| it.device() == Some(id));
                let says: Vec<&str> = rows
                    .iter()
                    .filter(here)
                    .map(|it| it.text("function"))
                    .collect();
                kinds::fill(device, nominal_v, &says.join(" "));
            }
        }
        moved
    }

    /// New plugs on the new jacks that they face, unless a person chose another kind for one of them.
    fn put_together(&mut self, document: &mut Document, list: &List) -> Map<End, End> {
        let mut moved = Map::new();
        let tag = |document: &Document, id: &DeviceId| {
            let device = document.devices.get(id);
            device.map_or(String::new(), |it| it.tag.clone())
        };
        let is_free = |tag: &str| !list.kinds.contains_key(&folded(tag));
        for jack in self.made.clone() {
            let its = tag(document, &jack);
            let mut others = self.made.iter();
            let faces = |it: &&DeviceId| kinds::are_facing(&its, &tag(document, it));
            let Some(plug) = others.find(faces).cloned() else {
                continue;
            };
            if !is_free(&its) || !is_free(&tag(document, &plug)) {
                continue;
            }
            let Some(half) = document.devices.remove(&plug) else {
                continue;
            };
            self.made.retain(|it| *it != plug);
            if let Some(device) = document.devices.get_mut(&jack) {
                for (before, now) in kinds::mated(device, &half) {
                    let to = End::Terminal(jack.clone(), now);
                    moved.insert(End::Terminal(plug.clone(), before), to);
                }
            }
        }
        moved
    }
}

/// The metal of the place with this title, created if it is missing.
fn metal(document: &mut Document, title: &str) -> End {
    let same = |place: &Place| folded(&place.title) == folded(title);
    let there = document.places.iter().find(|(_, place)| same(place));
    if let Some((id, _)) = there {
        return End::Structure(id.clone());
    }
    let id: PlaceId = free::key(&document.places, &free::slug(title));
    let mut place = Place {
        title: title.to_owned(),
        conductive: Some(true),
        closed: false,
        bonded_to: None,
        bond_ohm: None,
        origins: Origins::default(),
        extra: Extra::new(),
    };
    place.mark(ValueOrigin::Pasted);
    document.places.insert(id.clone(), place);
    End::Structure(id)
}

/// The splice with this label, created if it is missing.
fn splice(document: &mut Document, label: &str) -> End {
    let same = |splice: &Splice| folded(&splice.label) == folded(label);
    let there = document.splices.iter().find(|(_, splice)| same(splice));
    if let Some((id, _)) = there {
        return End::Splice(id.clone());
    }
    let id: SpliceId = free::key(&document.splices, &free::slug(label));
    let splice = Splice {
        label: label.to_owned(),
        place: None,
        ohm: None,
        extra: Extra::new(),
    };
    document.splices.insert(id.clone(), splice);
    End::Splice(id)
}

/// The text after a prefix, ignoring case.
fn folded_prefix<'t>(text: &'t str, beginning: &str) -> Option<&'t str> {
    let head = text.get(..beginning.len())?;
    (folded(head) == beginning).then(|| text[beginning.len()..].trim())
}

/// True for the label of a splice: SP1, SPL2, splice 3.
fn is_splice(label: &str) -> bool {
    let label = folded(label);
    let letters = label.trim_end_matches(|c: char| c.is_ascii_digit() || c.is_whitespace());
    letters != label && matches!(letters, "sp" | "spl" | "splice")
}

/// Adds wires to the cable with this label, created if it is missing.
fn put_cable(document: &mut Document, label: String, wires: Vec<WireId>) {
    let taken: Vec<WireId> = (document.cables.values())
        .flat_map(|cable| cable.wires.iter().cloned())
        .collect();
    let wires = wires.into_iter().filter(|id| !taken.contains(id));
    if let Some(cable) = (document.cables.values_mut()).find(|cable| cable.label == label) {
        cable.wires.extend(wires);
        return;
    }
    let id = free::key(&document.cables, &free::slug(&label));
    let cable = Cable {
        label,
        kind: CableKind::Jacketed,
        wires: wires.collect(),
        shield: None,
        impedance_ohm: None,
        done: Vec::new(),
        note: String::new(),
        extra: Extra::new(),
    };
    document.cables.insert(id, cable);
}

#[cfg(test)]
mod habits;
#[cfg(test)]
mod tests;
