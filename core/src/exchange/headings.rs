//! The meaning of the columns of a pasted list, found from their headings.

use super::cells;
use crate::{document::folded, edit::grid::COLUMNS};

/// What a column of a list holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Says {
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
}

/// A pasted list, with the meaning of its columns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct List {
    /// Headings; empty if the list has none.
    pub headings: Vec<String>,
    /// What each column holds; `None` for an ignored one.
    pub columns: Vec<Option<Says>>,
    /// The rows under the headings.
    pub rows: Vec<Vec<String>>,
}

/// Keys of column meanings, with common headings.
const HEADINGS: [(&str, &str); 16] = [
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
    ("length_m", "length|length m|length ft|len|wire length"),
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
        "from device|from unit|from component|device a|from tag",
    ),
    (
        "from_connector",
        "from connector|from conn|connector a|from plug",
    ),
    ("from_pin", "from pin|pin a|from terminal|from contact"),
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

impl Says {
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
        }
    }

    /// Every column meaning.
    pub fn all() -> impl Iterator<Item = Self> {
        let ends = [0, 1].into_iter();
        let parts = ends.flat_map(|end| [Self::Device(end), Self::Connector(end), Self::Pin(end)]);
        (0..COLUMNS.len())
            .map(Self::Grid)
            .chain(parts)
            .chain([Self::Cable])
    }

    /// The meaning of a heading, if it is a known one.
    pub fn of_heading(heading: &str) -> Option<Self> {
        let words = |c: char| !c.is_alphanumeric() && c != '#';
        let heading = folded(heading);
        let heading: Vec<&str> = heading.split(words).filter(|it| !it.is_empty()).collect();
        let heading = heading.join(" ");
        let (key, _) = HEADINGS
            .iter()
            .find(|(_, names)| names.split('|').any(|name| name == heading))?;
        Self::all().find(|says| says.key() == *key)
    }
}

impl List {
    /// Reads a pasted text. Its first line is its headings if any of them is known.
    pub fn read(text: &str) -> Self {
        let mut rows = cells::filled(text);
        let width = rows.iter().map(Vec::len).max().unwrap_or(0);
        let first: Vec<_> = (rows.first().into_iter().flatten())
            .map(|heading| Says::of_heading(heading))
            .collect();
        let known = first.iter().flatten().count();
        // One word may be a heading by chance; a list of two columns has two headings.
        let has_headings = known >= 2 || (known == 1 && width == 1);
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
        }
    }

    /// True if the columns give both ends of the wires.
    pub fn is_mapped(&self) -> bool {
        let has = |says: &Says| self.columns.contains(&Some(*says));
        let whole = |key: &str| Says::all().any(|says| says.key() == key && has(&says));
        (whole("from") || has(&Says::Device(0))) && (whole("to") || has(&Says::Device(1)))
    }
}
