//! Border of a sheet with its zones, the title block and the safety line.

use super::{
    geometry::{Point, Rect, pt},
    phase::Phase,
    scene::{Anchor, Dash, Group, Ink, Shape},
    text,
};
use crate::document::{Document, Sheet, SheetSize};

/// From the edge of the paper to the border, mm.
pub const MARGIN_MM: f64 = 7.5;
/// Height of the title block, mm.
const BLOCK_MM: f64 = 15.0;
/// Width of the title block, mm.
const WIDE_MM: f64 = 120.0;
/// Length of a zone along the border, mm.
const ZONE_MM: f64 = 50.0;

/// The frame and title block of every sheet.
pub const SAFETY: &str = "Drawn with an aid. Local regulation, the equipment maker's manual and \
                          licensed practice come first.";

/// Where wires may run.
pub fn inside(width_mm: f64, height_mm: f64) -> Rect {
    Rect::new(0.0, 0.0, width_mm, height_mm).grown(-MARGIN_MM - 2.5)
}

/// The title block's box.
pub fn block(width_mm: f64, height_mm: f64) -> Rect {
    let (r, b) = (width_mm - MARGIN_MM, height_mm - MARGIN_MM);
    Rect::new(r - WIDE_MM, b - BLOCK_MM, WIDE_MM, BLOCK_MM)
}

/// How many zones there are along the top and down the side, and how long each is, mm.
pub(super) fn zone_counts(w: f64, h: f64) -> ([u32; 2], [f64; 2]) {
    let lengths = [w, h].map(|mm| mm - 2.0 * MARGIN_MM);
    let counts = lengths.map(|mm| (mm / ZONE_MM).round().max(1.0));
    (
        counts.map(|count| count as u32),
        [lengths[0] / counts[0], lengths[1] / counts[1]],
    )
}

pub(super) fn row_letter(row: u32) -> char {
    char::from(b'A' + (row % 26) as u8)
}

/// The zone of a sheet that contains a point: "C4".
pub fn zone(size: SheetSize, at: Point) -> String {
    let (w, h) = size.size_mm();
    let (counts, steps) = zone_counts(w, h);
    let of = |mm: f64, axis: usize| {
        let at = ((mm - MARGIN_MM) / steps[axis]).max(0.0) as u32;
        at.min(counts[axis] - 1)
    };
    format!("{}{}", row_letter(of(at.y, 1)), of(at.x, 0) + 1)
}

/// Border, zones and title block of a sheet.
pub fn draw(document: &Document, sheet: &Sheet, phase: Option<&Phase>) -> Group {
    let (w, h) = sheet.size.size_mm();
    let border = Rect::new(0.0, 0.0, w, h).grown(-MARGIN_MM);
    let mut shapes = vec![bordered(border, 0.5)];
    zones(&mut shapes, w, h);
    let block = block(w, h);
    shapes.push(bordered(block, 0.35));
    let (x, y, r) = (block.x, block.y, block.right());
    for row in [6.5, 11.0] {
        shapes.push(line(&[pt(x, y + row), pt(r, y + row)]));
    }
    shapes.push(line(&[pt(r - 28.0, y), pt(r - 28.0, y + 11.0)]));
    let of = document.sheets.len();
    let title = text::fit(&sheet.title, 3.4, true, WIDE_MM - 32.0);
    let phase = text::fit(&Phase::title(phase), text::PLAIN_MM, false, 50.0);
    let phase_mm = text::width(&phase, text::PLAIN_MM, false);
    let project = text::fit(
        &document.project.title,
        text::PLAIN_MM,
        false,
        WIDE_MM - 34.0 - phase_mm,
    );
    let number = format!("sheet {} of {of}", sheet.number);
    let volts = format!("{} V system", document.project.nominal_v);
    shapes.push(write(
        pt(x + 2.0, y + 4.6),
        &title,
        3.4,
        Anchor::Start,
        true,
    ));
    shapes.push(write(pt(r - 2.0, y + 4.6), &number, 2.8, Anchor::End, true));
    shapes.push(write(
        pt(x + 2.0, y + 9.8),
        &project,
        text::PLAIN_MM,
        Anchor::Start,
        false,
    ));
    shapes.push(write(
        pt(r - 30.0, y + 9.8),
        &phase,
        text::PLAIN_MM,
        Anchor::End,
        false,
    ));
    shapes.push(write(
        pt(r - 2.0, y + 9.8),
        &volts,
        text::PLAIN_MM,
        Anchor::End,
        false,
    ));
    shapes.push(write(
        pt(x + 2.0, y + 14.0),
        SAFETY,
        text::SMALL_MM,
        Anchor::Start,
        false,
    ));
    Group::new(
        shapes,
        format!("Sheet {} of {of}, {}, {phase}", sheet.number, sheet.title),
    )
}

/// Letters down the sides and numbers along top and bottom, so that a place on the sheet can be
/// named: "C4".
fn zones(shapes: &mut Vec<Shape>, w: f64, h: f64) {
    let ([cols, rows], [step_x, step_y]) = zone_counts(w, h);
    for i in 0..cols {
        let left = MARGIN_MM + step_x * f64::from(i);
        for (text_y, tick) in [
            (MARGIN_MM - 2.0, [MARGIN_MM - 4.0, MARGIN_MM]),
            (h - 3.4, [h - MARGIN_MM, h - 3.5]),
        ] {
            let text = (i + 1).to_string();
            shapes.push(dim(pt(left + step_x / 2.0, text_y), &text));
            if i > 0 {
                shapes.push(line(&[pt(left, tick[0]), pt(left, tick[1])]));
            }
        }
    }
    for i in 0..rows {
        let top = MARGIN_MM + step_y * f64::from(i);
        for (text_x, tick) in [
            (MARGIN_MM - 3.0, [MARGIN_MM - 4.0, MARGIN_MM]),
            (w - 4.4, [w - MARGIN_MM, w - 3.5]),
        ] {
            let text = row_letter(i).to_string();
            shapes.push(dim(pt(text_x, top + step_y / 2.0 + 0.8), &text));
            if i > 0 {
                shapes.push(line(&[pt(tick[0], top), pt(tick[1], top)]));
            }
        }
    }
}

pub(super) fn bordered(rect: Rect, weight_mm: f64) -> Shape {
    Shape::Rect {
        rect,
        radius_mm: 0.0,
        fill: None,
        ink: Ink::Frame,
        weight_mm,
        dash: Dash::None,
    }
}

pub(super) fn line(points: &[Point]) -> Shape {
    Shape::Line {
        points: points.to_vec(),
        ink: Ink::Frame,
        weight_mm: 0.25,
        dash: Dash::None,
    }
}

fn dim(at: Point, text: &str) -> Shape {
    Shape::Text {
        at,
        text: text.to_owned(),
        size_mm: text::SMALL_MM,
        anchor: Anchor::Middle,
        ink: Ink::Dim,
        bold: false,
        upward: false,
    }
}

pub(super) fn write(at: Point, text: &str, size_mm: f64, anchor: Anchor, bold: bool) -> Shape {
    Shape::Text {
        at,
        text: text.to_owned(),
        size_mm,
        anchor,
        ink: Ink::Label,
        bold,
        upward: false,
    }
}
