//! A table without a form, and the forms it can take.

use std::cmp::Ordering;

use serde_json::{Map, Value};

use crate::{
    document::{Document, folded, natural_cmp},
    units::{fixed, in_length_unit, length_unit},
};

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A text.
    Text(String),
    /// Several texts: a list in JSON, separated by commas elsewhere.
    List(Vec<String>),
    /// A number in the column's unit, shown with this many decimals.
    Number(f64, usize),
    /// A length, m in files, shown with this many decimals, in feet if the flag says so.
    Length(f64, usize, bool),
    /// The unit of such a length: metres in files, feet on paper if the flag says so.
    LengthUnit(bool),
    /// Nothing known.
    Empty,
    /// Something that is done or not, and what is ticked off by it; nothing if the key is empty.
    Tick {
        /// True if it is done.
        done: bool,
        /// What it stands for, for whoever takes the tick.
        key: String,
    },
    /// A value that a person puts in.
    Entry {
        /// What is there.
        value: String,
        /// What it stands for.
        key: String,
    },
}

impl Cell {
    /// A text, or an empty cell if it is empty.
    pub fn text(text: impl Into<String>) -> Self {
        match text.into() {
            text if text.is_empty() => Self::Empty,
            text => Self::Text(text),
        }
    }

    /// A number if there is one.
    pub fn number(value: Option<f64>, decimals: usize) -> Self {
        value.map_or(Self::Empty, |value| Self::Number(value, decimals))
    }

    /// A length if there is one, shown as the project shows lengths.
    pub fn length(document: &Document, length_m: Option<f64>, decimals: usize) -> Self {
        let in_feet = document.project.show_feet;
        length_m.map_or(Self::Empty, |it| Self::Length(it, decimals, in_feet))
    }

    /// As a person reads it, without its unit.
    pub fn show(&self) -> String {
        match self {
            Self::Text(text) | Self::Entry { value: text, .. } => text.clone(),
            Self::Tick { done, .. } => String::from(if *done { "yes" } else { "" }),
            Self::List(texts) => texts.join(", "),
            Self::Number(value, decimals) => fixed(*value, *decimals),
            Self::Length(length_m, decimals, in_feet) => {
                fixed(in_length_unit(*length_m, *in_feet), *decimals)
            }
            Self::LengthUnit(in_feet) => length_unit(*in_feet).into(),
            Self::Empty => String::new(),
        }
    }

    /// As files have it: lengths in metres.
    fn in_file(&self) -> String {
        match self {
            Self::Length(length_m, decimals, _) => fixed(*length_m, *decimals),
            Self::LengthUnit(_) => length_unit(false).into(),
            other => other.show(),
        }
    }

    fn is_number(&self) -> bool {
        matches!(self, Self::Number(..) | Self::Length(..))
    }

    fn to_json(&self) -> Value {
        match self {
            Self::Text(text) | Self::Entry { value: text, .. } => text.as_str().into(),
            Self::LengthUnit(_) => self.in_file().into(),
            Self::Tick { done, .. } => (*done).into(),
            Self::List(texts) => texts.clone().into(),
            // What is shown is what is meant: no digits beyond it.
            Self::Number(..) | Self::Length(..) => {
                let text = self.in_file();
                text.parse::<f64>().map_or(Value::Null, Value::from)
            }
            Self::Empty => Value::Null,
        }
    }
}

/// A column: its key in files, its heading on paper, and its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Key, with the unit: `length_m`.
    pub key: &'static str,
    /// Heading: "Length".
    pub title: &'static str,
    /// Unit shown beside the heading; empty for none.
    pub unit: &'static str,
}

/// A paper as rows under columns.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Its name in commands: "wires".
    pub name: &'static str,
    /// Its title on paper.
    pub title: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// True if the first column names a group: rows of one group stand together, under its name.
    pub grouped: bool,
    /// Its rows; each has a cell for each column.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table without rows, columns as key, title and unit.
    pub fn new(
        name: &'static str,
        title: impl Into<String>,
        columns: &[(&'static str, &'static str, &'static str)],
    ) -> Self {
        let column = |&(key, title, unit): &_| Column { key, title, unit };
        Self {
            name,
            title: title.into(),
            columns: columns.iter().map(column).collect(),
            grouped: false,
            rows: Vec::new(),
        }
    }

    /// The same with its first column as the name of groups.
    #[must_use]
    pub fn grouped(mut self) -> Self {
        self.grouped = true;
        self
    }

    /// Only the rows in which this text stands, whatever its case; all if it is empty.
    pub fn keep(&mut self, text: &str) {
        let wanted = folded(text.trim());
        self.rows.retain(|row| {
            row.iter()
                .any(|cell| folded(&cell.show()).contains(&wanted))
        });
    }

    /// Sorts by a column, within groups; rows that are equal there stay in order. False if there is no
    /// such column.
    pub fn sort_by(&mut self, key: &str) -> bool {
        let Some(at) = self.columns.iter().position(|column| column.key == key) else {
            return false;
        };
        let grouped = self.grouped;
        self.rows.sort_by(|a, b| {
            let group = match grouped {
                true => natural_cmp(&a[0].show(), &b[0].show()),
                false => Ordering::Equal,
            };
            group.then_with(|| match (&a[at], &b[at]) {
                (Cell::Number(a, _), Cell::Number(b, _))
                | (Cell::Length(a, ..), Cell::Length(b, ..)) => a.total_cmp(b),
                (a, b) => natural_cmp(&a.show(), &b.show()),
            })
        });
        true
    }

    /// The same with the unit of lengths in its headings as the project shows them.
    #[must_use]
    pub fn lengths_as_in(mut self, document: &Document) -> Self {
        for column in self.columns.iter_mut().filter(|it| it.unit == "m") {
            column.unit = document.project.length_unit();
        }
        self
    }

    /// As CSV (RFC 4180): one heading line of keys, lines ended by CR LF, no text that a spreadsheet
    /// would take for a formula.
    pub fn to_csv(&self) -> String {
        let heading = self.columns.iter().map(|column| column.key.to_owned());
        let mut csv = line(heading);
        for row in &self.rows {
            csv += &line(row.iter().map(|cell| match cell {
                number if number.is_number() => number.in_file(),
                text => harmless(&text.in_file()),
            }));
        }
        csv
    }

    /// Titles of the columns, with their units.
    pub fn headings(&self) -> Vec<String> {
        let heading = |column: &Column| match column.unit {
            "" => column.title.to_owned(),
            unit => format!("{}, {unit}", column.title),
        };
        self.columns.iter().map(heading).collect()
    }

    /// As plain text: columns in line, numbers to the right, a rule under the headings.
    pub fn to_text(&self) -> String {
        let mut lines: Vec<Vec<String>> = vec![self.headings()];
        lines.extend(
            self.rows
                .iter()
                .map(|row| row.iter().map(Cell::show).collect()),
        );
        let width = |at: usize| {
            let cells = lines.iter().map(|line| line[at].chars().count());
            cells.max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..self.columns.len()).map(width).collect();
        let is_number = |at: usize| {
            let mut cells = self.rows.iter().map(|row| &row[at]);
            cells.any(Cell::is_number)
        };
        let numbers: Vec<bool> = (0..self.columns.len()).map(is_number).collect();
        let put = |line: &Vec<String>| {
            let cells = line.iter().zip(&widths).zip(&numbers);
            let cells = cells.map(|((cell, width), number)| match number {
                true => format!("{cell:>width$}"),
                false => format!("{cell:<width$}"),
            });
            cells.collect::<Vec<_>>().join("  ").trim_end().to_owned() + "\n"
        };
        let rule = "-".repeat(widths.iter().sum::<usize>() + 2 * widths.len().saturating_sub(1));
        let (first, rest) = lines.split_first().expect("a heading line is always there");
        put(first) + &rule + "\n" + &rest.iter().map(put).collect::<String>()
    }

    /// The columns that stand on the page: not that of a group's name, and none in which nothing stands.
    pub fn shown_columns(&self) -> Vec<usize> {
        let columns = usize::from(self.grouped)..self.columns.len();
        let is_used = |at: &usize| {
            (self.rows.iter())
                .any(|row| row[*at] != Cell::Empty && row[*at] != Cell::List(Vec::new()))
        };
        columns.filter(is_used).collect()
    }

    /// The name of a row's group.
    pub fn group_of<'r>(&self, row: &'r [Cell]) -> Option<&'r str> {
        match row.first() {
            Some(Cell::Text(text)) if self.grouped => Some(text),
            _ => None,
        }
    }

    /// As JSON: a list of objects, one a row, fields in the order of the columns.
    pub fn to_json(&self) -> String {
        format!("{:#}\n", self.rows_json())
    }

    /// The same as a value.
    pub fn rows_json(&self) -> Value {
        let rows = self.rows.iter().map(|row| {
            let fields = self.columns.iter().zip(row);
            let fields = fields.map(|(column, cell)| (column.key.to_owned(), cell.to_json()));
            Value::Object(fields.collect::<Map<_, _>>())
        });
        Value::Array(rows.collect())
    }
}

fn line(cells: impl Iterator<Item = String>) -> String {
    let cells = cells.map(|cell| {
        if cell.contains(['"', ',', '\n', '\r']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell
        }
    });
    cells.collect::<Vec<_>>().join(",") + "\r\n"
}

/// A text that no spreadsheet takes for a formula: an apostrophe is put before a first character of
/// `=`, `+`, `-`, `@`, tab or return (common practice, no source). One that begins with an apostrophe
/// gets another, so that taking one off always gives back the text.
pub fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\'']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str) -> Table {
        let column = |key| Column {
            key,
            title: "",
            unit: "",
        };
        Table {
            name: "t",
            title: String::new(),
            columns: vec![column("a"), column("b_m")],
            grouped: false,
            rows: vec![vec![Cell::text(text), Cell::number(Some(-1.25), 1)]],
        }
    }

    #[test]
    fn a_formula_is_made_harmless() {
        for first in ["=", "+", "-", "@", "\t", "'"] {
            let csv = table(&format!("{first}1+1")).to_csv();
            assert_eq!(csv, format!("a,b_m\r\n'{first}1+1,-1.2\r\n"));
        }
        assert_eq!(table("\r1").to_csv(), "a,b_m\r\n\"'\r1\",-1.2\r\n");
    }

    #[test]
    fn quotes_and_commas_are_kept() {
        assert_eq!(
            table("6 in, \"flex\"\nred").to_csv(),
            "a,b_m\r\n\"6 in, \"\"flex\"\"\nred\",-1.2\r\n"
        );
    }

    #[test]
    fn text_keeps_columns_in_line() {
        let mut table = table("é");
        table.columns[1].unit = "m";
        table.rows.push(vec![Cell::Empty, Cell::Number(-0.04, 1)]);
        assert_eq!(table.to_text(), "    , m\n-------\né  -1.2\n    0.0\n");
    }

    #[test]
    fn json_has_the_columns_by_name() {
        let json: Value = serde_json::from_str(&table("=1").to_json()).unwrap();
        assert_eq!(json, serde_json::json!([{"a": "=1", "b_m": -1.2}]));
    }
}
