//! The wire list as a grid for typing: the text of each cell, and the change made by typing, filling down or
//! pasting a block.

use super::{Change, Key, Record, connect::new_wire, free};
use crate::{
    document::{
        BuildStatus, Document, End, EndNames, Known, ValueOrigin, Wire, folded, invariants,
    },
    ids::WireId,
    units::{Gauge, M_PER_FT, length_m, number},
};

/// A column of the grid.
pub struct Column {
    /// Its name in files and for paste.
    pub key: &'static str,
    read: fn(&Document, &Wire) -> String,
    write: fn(&Typing<'_>, &mut Wire, &str) -> Result<(), String>,
}

/// What is needed to read a typed cell.
pub struct Typing<'d> {
    document: &'d Document,
    /// The points of the document by name.
    pub ends: EndNames,
}

impl<'d> Typing<'d> {
    /// Typing into a document.
    pub fn new(document: &'d Document) -> Self {
        Self {
            document,
            ends: EndNames::new(document),
        }
    }
}

/// A cell that cannot hold the typed text.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("row {}, {column}: {why}", row + 1)]
pub struct CellError {
    /// Row of the block, from 0.
    pub row: usize,
    /// Key of the column.
    pub column: &'static str,
    /// What was typed and what is expected.
    pub why: String,
}

/// The columns of the grid, in order.
pub const COLUMNS: [Column; 9] = [
    Column {
        key: "number",
        read: |_, wire| wire.number.clone(),
        write: |_, wire, text| {
            wire.number = text.into();
            Ok(())
        },
    },
    Column {
        key: "from",
        read: |document, wire| end_text(document, &wire.from),
        write: |typing, wire, text| {
            wire.from = find_end(typing, text)?;
            Ok(())
        },
    },
    Column {
        key: "to",
        read: |document, wire| end_text(document, &wire.to),
        write: |typing, wire, text| {
            wire.to = find_end(typing, text)?;
            Ok(())
        },
    },
    Column {
        key: "gauge_awg",
        read: |_, wire| wire.gauge_text(),
        write: |_, wire, text| {
            wire.gauge_awg = match Gauge::typed(text) {
                _ if text.is_empty() => None,
                None => return Err(format!("\"{text}\" is no size, wanted 24 to 4/0")),
                gauge => gauge,
            };
            Ok(())
        },
    },
    Column {
        key: "colour",
        read: |_, wire| wire.colour.clone(),
        write: |_, wire, text| {
            wire.colour = text.into();
            Ok(())
        },
    },
    Column {
        key: "length_m",
        read: |document, wire| {
            let unit_m = unit_m(document);
            let rounded = |m: f64| (m / unit_m * 100.0).round() / 100.0;
            let length = document.wire_length_m(wire);
            length.map_or(String::new(), |m| rounded(m).to_string())
        },
        write: |typing, wire, text| {
            let in_feet = typing.document.project.show_feet;
            let length = or_none(text, "a length", |text| length_m(text, in_feet))?;
            wire.length_m = length;
            Ok(())
        },
    },
    Column {
        key: "insulation_c",
        read: |_, wire| wire.insulation_c.map_or(String::new(), |c| c.to_string()),
        write: |_, wire, text| {
            wire.insulation_c = or_none(text, "degrees C", number)?;
            Ok(())
        },
    },
    Column {
        key: "function",
        read: |_, wire| wire.function.clone(),
        write: |_, wire, text| {
            wire.function = text.into();
            Ok(())
        },
    },
    Column {
        key: "status",
        read: |_, wire| wire.status.words().into(),
        write: |_, wire, text| {
            let wanted = folded(text);
            let mut all = BuildStatus::ALL.into_iter();
            let status = all.find(|status| folded(status.words()).starts_with(&wanted));
            let status = status.ok_or_else(|| {
                let words = BuildStatus::ALL.map(BuildStatus::words);
                format!("\"{text}\" is not one of {}", words.join(", "))
            })?;
            wire.status = status;
            Ok(())
        },
    },
];

fn find_end(typing: &Typing<'_>, text: &str) -> Result<End, String> {
    typing.ends.find(text).map_err(|error| error.to_string())
}

fn end_text(document: &Document, end: &End) -> String {
    match end {
        End::Open => String::new(),
        end => document.end_label(end),
    }
}

fn unit_m(document: &Document) -> f64 {
    if document.project.show_feet {
        M_PER_FT
    } else {
        1.0
    }
}

/// None for an empty text, else its value.
fn or_none(
    text: &str,
    what: &str,
    read: impl Fn(&str) -> Option<f64>,
) -> Result<Option<f64>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let value = read(text).filter(|value| *value > 0.0);
    let value = value.ok_or_else(|| format!("\"{text}\" is not {what} greater than 0"))?;
    Ok(Some(value))
}

/// Writes one cell of a wire: a text, and the origin of its value, none for a typed one.
///
/// # Errors
/// Why the cell cannot hold that.
pub fn write(
    typing: &Typing<'_>,
    wire: &mut Wire,
    column: usize,
    (text, origin): (&str, Option<ValueOrigin>),
) -> Result<(), String> {
    let Some(column) = COLUMNS.get(column) else {
        return Ok(());
    };
    (column.write)(typing, wire, text)?;
    let mut known = wire.known().into_iter();
    if let Some((field, value)) = known.find(|it| it.0 == column.key) {
        wire.origins.set(field, value.and(origin));
    }
    Ok(())
}

/// The text of a cell.
pub fn text(document: &Document, wire: &Wire, column: usize) -> String {
    COLUMNS
        .get(column)
        .map_or(String::new(), |column| (column.read)(document, wire))
}

/// Puts a block of cells into rows, from this column on, with the origin of their values: none if typed. A row of `None` is a new wire, made as if it were drawn
/// between its ends; an empty new row is ignored.
///
/// # Errors
/// Every cell that cannot hold the typed text; then nothing changes.
pub fn put_block(
    document: &Document,
    rows: &[Option<WireId>],
    first: usize,
    block: &[Vec<String>],
    origin: Option<ValueOrigin>,
) -> Result<Change, Vec<CellError>> {
    let typing = Typing::new(document);
    // New wires take their numbers and defaults from those before them.
    let mut copy = document.clone();
    let mut change = Change::default();
    let mut errors = Vec::new();
    for (row, (id, cells)) in rows.iter().zip(block).enumerate() {
        let typed: Vec<_> = COLUMNS.iter().skip(first).zip(cells).collect();
        let is_empty = typed.iter().all(|(_, text)| text.trim().is_empty());
        let there = id.as_ref().and_then(|id| copy.wires.get(id)).cloned();
        if there.is_none() && is_empty {
            continue;
        }
        let error = |column: &'static str, why| CellError { row, column, why };
        let mut wire = match &there {
            Some(wire) => wire.clone(),
            None => {
                let end = |key: &str| {
                    let cell = typed.iter().find(|(column, _)| column.key == key);
                    cell.and_then(|(_, text)| typing.ends.find(text).ok())
                        .unwrap_or(End::Open)
                };
                new_wire(&copy, end("from"), end("to"))
            }
        };
        for (at, (column, text)) in typed.into_iter().enumerate() {
            let text = text.trim();
            // Values that are not typed stay: a length summed from routes, a number given to a new wire.
            let says = text == (column.read)(&copy, &wire);
            let stays = says || (there.is_none() && text.is_empty());
            if !stays && let Err(why) = write(&typing, &mut wire, first + at, (text, origin)) {
                errors.push(error(column.key, why));
            }
        }
        let id = match (id, there) {
            (Some(id), Some(_)) => id.clone(),
            _ => free::key(&copy.wires, "w1"),
        };
        let (key, record) = (Key::Wire(id.clone()), Record::Wire(wire.clone()));
        let broken = invariants::broken_record(document, &key, &record);
        errors.extend(broken.into_iter().map(|it| {
            let field = it.path.rsplit('.').next().unwrap_or_default();
            let column = COLUMNS.iter().find(|column| column.key == field);
            error(column.map_or("number", |column| column.key), it.why)
        }));
        copy.wires.insert(id, wire);
        change.and_set(document, key, Some(record));
    }
    match errors.is_empty() {
        true => Ok(change),
        false => Err(errors),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::whole;

    fn block(rows: &[&[&str]]) -> Vec<Vec<String>> {
        let row = |row: &&[&str]| row.iter().map(|&cell| cell.into()).collect();
        rows.iter().map(row).collect()
    }

    fn at(key: &str) -> usize {
        let found = COLUMNS.iter().position(|column| column.key == key);
        found.expect("a column")
    }

    #[test]
    fn typing_what_every_cell_says_changes_nothing() {
        let document = whole();
        for in_feet in [false, true] {
            let mut document = document.clone();
            document.project.show_feet = in_feet;
            let rows: Vec<_> = document.wires.keys().cloned().map(Some).collect();
            let cells = |wire| {
                (0..COLUMNS.len())
                    .map(|at| text(&document, wire, at))
                    .collect()
            };
            let block: Vec<Vec<String>> = document.wires.values().map(cells).collect();
            let change =
                put_block(&document, &rows, 0, &block, None).expect("what is there is sound");
            assert!(change.is_empty(), "{change:?}");
        }
    }

    #[test]
    fn a_block_is_typed_into_rows_and_new_ones() {
        let mut document = whole();
        let rows = [Some("w7".into()), None, None];
        let typed = block(&[
            &["P99A18", "", "", "16", "red", "3 ft"],
            &["", "COM1 J105-1", "BT1 +", "", "", "1.25"],
            &["", "", ""],
        ]);
        let change = put_block(&document, &rows, 0, &typed, None).expect("sound cells");
        assert_eq!(change.steps().len(), 2);
        change.apply(&mut document).expect("made for this");
        let wire = &document.wires["w7"];
        assert_eq!(
            (wire.number.as_str(), wire.gauge_awg),
            ("P99A18", Some(Gauge(16)))
        );
        assert_eq!(wire.from, End::Open);
        assert!((wire.length_m.unwrap() - 0.9144).abs() < 1e-12);
        let Some(Key::Wire(new)) = change.added().next() else {
            panic!("no new wire")
        };
        let wire = &document.wires[new];
        assert_eq!(document.end_label(&wire.from), "COM1 J105-1");
        assert_eq!(wire.length_m, Some(1.25));
        assert!(!wire.number.is_empty());
    }

    #[test]
    fn one_wrong_cell_leaves_all_as_it_was_and_every_wrong_one_is_told() {
        let document = whole();
        let rows = [Some("w7".into()), Some("w9".into())];
        let typed = block(&[
            &["P1", "NOWHERE 1"],
            &["P2", "COM1 J105-1", "COM1 J105-1", "19"],
        ]);
        let errors = put_block(&document, &rows, 0, &typed, None).expect_err("wrong cells");
        let told: Vec<_> = errors.iter().map(|it| (it.row, it.column)).collect();
        assert_eq!(told, [(0, "from"), (1, "gauge_awg"), (1, "to")]);
        assert!(errors[0].to_string().starts_with("row 1, from: no pin"));
        let typed = block(&[&["-3"]]);
        let errors = put_block(&document, &rows[..1], at("length_m"), &typed, None);
        assert!(errors.is_err());
    }
}
