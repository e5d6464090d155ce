//! The meaning of the columns of a pasted list, found from their headings.

use super::cells;
use crate::{
    document::{DeviceKind, folded},
    edit::grid::COLUMNS,
    order::Map,
    units::{Gauge, M_PER_FT, number},
};

/// The content of a column of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ColumnContent {
    /// A column of the wire grid: the number, a whole end, the size…
    Grid(usize),
    /// The device at an end: 0 for from, 1 for to.
    Device(usize),
    /// The connector at an end.
    Connector(usize),
    /// The pin at an end.
    Pin(usize),
    /// The cable it is a core of.
    Cable,
    /// Both ends in one cell: "J1-4 to P2-7".
    Both,
}

/// A pasted list, with the meaning of its columns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct List {
    /// Headings; empty if the list has none.
    pub headings: Vec<String>,
    /// What each column holds; `None` for an ignored one.
    pub columns: Vec<Option<ColumnContent>>,
    /// The rows under the headings.
    pub rows: Vec<Vec<String>>,
    /// The unit of lengths that have none of their own, as a person chose it; before that, none.
    pub length_unit: Option<LengthUnit>,
    /// The size of the wires whose row gives none, as a person chose it; before that, none.
    pub gauge_awg: Option<Gauge>,
    /// Kinds of new devices that a person chose, by tag in lower case; the others have the kind that their tag speaks
    /// for.
    pub kinds: Map<String, DeviceKind>,
}

/// A unit of length that a list may be in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthUnit {
    /// Meters.
    Metres,
    /// Centimeters.
    Centimetres,
    /// Millimeters.
    Millimetres,
    /// Feet.
    Feet,
    /// Inches.
    Inches,
}

impl LengthUnit {
    /// Every unit.
    pub const ALL: [Self; 5] = [
        Self::Metres,
        Self::Centimetres,
        Self::Millimetres,
        Self::Feet,
        Self::Inches,
    ];

    /// The unit as it is written after a number: "mm".
    pub fn sign(self) -> &'static str {
        match self {
            Self::Metres => "m",
            Self::Centimetres => "cm",
            Self::Millimetres => "mm",
            Self::Feet => "ft",
            Self::Inches => "in",
        }
    }

    /// How long it is, m.
    pub fn in_m(self) -> f64 {
        match self {
            Self::Metres => 1.0,
            Self::Centimetres => 0.01,
            Self::Millimetres => 0.001,
            Self::Feet => M_PER_FT,
            Self::Inches => M_PER_FT / 12.0,
        }
    }

    /// The unit of this word: "mm", "feet".
    pub fn of_word(word: &str) -> Option<Self> {
        Some(match folded(word.trim().trim_end_matches('.')).as_str() {
            "m" | "metre" | "metres" | "meter" | "meters" => Self::Metres,
            "cm" | "centimetres" | "centimeters" => Self::Centimetres,
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::Millimetres,
            "ft" | "foot" | "feet" | "'" | "\u{2032}" => Self::Feet,
            "in" | "inch" | "inches" | "\"" | "\u{2033}" => Self::Inches,
            _ => return None,
        })
    }

    /// The unit that a heading gives: "Run (mm)", "Run in mm", "len ft". None if it gives two.
    pub fn of_heading(heading: &str) -> Option<Self> {
        let words = words(heading);
        let last = words.len().saturating_sub(1);
        // "Run in mm" is not in inches.
        let units = words.iter().enumerate();
        let units = units.filter(|(at, word)| **word != "in" || *at == last);
        let mut units = units.filter_map(|(_, word)| Self::of_word(word));
        let unit = units.next()?;
        units.all(|it| it == unit).then_some(unit)
    }
}

/// The words of a heading. Marks for feet and inches are words of their own.
fn words(heading: &str) -> Vec<String> {
    let mut spaced = String::new();
    for c in folded(heading).chars() {
        match c {
            '\'' | '"' | '\u{2032}' | '\u{2033}' => spaced.extend([' ', c, ' ']),
            c if c.is_alphanumeric() || c == '#' => spaced.push(c),
            _ => spaced.push(' '),
        }
    }
    spaced.split_whitespace().map(str::to_owned).collect()
}

/// Keys of column meanings, with common headings.
const HEADINGS: [(&str, &str); 17] = [
    (
        "number",
        "number|wire|wire number|wire no|wire #|wire id|no|id|nr|#|label",
    ),
    (
        "from",
        "from|from pin and device|from end|end a|source|start|origin",
    ),
    ("to", "to|to end|end b|destination|dest|target|end"),
    (
        "gauge_awg",
        "gauge|gauge awg|awg|size|ga|wire size|wire gauge",
    ),
    (
        "colour",
        "colour|color|insulation colour|wire color|wire colour",
    ),
    (
        "length_m",
        "length|len|wire length|run|run length|cut length",
    ),
    (
        "insulation_c",
        "insulation|insulation c|insulation rating|rating c|temperature",
    ),
    (
        "function",
        "function|signal|description|circuit|purpose|name|signal name|net",
    ),
    ("status", "status|state|built|done"),
    (
        "from_device",
        "from device|from unit|from component|device a|from tag|device|unit|component|equipment|box",
    ),
    (
        "from_connector",
        "from connector|from conn|connector a|from plug|connector|conn|plug",
    ),
    (
        "from_pin",
        "from pin|pin a|from terminal|from contact|pin|contact|terminal|cavity",
    ),
    (
        "ends",
        "ends|connection|connections|connects|from to|route|between|both ends|joins",
    ),
    (
        "to_device",
        "to device|to unit|to component|device b|to tag",
    ),
    ("to_connector", "to connector|to conn|connector b|to plug"),
    ("to_pin", "to pin|pin b|to terminal|to contact"),
    (
        "cable",
        "cable|cable no|cable number|shielded cable|bundle cable",
    ),
];

impl ColumnContent {
    /// Its key, for a choice and in files.
    pub fn key(self) -> &'static str {
        const ENDS: [[&str; 3]; 2] = [
            ["from_device", "from_connector", "from_pin"],
            ["to_device", "to_connector", "to_pin"],
        ];
        match self {
            Self::Grid(at) => COLUMNS[at].key,
            Self::Device(end) => ENDS[end][0],
            Self::Connector(end) => ENDS[end][1],
            Self::Pin(end) => ENDS[end][2],
            Self::Cable => "cable",
            Self::Both => "ends",
        }
    }

    /// Every column meaning.
    pub fn all() -> impl Iterator<Item = Self> {
        let ends = [0, 1].into_iter();
        let parts = ends.flat_map(|end| [Self::Device(end), Self::Connector(end), Self::Pin(end)]);
        (0..COLUMNS.len())
            .map(Self::Grid)
            .chain(parts)
            .chain([Self::Cable, Self::Both])
    }

    /// The meaning of a heading, if it is a known one.
    pub fn of_heading(heading: &str) -> Option<Self> {
        let words = words(heading);
        let named = |heading: &str| {
            let mut all = HEADINGS.iter();
            let found = all.find(|(_, names)| names.split('|').any(|name| name == heading));
            found.map(|(key, _)| *key)
        };
        // Without its unit, and the "in" before that, the heading of a length or of a size is one of a few.
        let without = |is_unit: fn(&str) -> bool, wanted: &str| {
            let bare = words.iter().map(String::as_str).filter(|it| !is_unit(it));
            let bare: Vec<&str> = bare.collect();
            named(&bare.join(" ")).filter(|key| *key == wanted)
        };
        let is_length = |word: &str| LengthUnit::of_word(word).is_some();
        let is_area = |word: &str| matches!(word, "mm2" | "mm\u{b2}" | "sq" | "mm");
        let key = &named(&words.join(" "))
            .or_else(|| without(is_length, "length_m"))
            .or_else(|| without(is_area, "gauge_awg"))?;
        Self::all().find(|says| says.key() == *key)
    }
}

impl List {
    /// Reads a pasted text. Its first line is its headings if two of them are known, or one and no cell of it has a
    /// digit, as a wire's number, pin or size would.
    pub fn read(text: &str) -> Self {
        let first = cells::filled(text).into_iter().next().unwrap_or_default();
        let says = |cell: &&String| ColumnContent::of_heading(cell).is_some();
        let known = first.iter().filter(says).count();
        let has_digit = first
            .iter()
            .any(|it| it.contains(|c: char| c.is_ascii_digit()));
        Self::read_with(text, known >= 2 || known == 1 && !has_digit)
    }

    /// Reads a pasted text whose first line is its headings, or its first wire, as a person says.
    pub fn read_with(text: &str, has_headings: bool) -> Self {
        let mut rows = cells::filled(text);
        let has_headings = has_headings && !rows.is_empty();
        let width = rows.iter().map(Vec::len).max().unwrap_or(0);
        let first: Vec<_> = (rows.first().into_iter().flatten())
            .map(|heading| ColumnContent::of_heading(heading))
            .collect();
        let headings = if has_headings {
            rows.remove(0)
        } else {
            Vec::new()
        };
        let mut columns = if has_headings { first } else { Vec::new() };
        columns.resize(width, None);
        // If two columns have the same meaning, the first one gets it.
        for at in 1..columns.len() {
            if columns[..at].contains(&columns[at]) {
                columns[at] = None;
            }
        }
        Self {
            headings,
            columns,
            rows,
            length_unit: None,
            gauge_awg: None,
            kinds: Map::new(),
        }
    }

    /// True if each row gives one end of a wire, and the wire's number tells which two belong together.
    pub fn is_by_pin(&self) -> bool {
        let has = |key: &str| self.column(key).is_some();
        let has_to = ["to", "to_device", "to_pin"].into_iter().any(has);
        has("number") && (has("from") || has("from_device")) && !has_to
    }

    pub(super) fn column(&self, key: &str) -> Option<usize> {
        let is = |says: &Option<ColumnContent>| says.is_some_and(|says| says.key() == key);
        self.columns.iter().position(is)
    }

    fn cells(&self, column: usize) -> impl Iterator<Item = &str> {
        let rows = self.rows.iter();
        rows.map(move |row| row.get(column).map_or("", |it| it.trim()))
    }

    /// The unit of lengths that have no unit: that of the heading, else the one that a person chose.
    pub fn unit(&self) -> Option<LengthUnit> {
        self.unit_of_heading().or(self.length_unit)
    }

    fn unit_of_heading(&self) -> Option<LengthUnit> {
        LengthUnit::of_heading(self.headings.get(self.column("length_m")?)?)
    }

    /// True if there are lengths whose unit neither the heading nor the cell gives: a person has to.
    pub fn asks_unit(&self) -> bool {
        let is_bare = |at| self.cells(at).any(|cell| number(cell).is_some());
        self.unit_of_heading().is_none() && self.column("length_m").is_some_and(is_bare)
    }

    /// True if rows give no size: a person may give it for all of them; else it is not set.
    pub fn asks_gauge(&self) -> bool {
        match self.column("gauge_awg") {
            Some(at) => self.cells(at).any(str::is_empty),
            None => !self.rows.is_empty(),
        }
    }

    /// True if the sizes of a list are areas of metal: a 2 there is not AWG 2.
    pub(super) fn is_in_mm2(&self, column: usize) -> bool {
        let heading = self.headings.get(column);
        let heading = heading.map_or(String::new(), |it| folded(it));
        ["mm2", "mm\u{b2}", "mm^2", "sq", "area"]
            .iter()
            .any(|it| heading.contains(it))
    }

    /// True if the list can be added: its columns give both ends of the wires and the unit of lengths.
    pub fn is_ready(&self) -> bool {
        self.is_mapped() && (!self.asks_unit() || self.length_unit.is_some())
    }

    /// True if the columns give both ends of the wires.
    pub fn is_mapped(&self) -> bool {
        if self.column("ends").is_some() || self.is_by_pin() {
            return true;
        }
        let has = |says: &ColumnContent| self.columns.contains(&Some(*says));
        let whole = |key: &str| ColumnContent::all().any(|says| says.key() == key && has(&says));
        (whole("from") || has(&ColumnContent::Device(0)))
            && (whole("to") || has(&ColumnContent::Device(1)))
    }
}
