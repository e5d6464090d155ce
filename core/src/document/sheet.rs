//! Sheets: what is drawn where.

use serde::{Deserialize, Serialize};

use super::{
    End, Extra,
    ink::{self, SheetInk},
    invariants::{Check, FieldPath},
    kind::Kind,
    limits,
    others::Others,
    parts::Bound,
};
use crate::{
    ids::{DeviceId, ItemId, PlaceId, SpliceId, TerminalId, WireId},
    order::Map,
};

/// A sheet of the drawing. Millimeters, x to the right, y down, from the top left corner.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct Sheet {
    /// Sheet number.
    pub number: u32,
    /// What it shows.
    pub title: String,
    /// Paper size.
    #[serde(default)]
    pub size: SheetSize,
    /// Items shown. A wire is drawn on a sheet that shows one of its ends; if only one end is
    /// shown, it names the sheet where it continues.
    #[serde(default)]
    pub items: Map<ItemId, SheetItem>,
    /// Wire segments that the builder placed.
    #[serde(default, skip_serializing_if = "Map::is_empty")]
    pub held: Map<WireId, HeldStretch>,
    /// Free text.
    #[serde(default)]
    pub notes: Vec<SheetNote>,
    /// True if a legend of the signs that are on the sheet is drawn in a free corner.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub legend: bool,
    /// What was written or sketched by hand.
    #[serde(default, skip_serializing_if = "SheetInk::is_empty")]
    pub ink: SheetInk,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Sheet {
    /// True if this end is shown on the sheet.
    pub fn shows(&self, end: &End) -> bool {
        self.items.values().any(|item| item.shows_end(end))
    }
}

/// A wire segment that stays where the builder placed it: the wire runs through this point,
/// horizontally or vertically.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct HeldStretch {
    /// To the right, mm.
    pub x_mm: f64,
    /// Down, mm.
    pub y_mm: f64,
    /// True if it is vertical, false if horizontal.
    #[serde(default)]
    pub upright: bool,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// Paper sizes, landscape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SheetSize {
    /// 297 mm x 210 mm (ISO 216).
    A4,
    /// 420 mm x 297 mm (ISO 216).
    #[default]
    A3,
    /// 279.4 mm x 215.9 mm (ANSI A).
    Letter,
    /// 431.8 mm x 279.4 mm (ANSI B).
    Tabloid,
}

impl SheetSize {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::A4, Self::A3, Self::Letter, Self::Tabloid];

    /// Width and height, mm.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (297.0, 210.0),
            Self::A3 => (420.0, 297.0),
            Self::Letter => (279.4, 215.9),
            Self::Tabloid => (431.8, 279.4),
        }
    }
}

/// One thing placed on a sheet, by its top left corner.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct SheetItem {
    /// What it shows.
    pub shows: Shown,
    /// Left edge, mm.
    pub x_mm: f64,
    /// Top edge, mm.
    pub y_mm: f64,
    /// True if left and right are swapped.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub mirrored: bool,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl SheetItem {
    /// True if it shows this end.
    pub fn shows_end(&self, end: &End) -> bool {
        match (&self.shows, end) {
            (
                Shown::Device {
                    device, terminals, ..
                },
                End::Terminal(at, terminal),
            ) => device == at && (terminals.is_empty() || terminals.contains(terminal)),
            (Shown::Splice(splice), End::Splice(at)) => splice == at,
            (Shown::Structure(place), End::Structure(at)) => place == at,
            _ => false,
        }
    }
}

/// What an item shows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Shown {
    /// A device, or some of its terminals.
    Device {
        /// The device.
        device: DeviceId,
        /// The terminals shown; empty for all.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        terminals: Vec<TerminalId>,
        /// Unknown fields.
        #[serde(flatten)]
        extra: Extra,
    },
    /// A splice.
    Splice(SpliceId),
    /// A point on the metal of a place.
    Structure(PlaceId),
}

/// Free text on a sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct SheetNote {
    /// Left edge, mm.
    pub x_mm: f64,
    /// Base line, mm.
    pub y_mm: f64,
    /// The text.
    pub text: String,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl Kind for Sheet {
    fn name_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.title)
    }

    fn label(&self, _: &dyn Others) -> String {
        format!("sheet {} {}", self.number, self.title)
    }

    fn search(&self, _: &dyn Others, tell: &mut dyn FnMut(&str, String)) {
        tell(&self.title, self.number.to_string());
    }

    fn check(&self, check: &mut Check<'_>, at: &FieldPath<'_>, _: &str) {
        check.text(at, "title", &self.title);
        let items = at.field("items");
        for (id, item) in &self.items {
            let at = items.field(id.as_str());
            check.id(&at, id.as_str());
            check_position(check, &at, item.x_mm, item.y_mm);
            check_shown(check, &at.field("shows"), &item.shows);
        }
        let held = at.field("held");
        for (wire, stretch) in &self.held {
            let at = held.field(wire.as_str());
            let exists = check.others.has("wire", wire.as_str());
            check.mention(&at, "wire", wire.as_str(), exists);
            check_position(check, &at, stretch.x_mm, stretch.y_mm);
        }
        let notes = at.field("notes");
        for (index, note) in self.notes.iter().enumerate() {
            let at = notes.index(index);
            check_position(check, &at, note.x_mm, note.y_mm);
            check.text(&at, "text", &note.text);
        }
        ink::check(check, &at.field("ink"), &self.ink);
    }
}

fn check_position(check: &mut Check<'_>, at: &FieldPath<'_>, x_mm: f64, y_mm: f64) {
    for (field, value) in [("x_mm", x_mm), ("y_mm", y_mm)] {
        let most = limits::MAX_SHEET_MM;
        if !Bound::Finite.holds(value) || value.abs() > most {
            check.say(
                &at.field(field),
                format!("found {value}, expected a number from -{most} to {most}"),
            );
        }
    }
}

fn check_shown(check: &mut Check<'_>, at: &FieldPath<'_>, shows: &Shown) {
    let others = check.others;
    match shows {
        Shown::Device {
            device, terminals, ..
        } => {
            let at = at.field("device");
            if !others.has("device", device.as_str()) {
                return check.mention(&at.field("device"), "device", device.as_str(), false);
            }
            let all = at.field("terminals");
            for (index, terminal) in terminals.iter().enumerate() {
                let exists = others.has_terminal(device, terminal);
                check.mention(&all.index(index), "terminal", terminal.as_str(), exists);
            }
        }
        Shown::Splice(id) => {
            let exists = others.has("splice", id.as_str());
            check.mention(&at.field("splice"), "splice", id.as_str(), exists);
        }
        Shown::Structure(id) => check.place_mention(&at.field("structure"), id),
    }
}
