//! A wire list from a spreadsheet becomes devices, connectors, wires and cables. Existing records
//! are found by their labels. Missing ones are created as plain boxes, and the builder fills in
//! their inside.

pub use super::headings::{LengthUnit, List, Says};
use crate::{
    document::{
        Bar, BarUse, Cable, CableKind, Device, DeviceKind, Document, Element, ElementKind, End,
        EndNames, Extra, NoSuchEnd, Place, Splice, Terminal, Wire, folded, invariants, natural_cmp,
    },
    edit::{
        Change, connector_called, free,
        grid::{self, COLUMNS, CellError},
        pin_called,
    },
    ids::{DeviceId, PlaceId, SpliceId, WireId},
    order::{self, Map},
    units::{Gauge, number},
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
    let mut copy = document.clone();
    let mut errors = Vec::new();
    let typing = grid::Typing::new(document);
    let mut making = Making::new(document, &typing.ends);
    let mut rows: Vec<Row> = Vec::new();
    for (at, cells) in list.rows.iter().enumerate() {
        let mut row = Row::default();
        for (n, (says, text)) in list.columns.iter().zip(cells).enumerate() {
            match says {
                Some(Says::Grid(column)) => match read_cell(list, *column, n, text.trim()) {
                    Ok(text) => row.cells.push((*column, text)),
                    Err(why) => errors.push(CellError {
                        row: at,
                        column: COLUMNS[*column].key,
                        why,
                    }),
                },
                Some(Says::Device(end)) => row.ends[*end][0] = text.trim(),
                Some(Says::Connector(end)) => row.ends[*end][1] = text.trim(),
                Some(Says::Pin(end)) => row.ends[*end][2] = text.trim(),
                Some(Says::Cable) => row.cable = text.trim(),
                None => {}
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
    making.finish(&mut copy);
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
                if list.gauge_awg.is_none() && row.text("gauge_awg").trim().is_empty() {
                    errors.push(CellError {
                        row: at,
                        column: "gauge_awg",
                        why: NO_GAUGE.into(),
                    });
                }
                // The row's own gauge, if it has one, is written over this one.
                let gauge = list.gauge_awg.unwrap_or(Gauge(22));
                Wire::between(from.clone(), to.clone(), gauge)
            }
        };
        (wire.from, wire.to) = (from, to);
        for (column, text) in &row.cells {
            let key = COLUMNS[*column].key;
            let stays = same.is_some() && is_same(&grid::text(document, &wire, *column), text);
            if matches!(key, "from" | "to") || text.trim().is_empty() || stays {
                continue;
            }
            if let Err(why) = grid::write(&typing, &mut wire, *column, text.trim()) {
                errors.push(CellError {
                    row: at,
                    column: key,
                    why,
                });
            }
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
        order::sort_by_key(&mut errors, |error| error.row);
        return Err(errors);
    }
    Ok(Imported {
        change: Change::between(document, &copy),
        devices: making.made,
        wires: added,
    })
}

/// Why a row without a size is refused.
const NO_GAUGE: &str = "no gauge is given; type it, or choose one for rows without a gauge";

/// Lengths beyond these are a wrong unit: no light aircraft has such a wire, and none can be terminated
/// that is shorter (common practice, no source), m.
const PLAUSIBLE_M: std::ops::RangeInclusive<f64> = 0.005..=60.0;

/// A cell as the wire list reads it. A length gets the unit of its column.
fn read_cell(list: &List, column: usize, n: usize, text: &str) -> Result<String, String> {
    match COLUMNS[column].key {
        "length_m" if !text.is_empty() => length_cell(list, text),
        "gauge_awg" if list.is_in_mm2(n) && !text.is_empty() => Err(format!(
            "\"{text}\" is an area in mm\u{b2}; type the AWG size"
        )),
        _ => Ok(text.to_owned()),
    }
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
                document.devices.insert(id.clone(), boxed(&typed.device));
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

    /// Sorts the pins of new devices.
    fn finish(&self, document: &mut Document) {
        for id in &self.made {
            let Some(device) = document.devices.get_mut(id) else {
                continue;
            };
            let connectors = device.connectors.clone();
            let place = |terminal: &Terminal| {
                let of = terminal.connector.as_ref();
                of.and_then(|id| connectors.iter().position(|it| it.id == *id))
            };
            order::sort_by(&mut device.terminals, |a, b| {
                let by_connector = place(a).cmp(&place(b));
                by_connector.then_with(|| natural_cmp(&a.label, &b.label))
            });
            if device.kind == DeviceKind::GroundBlock {
                // A ground block needs a bar that joins all its tabs.
                let terminals = device.terminals.iter().map(|it| it.id.clone());
                device.elements = vec![Element {
                    id: "bar".into(),
                    label: String::new(),
                    is: ElementKind::Bar(Bar {
                        terminals: terminals.collect(),
                        used_as: BarUse::Ground,
                        extra: Extra::new(),
                    }),
                    extra: Extra::new(),
                }];
            }
        }
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
    let place = Place {
        title: title.to_owned(),
        conductive: true,
        closed: false,
        bonded_to: None,
        bond_ohm: None,
        extra: Extra::new(),
    };
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

/// A box with this tag and nothing else set. A ground block is recognized by its name.
fn boxed(tag: &str) -> Device {
    let letters = folded(tag);
    let is_ground =
        letters.starts_with("gb") || letters.starts_with("gnd") || letters.contains("ground");
    let kind = match is_ground {
        true => DeviceKind::GroundBlock,
        false => DeviceKind::Unit,
    };
    Device {
        kind,
        ..Device::plain(tag, "")
    }
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
        note: String::new(),
        extra: Extra::new(),
    };
    document.cables.insert(id, cable);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{exchange, reports};

    const LIST: &str = "Wire No\tFrom\tTo\tAWG\tColor\tLength (ft)\tSignal\tCable\n\
        P1A20\tMBUS CB5\tXP1 J106-1\t20\twhite\t4\tXPDR POWER\t\n\
        P1B20N\tXP1 J106-9\tGB1:3\t20\tblack\t3.5\tXPDR GROUND\t\n\
        A1\tIC1 J107-4\tJK1 TIP\t22\twhite\t3\tPHONES\tC7\n\
        A2\tIC1 J107-17\tJK1 SLEEVE\t22\tblue\t3\tPHONES LO\tC7\n";

    fn sorrel() -> Document {
        let file = include_bytes!("../../../public/samples/sorrel.json");
        exchange::open(file).expect("the sample opens").document
    }

    #[test]
    fn a_list_becomes_devices_connectors_wires_and_cables() {
        let mut document = Document::default();
        let list = List::read(LIST);
        assert!(list.is_mapped());
        let made = import(&document, &list).expect("a sound list");
        assert_eq!((made.wires, made.devices.len()), (4, 5));
        made.change.apply(&mut document).expect("made for this");
        let tags: Vec<_> = (made.devices.iter())
            .map(|id| document.devices[id].tag.as_str())
            .collect();
        assert_eq!(tags, ["MBUS", "XP1", "GB1", "IC1", "JK1"]);
        let ic1 = &document.devices[&made.devices[3]];
        let pins: Vec<_> = (ic1.terminals.iter())
            .map(|terminal| ic1.terminal_label(terminal))
            .collect();
        assert_eq!(pins, ["IC1 J107-4", "IC1 J107-17"]);
        let wire = (document.wires.values()).find(|wire| wire.number == "P1B20N");
        let wire = wire.expect("the wire of the second row");
        assert_eq!(document.end_label(&wire.to), "GB1 3");
        assert_eq!((wire.gauge_awg, wire.colour.as_str()), (Gauge(20), "black"));
        assert!((wire.length_m.expect("a length") - 3.5 * 0.3048).abs() < 1e-12);
        let cables: Vec<_> = document.cables.values().map(|it| it.wires.len()).collect();
        assert_eq!(cables, [2]);
    }

    #[test]
    fn a_list_read_again_changes_nothing() {
        let mut document = Document::default();
        let list = List::read(LIST);
        let made = import(&document, &list).expect("a sound list");
        made.change.apply(&mut document).expect("made for this");
        let again = import(&document, &list).expect("a sound list");
        assert_eq!(
            (again.change.is_empty(), again.wires),
            (true, 0),
            "{:?}",
            again.change
        );
    }

    #[test]
    fn our_own_wire_list_read_back_changes_nothing() {
        let document = sorrel();
        let csv = reports::wires::table(&crate::testing::asked(&document), None).to_csv();
        let list = List::read(&csv);
        assert_eq!(list.rows.len(), document.wires.len());
        let made = import(&document, &list).expect("our own list");
        assert!(made.change.is_empty(), "{:#?}", made.change);
    }

    #[test]
    fn a_whole_aircraft_is_made_of_its_list() {
        for name in ["sorrel", "teasel"] {
            let path = format!(
                "{}/../public/samples/{name}.json",
                env!("CARGO_MANIFEST_DIR")
            );
            let file = std::fs::read(path).expect("the sample is there");
            let document = exchange::open(&file).expect("the sample opens").document;
            let csv = reports::wires::table(&crate::testing::asked(&document), None).to_csv();
            let mut again = Document::default();
            let made = import(&again, &List::read(&csv)).expect("every row can be read");
            assert_eq!(made.wires, document.wires.len(), "{name}");
            made.change.apply(&mut again).expect("made for this");
            assert!(again.cables.len() >= document.cables.len());
            // Every wire has the values that the list gave it.
            for wire in document.wires.values() {
                let same = |it: &&Wire| it.number == wire.number && it.function == wire.function;
                let made = again
                    .wires
                    .values()
                    .find(same)
                    .expect("every wire is there");
                assert_eq!(made.gauge_awg, wire.gauge_awg);
                assert_eq!(made.status, wire.status);
            }
        }
    }

    #[test]
    fn an_end_may_stand_in_several_columns() {
        let mut list = List::read(
            "Number,From device,From pin,To device,To connector,To pin\n\
                               W1,S1,2,XP1,J106,7\n",
        );
        list.gauge_awg = Some(Gauge(22));
        let mut document = Document::default();
        let made = import(&document, &list).expect("a sound list");
        made.change.apply(&mut document).expect("made for this");
        let wire = document.wires.values().next().expect("a wire");
        let labels = [&wire.from, &wire.to].map(|end| document.end_label(end));
        assert_eq!(labels, ["S1 2", "XP1 J106-7"]);
    }

    #[test]
    fn every_wrong_row_is_told_and_nothing_is_made() {
        let list = List::read("Number,From,To,Gauge\nW1,S1 2,XP1,20\nW2,S1 2,S1 2,19\n");
        let errors = import(&Document::default(), &list).expect_err("wrong rows");
        let told: Vec<_> = errors.iter().map(|it| (it.row, it.column)).collect();
        assert_eq!(told, [(0, "to"), (1, "gauge_awg"), (1, "to")]);
        assert!(
            errors[0]
                .to_string()
                .starts_with("row 1, to: \"XP1\" names no pin")
        );
    }

    /// The lengths of a list of wires, or what is wrong with its rows.
    fn lengths(list: &List) -> Result<Vec<f64>, Vec<String>> {
        let document = Document::default();
        let told = |errors: Vec<CellError>| -> Vec<String> {
            errors.iter().map(ToString::to_string).collect()
        };
        let made = import(&document, list).map_err(told)?;
        let document = made.change.applied(&document).expect("made for this");
        let wires = document.wires.values();
        Ok(wires.filter_map(|it| it.length_m).collect())
    }

    fn with_lengths(heading: &str, cells: &[&str]) -> List {
        let mut text = format!("Number\tFrom\tTo\tGauge\t{heading}\n");
        for (at, cell) in cells.iter().enumerate() {
            text.push_str(&format!("W{at}\tS1 {at}\tXP1 {at}\t20\t{cell}\n"));
        }
        List::read(&text)
    }

    fn assert_near(found: &[f64], wanted: &[f64]) {
        assert_eq!(found.len(), wanted.len());
        for (a, b) in found.iter().zip(wanted) {
            assert!((a - b).abs() < 1e-9, "{found:?}");
        }
    }

    #[test]
    fn a_unit_is_read_from_any_heading_of_a_length() {
        let length = Says::all().find(|says| says.key() == "length_m");
        for (heading, cell, m) in [
            ("Run (mm)", "350", 0.35),
            ("Run in mm", "350", 0.35),
            ("Distance, mm", "350", 0.35),
            ("how far [cm]", "350", 3.5),
            ("len ft", "35", 35.0 * 0.3048),
            ("Length in feet", "35", 35.0 * 0.3048),
            ("Length in", "35", 35.0 * 0.0254),
            ("Inches of wire", "35", 35.0 * 0.0254),
        ] {
            let mut list = with_lengths(heading, &[cell]);
            // A heading that nobody knows is given its meaning by hand.
            list.columns[4] = length;
            assert!(!list.asks_unit() && list.is_ready(), "{heading}");
            let found = lengths(&list).unwrap_or_else(|why| panic!("{heading}: {why:?}"));
            assert_near(&found, &[m]);
        }
    }

    #[test]
    fn a_unit_that_nobody_gave_is_asked_for() {
        let mut list = with_lengths("Length", &["1,5", "40 cm"]);
        assert!(list.asks_unit() && !list.is_ready());
        let errors = lengths(&list).expect_err("no unit");
        assert_eq!(
            errors,
            ["row 1, length_m: \"1,5\" has no unit; choose the unit of the column"]
        );
        list.length_unit = Some(LengthUnit::Feet);
        assert!(list.is_ready());
        assert_near(&lengths(&list).expect("chosen"), &[1.5 * 0.3048, 0.4]);
        let list = with_lengths("Length", &["0.4 m", "40cm"]);
        assert!(!list.asks_unit() && list.is_ready(), "each has its own");
        let mut list = with_lengths("Length mm", &["350"]);
        list.length_unit = Some(LengthUnit::Feet);
        assert_near(&lengths(&list).expect("as its heading says"), &[0.35]);
        let list = with_lengths("Length ft/mm", &["3"]);
        assert!(list.asks_unit(), "two units are none");
    }

    #[test]
    fn lengths_that_no_aircraft_has_or_that_read_two_ways_are_reported_by_row() {
        let list = with_lengths(
            "Length m",
            &["350", "1.2", "1,200", "0,350", "60", "60.1", "3' 6\""],
        );
        let errors = lengths(&list).expect_err("wrong lengths");
        let rows: Vec<_> = errors
            .iter()
            .map(|it| it.split(',').next().unwrap_or(""))
            .collect();
        assert_eq!(rows, ["row 1", "row 3", "row 6", "row 7"]);
        assert!(errors[0].contains("350 m is 350.000 m; no aircraft has such a wire"));
        let list = with_lengths("Length mm", &["1.2"]);
        assert!(lengths(&list).is_err(), "a wire of a millimetre");
    }

    #[test]
    fn a_row_without_a_gauge_is_refused_until_one_is_chosen() {
        let mut list =
            List::read("Number\tFrom\tTo\tGauge\nW1\tS1 1\tXP1 1\t#22\nW2\tS1 2\tXP1 2\t\n");
        assert!(list.asks_gauge());
        let errors = import(&Document::default(), &list).expect_err("no gauge");
        let told: Vec<_> = errors.iter().map(|it| (it.row, it.column)).collect();
        assert_eq!(told, [(1, "gauge_awg")]);
        list.gauge_awg = Some(Gauge(18));
        let document = Document::default();
        let made = import(&document, &list).expect("a gauge is chosen");
        let document = made.change.applied(&document).expect("made for this");
        let gauges: Vec<_> = document.wires.values().map(|it| it.gauge_awg.0).collect();
        assert_eq!(gauges, [22, 18]);
        let without = List::read("Number\tFrom\tTo\nW1\tS1 1\tXP1 1\n");
        assert!(without.asks_gauge(), "no column of sizes at all");
        assert!(
            import(&document, &without).is_ok(),
            "that wire is there, with its gauge"
        );
    }

    #[test]
    fn areas_are_never_read_as_gauges() {
        for (heading, cell) in [
            ("Gauge", "0.34 mm\u{b2}"),
            ("Gauge", "0,34"),
            ("Gauge", "2 mm2"),
            ("Size mm2", "2"),
            ("mm\u{b2}", "4"),
        ] {
            let text = format!("Number\tFrom\tTo\t{heading}\nW1\tS1 1\tXP1 1\t{cell}\n");
            let mut list = List::read(&text);
            list.columns[3] = Says::all().find(|says| says.key() == "gauge_awg");
            let errors = import(&Document::default(), &list).expect_err(cell);
            assert_eq!(
                (errors[0].row, errors[0].column),
                (0, "gauge_awg"),
                "{cell}"
            );
        }
    }

    #[test]
    fn columns_without_a_known_heading_wait_for_the_person() {
        let mut list = List::read("W1;S1 2;XP1 7;18\nW2;S1 4;XP1 8;18");
        assert!(list.headings.is_empty() && !list.is_mapped());
        let key = |key| Says::all().find(|says| says.key() == key);
        list.columns = ["number", "from", "to", "gauge_awg"].map(key).to_vec();
        let made = import(&Document::default(), &list).expect("mapped by hand");
        assert_eq!((made.wires, made.devices.len()), (2, 2));
    }
}
