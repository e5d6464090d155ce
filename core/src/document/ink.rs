//! Ink: what was written or sketched on a sheet by hand. It says nothing about the circuit.

use ecow::EcoString;
use serde::{Deserialize, Serialize};

use super::{
    Extra,
    invariants::{Check, FieldPath},
    limits,
};
use crate::ids::InkId;

/// The ink of a sheet.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct SheetInk {
    /// Strokes.
    #[serde(default)]
    pub strokes: Vec<InkStroke>,
    /// True if it is neither shown nor printed.
    #[serde(default)]
    pub hidden: bool,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl SheetInk {
    /// True if there is nothing to write to a file.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// One stroke of a pen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct InkStroke {
    /// Key. That of a new stroke is made from its path, so that the strokes of two builders keep apart.
    pub id: InkId,
    /// Width at full pressure, mm.
    pub width_mm: f64,
    /// Its points in order, three numbers each, separated by spaces: to the right, mm; down, mm; pressure, 0 to 1.
    #[cfg_attr(feature = "cli", schemars(with = "String"))]
    pub path: EcoString,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

/// A point of a stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InkPoint {
    /// To the right, mm.
    pub x_mm: f64,
    /// Down, mm.
    pub y_mm: f64,
    /// Pressure, 0 to 1.
    pub pressure: f64,
}

impl InkStroke {
    /// A stroke through these points, as written to a file: to a hundredth.
    pub fn new(width_mm: f64, points: &[InkPoint]) -> Self {
        let number = |value: f64| format!("{}", (value * 100.0).round() / 100.0 + 0.0);
        let words = points.iter().flat_map(|p| [p.x_mm, p.y_mm, p.pressure]);
        let words: Vec<String> = words.map(number).collect();
        let path = EcoString::from(words.join(" "));
        // FNV-1a, 64 bits.
        let mixed = path.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
        Self {
            id: InkId::new(format!("k{mixed:016x}")),
            width_mm,
            path,
            extra: Extra::new(),
        }
    }

    /// Its points. None if the path is not made of threes of numbers.
    pub fn points(&self) -> Option<Vec<InkPoint>> {
        let numbers: Result<Vec<f64>, _> = self.path.split_whitespace().map(str::parse).collect();
        let numbers = numbers.ok()?;
        let (threes, rest) = numbers.as_chunks::<3>();
        let point = |&[x_mm, y_mm, pressure]: &[f64; 3]| InkPoint {
            x_mm,
            y_mm,
            pressure,
        };
        rest.is_empty().then(|| threes.iter().map(point).collect())
    }
}

/// Checks the ink of a sheet.
pub fn check(check: &mut Check<'_>, at: &FieldPath<'_>, ink: &SheetInk) {
    let at = at.field("strokes");
    let count = ink.strokes.len();
    if count > limits::MAX_INK_STROKES {
        let most = limits::MAX_INK_STROKES;
        check.say(
            &at,
            format!("found {count} strokes, expected at most {most}"),
        );
    }
    for (index, stroke) in ink.strokes.iter().enumerate() {
        let at = at.index(index);
        check.id(&at, stroke.id.as_str());
        check.text(&at, "path", &stroke.path);
        if !(stroke.width_mm > 0.0 && stroke.width_mm <= limits::MAX_INK_MM) {
            let (found, most) = (stroke.width_mm, limits::MAX_INK_MM);
            let text = format!("found {found}, expected a number over 0 and at most {most}");
            check.say(&at.field("width_mm"), text);
        }
        let most = limits::MAX_SHEET_MM;
        let is_sound = |p: &InkPoint| {
            p.x_mm.abs() <= most && p.y_mm.abs() <= most && (0.0..=1.0).contains(&p.pressure)
        };
        let points = stroke.points();
        if !points.is_some_and(|all| !all.is_empty() && all.iter().all(is_sound)) {
            let text = format!(
                "expected threes of numbers: two from -{most} to {most} and one from 0 to 1"
            );
            check.say(&at.field("path"), text);
        }
    }
}
