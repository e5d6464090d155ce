//! A paper: headings, texts, cautions, tables and drawings in the order of the page. The code that makes a
//! paper knows no output format, and the formats know no paper.

use serde_json::{Map, Value};

use super::Table;
use crate::document::{Document, End, Sheet};
use crate::ids::SheetId;

/// Printed under every paper that someone may build by.
pub const NOTICE: &str = "This is an aid. Local regulation, the equipment maker's manual and a licensed \
                          person's judgment come first.";

/// What a paper is made from. Zones and drawn sheets arrive as functions, because reports must not import the
/// drawing.
#[derive(Clone, Copy, Debug)]
pub struct PaperInput<'d> {
    /// The project.
    pub document: &'d Document,
    /// The same project before a change, to compare with.
    pub before: Option<&'d Document>,
    /// The zone of a sheet in which an end is shown: "C4".
    pub zone: fn(&Document, &Sheet, &End) -> Option<String>,
    /// A sheet in black and white, as SVG markup.
    pub drawn: fn(&Document, &SheetId) -> String,
}

/// What every printed page says besides its aircraft, its paper and its number: which version of the project it is
/// made from, and when. Both come from outside, since reports know neither the kept versions nor a clock.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Edition {
    /// The version, in words: "version First flight, 3f2a10c9be47".
    pub version: String,
    /// The date of printing, YYYY-MM-DD.
    pub date: String,
}

/// A part of a paper.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// A caution: something that can hurt people or the aircraft.
    Caution(String),
    /// A table.
    Table(Table),
    /// A drawing as SVG markup that this program wrote, and a description of it.
    Drawing {
        /// The markup.
        svg: String,
        /// What it shows, in words.
        told: String,
    },
    /// A card to cut out, 5 in wide: headings, texts, cautions and tables. Its tables are in no file.
    Card(Vec<Part>),
    /// A new page begins.
    Page,
    /// A new paper begins, under this name in the heading of its pages. It begins on a new page unless it is short and
    /// all of it fits below the one before.
    Begin(String),
    /// The names of all papers that begin, with the pages on which they do.
    Contents,
}

/// A paper.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Paper {
    /// Its name in commands: "cuts".
    pub name: &'static str,
    /// Its title.
    pub title: String,
    /// What it is, without the aircraft: "Cut list".
    pub what: String,
    /// The aircraft, or the project.
    pub aircraft: String,
    /// What its pages say of the version and the date; empty if that is not known.
    pub edition: Edition,
    /// Its parts, in order.
    pub parts: Vec<Part>,
}

impl Edition {
    /// In a line: "version First flight, 3f2a10c9be47; printed 2026-05-01".
    pub fn line(&self) -> String {
        format!("{}; printed {}", self.version, self.date)
    }
}

impl Paper {
    /// An empty paper of a project.
    pub fn new(name: &'static str, what: &str, document: &Document) -> Self {
        Self {
            name,
            title: format!("{what}, {}", document.project.title),
            what: what.into(),
            aircraft: match document.project.registration.as_str() {
                "" => document.project.title.clone(),
                registration => format!("{} {registration}", document.project.title),
            },
            ..Self::default()
        }
    }

    /// The names of the papers that begin in it.
    pub fn contents(&self) -> impl Iterator<Item = &str> {
        self.parts.iter().filter_map(|part| match part {
            Part::Begin(name) => Some(name.as_str()),
            _ => None,
        })
    }

    /// Adds a heading.
    pub fn heading(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Heading(text.into()));
    }

    /// Adds a paragraph.
    pub fn text(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Text(text.into()));
    }

    /// Adds a caution.
    pub fn caution(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Caution(text.into()));
    }

    /// Adds a table.
    pub fn table(&mut self, table: Table) {
        self.parts.push(Part::Table(table));
    }

    /// Adds a table, and under it what its column of origins means, if it has one.
    pub fn table_with_origins(&mut self, table: Table) {
        let told = table.columns.iter().any(|column| column.key == "origin");
        self.table(table);
        if told {
            self.text(
                "Origin: where a value comes from that was not typed. Check a catalog value against the part itself.",
            );
        }
    }

    /// Keeps only the rows that contain a text, and says so, because a partial list must not pass for a complete one.
    pub fn keep(&mut self, text: &str) {
        if text.trim().is_empty() {
            return;
        }
        for part in &mut self.parts {
            if let Part::Table(table) = part {
                table.keep(text);
            }
        }
        let told = format!("Only rows that contain \u{201c}{}\u{201d}.", text.trim());
        self.parts.insert(0, Part::Text(told));
    }

    /// Its tables.
    pub fn tables(&self) -> impl Iterator<Item = &Table> {
        self.parts.iter().filter_map(|part| match part {
            Part::Table(table) => Some(table),
            _ => None,
        })
    }

    /// Its tables; tables of the same name are joined into one.
    fn joined(&self) -> Vec<Table> {
        let mut joined: Vec<Table> = Vec::new();
        for table in self.tables() {
            match joined.iter_mut().find(|it| it.name == table.name) {
                Some(there) => there.rows.extend(table.rows.iter().cloned()),
                None => joined.push(table.clone()),
            }
        }
        joined
    }

    /// As CSV: its tables one after the other, an empty line between them.
    pub fn to_csv(&self) -> String {
        let tables: Vec<String> = self.joined().iter().map(Table::to_csv).collect();
        tables.join("\r\n")
    }

    /// As JSON: a list of rows if it has one table, else an object with the rows of each.
    pub fn to_json(&self) -> String {
        let tables = self.joined();
        let value = match tables.as_slice() {
            [one] => one.rows_json(),
            all => {
                let rows = all.iter().map(|it| (it.name.to_owned(), it.rows_json()));
                Value::Object(rows.collect::<Map<_, _>>())
            }
        };
        format!("{value:#}\n")
    }

    /// As plain text.
    pub fn to_text(&self) -> String {
        let mut text = format!("{}\n", self.title);
        if self.edition != Edition::default() {
            text += &format!("{}\n", self.edition.line());
        }
        self.put_text(&self.parts, &mut text);
        format!("{text}\n{NOTICE}\n")
    }

    fn put_text(&self, parts: &[Part], text: &mut String) {
        for part in parts {
            *text += "\n";
            match part {
                Part::Heading(words) | Part::Text(words) => *text += &format!("{words}\n"),
                Part::Caution(words) => *text += &format!("CAUTION: {words}\n"),
                Part::Table(table) => *text += &table.to_text(),
                Part::Drawing { told, .. } => *text += &format!("[{told}]\n"),
                Part::Card(parts) => self.put_text(parts, text),
                Part::Contents => {
                    *text += &self
                        .contents()
                        .map(|it| format!("{it}\n"))
                        .collect::<String>();
                }
                Part::Page | Part::Begin(_) => {}
            }
        }
    }
}
