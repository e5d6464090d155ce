//! Lists of other shapes, made into one row for each wire with both of its ends: two ends in one cell, a row for each
//! pin, cells that repeat the one above.

use super::super::headings::{ColumnContent, List};
use crate::{
    document::folded,
    edit::grid::{COLUMNS, CellError},
    order::Map,
};

/// A list with a row for each wire, and the row of the pasted list that each comes from.
pub(super) struct Shaped {
    pub list: List,
    pub rows: Vec<usize>,
}

/// The list with both ends in each row.
///
/// # Errors
/// Rows that do not give two ends, by their position under the headings.
pub(super) fn shaped(list: &List) -> Result<Shaped, Vec<CellError>> {
    let mut list = list.clone();
    repeat(&mut list);
    if list.columns.contains(&Some(ColumnContent::Both)) {
        split(&mut list)?;
    } else if list.is_by_pin() {
        return by_wire(&list);
    }
    let rows = (0..list.rows.len()).collect();
    Ok(Shaped { list, rows })
}

fn error(row: usize, column: &'static str, why: String) -> CellError {
    CellError { row, column, why }
}

/// Marks for "as above".
fn is_ditto(cell: &str) -> bool {
    matches!(
        folded(cell.trim()).as_str(),
        "''" | "'" | "\u{3003}" | "\u{2033}" | "do" | "do." | "ditto" | "idem" | "id."
    )
}

/// Writes out cells that repeat the one above: those with a mark for it, the device and connector of a pin that gives
/// none, the cable of a row without a number of its own.
fn repeat(list: &mut List) {
    let at = |says: ColumnContent| list.columns.iter().position(|it| *it == Some(says));
    let ends = [0, 1].map(|end| {
        [
            at(ColumnContent::Device(end)),
            at(ColumnContent::Connector(end)),
            at(ColumnContent::Pin(end)),
        ]
    });
    let cable = at(ColumnContent::Cable);
    let number = list.column("number");
    for n in 1..list.rows.len() {
        let (above, below) = list.rows.split_at_mut(n);
        let (above, row) = (&above[n - 1], &mut below[0]);
        let is_empty =
            |row: &[String], at: usize| row.get(at).is_none_or(|it| it.trim().is_empty());
        let mut as_above: Vec<usize> = (0..row.len()).filter(|at| is_ditto(&row[*at])).collect();
        for [device, connector, pin] in ends {
            let (Some(device), Some(pin)) = (device, pin) else {
                continue;
            };
            if is_empty(row, device) && !is_empty(row, pin) {
                as_above.push(device);
                as_above.extend(connector.filter(|at| is_empty(row, *at)));
            }
        }
        if let (Some(cable), Some(number)) = (cable, number)
            && is_empty(row, cable)
            && is_empty(row, number)
        {
            as_above.push(cable);
        }
        for at in as_above {
            if let Some(text) = above.get(at) {
                row.resize(row.len().max(at + 1), String::new());
                row[at].clone_from(text);
            }
        }
    }
}

/// What parts two ends in one cell, the surest first.
const BETWEEN: [&str; 9] = [
    "\u{2192}",
    "->",
    "=>",
    "<->",
    " to ",
    " TO ",
    " To ",
    " \u{2013} ",
    " - ",
];

/// Two ends in one cell become two cells.
fn split(list: &mut List) -> Result<(), Vec<CellError>> {
    let is_both = |it: &Option<ColumnContent>| *it == Some(ColumnContent::Both);
    let Some(at) = list.columns.iter().position(is_both) else {
        return Ok(());
    };
    let mut errors = Vec::new();
    let wide = list.columns.len();
    for (n, row) in list.rows.iter_mut().enumerate() {
        row.resize(wide, String::new());
        let cell = row[at].clone();
        let parted = BETWEEN.iter().find_map(|by| cell.split_once(by));
        let Some((from, to)) = parted else {
            let why = format!("\"{cell}\" does not name two ends, such as \"J1-4 to P2-7\"");
            errors.push(error(n, "from", why));
            continue;
        };
        row.extend([from, to].map(|end| end.trim().trim_end_matches('<').trim().to_owned()));
    }
    let column = |key: &str| COLUMNS.iter().position(|it| it.key == key);
    list.columns[at] = None;
    for key in ["from", "to"] {
        list.columns.push(column(key).map(ColumnContent::Grid));
    }
    if errors.is_empty() {
        Ok(())
    } else {
        Err(errors)
    }
}

/// A list with a row for each pin becomes one with a row for each wire: two rows have its number.
fn by_wire(list: &List) -> Result<Shaped, Vec<CellError>> {
    let Some(number) = list.column("number") else {
        let rows = (0..list.rows.len()).collect();
        let list = list.clone();
        return Ok(Shaped { list, rows });
    };
    let mut of: Map<String, Vec<usize>> = Map::new();
    for (n, row) in list.rows.iter().enumerate() {
        let wire = row.get(number).map_or("", |it| it.trim());
        // A pin without a wire is a spare.
        if !wire.is_empty() {
            of.or_default(folded(wire)).push(n);
        }
    }
    let is_end = |says: &ColumnContent| {
        matches!(
            says,
            ColumnContent::Device(0) | ColumnContent::Connector(0) | ColumnContent::Pin(0)
        ) || says.key() == "from"
    };
    let other = |says: ColumnContent| match says {
        ColumnContent::Device(_) => ColumnContent::Device(1),
        ColumnContent::Connector(_) => ColumnContent::Connector(1),
        ColumnContent::Pin(_) => ColumnContent::Pin(1),
        _ => ColumnContent::all()
            .find(|it| it.key() == "to")
            .unwrap_or(says),
    };
    let ends: Vec<(usize, ColumnContent)> = (list.columns.iter().enumerate())
        .filter_map(|(at, says)| Some((at, says.filter(is_end)?)))
        .collect();
    let mut made = List {
        rows: Vec::new(),
        ..list.clone()
    };
    made.columns
        .extend(ends.iter().map(|(_, says)| Some(other(*says))));
    let mut rows = Vec::new();
    let mut errors = Vec::new();
    let wide = list.columns.len();
    let mut wires: Vec<&Vec<usize>> = of.values().collect();
    wires.sort_by_key(|it| it[0]);
    for pins in wires {
        let wire = list.rows[pins[0]][number].trim();
        let [first, second] = pins[..] else {
            let why = match pins.len() {
                1 => format!("wire {wire} has one row; a list by pins has a row for each end"),
                n => {
                    format!("wire {wire} has {n} rows; give each piece to a splice its own number")
                }
            };
            errors.push(error(pins[0], "number", why));
            continue;
        };
        let mut row = list.rows[first].clone();
        row.resize(wide, String::new());
        // What only the second row says of the wire is said, too.
        for (cell, more) in row.iter_mut().zip(&list.rows[second]) {
            if cell.trim().is_empty() {
                cell.clone_from(more);
            }
        }
        for (at, _) in &ends {
            let cell = |n: usize| list.rows[n].get(*at).cloned().unwrap_or_default();
            row[*at] = cell(first);
            row.push(cell(second));
        }
        made.rows.push(row);
        rows.push(first);
    }
    if errors.is_empty() {
        Ok(Shaped { list: made, rows })
    } else {
        errors.sort_by_key(|it| it.row);
        Err(errors)
    }
}
