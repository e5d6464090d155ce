//! A table, and its output as CSV, JSON and text.

use crate::order::InOrder;
use std::cmp::Ordering;

use serde_json::{Map, Value};

use crate::{
    document::{Document, folded, natural_cmp},
    units::{fixed, in_length_unit, length_unit},
};

/// The content of a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A text.
    Text(String),
    /// Several texts: a list in JSON, separated by commas elsewhere.
    List(Vec<String>),
    /// A number in the column's unit, and how many decimals to show.
    Number(f64, usize),
    /// A length in m, how many decimals to show, and whether paper shows feet. Files always have m.
    Length(f64, usize, bool),
    /// The unit of such a length, and whether paper shows feet. Files always have m.
    LengthUnit(bool),
    /// No value.
    Empty,
    /// A check box; with an empty key it cannot be changed.
    Tick {
        /// True if it is done.
        done: bool,
        /// The key of its [`Mark`](super::mark::Mark).
        key: String,
    },
    /// A value that a person enters.
    Entry {
        /// Its current value.
        value: String,
        /// The key of its [`Mark`](super::mark::Mark); with an empty key it can only be written on paper.
        key: String,
    },
}

impl Cell {
    /// A text; an empty text is an empty cell.
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

    /// A length if there is one, in the project's unit of lengths.
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

    /// As written to files: lengths in m.
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
            // Only the digits that are shown.
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
    /// Unit shown after the heading; empty for none.
    pub unit: &'static str,
}

/// Rows under columns.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Its name in commands: "wires".
    pub name: &'static str,
    /// Its title on paper.
    pub title: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// True if the first column names a group: rows of one group are listed together under its name.
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

    /// The same table with its first column as group names.
    #[must_use]
    pub fn grouped(mut self) -> Self {
        self.grouped = true;
        self
    }

    /// The same table without a column in which no row has anything.
    #[must_use]
    pub fn without_empty(mut self, key: &str) -> Self {
        let at = self.columns.iter().position(|column| column.key == key);
        if let Some(at) = at.filter(|at| self.rows.iter().all(|row| row[*at] == Cell::Empty)) {
            self.columns.remove(at);
            for row in &mut self.rows {
                row.remove(at);
            }
        }
        self
    }

    /// Keeps only the rows that contain this text in any case; all of them if it is empty.
    pub fn keep(&mut self, text: &str) {
        let wanted = folded(text.trim());
        self.rows.retain(|row| {
            row.iter()
                .any(|cell| folded(&cell.show()).contains(&wanted))
        });
    }

    /// Sorts by a column, within groups; equal rows keep their order. False if there is no such column.
    pub fn sort_by(&mut self, key: &str) -> bool {
        let Some(at) = self.columns.iter().position(|column| column.key == key) else {
            return false;
        };
        let grouped = self.grouped;
        self.rows.order_by(|a, b| {
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

    /// The same table with the project's unit of lengths in its headings.
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

    /// As plain text: aligned columns, numbers right-aligned, a rule under the headings.
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

    /// The columns shown on the page: neither the group column nor columns without any value.
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

/// A text that no spreadsheet takes for a formula: a text that begins with `=`, `+`, `-`, `@`, tab or return gets
/// an apostrophe in front (common practice, no source). One that begins with an apostrophe gets another, so that
/// removing one always restores the text.
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
    fn columns_of_text_are_aligned() {
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
