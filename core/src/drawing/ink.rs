//! Ink as shapes: lines whose width follows the pressure of the pen, in a few steps.

use super::{
    geometry::pt,
    scene::{Dash, Group, Ink, Shape},
};
use crate::document::{InkPoint, InkStroke, Sheet};

/// Steps of the width between a light and a heavy touch.
const STEPS: f64 = 4.0;
/// Share of the full width that the lightest touch leaves.
const LIGHTEST: f64 = 0.4;

/// The ink of a sheet. None if there is none to show.
pub fn group(sheet: &Sheet) -> Option<Group> {
    if sheet.ink.hidden || sheet.ink.strokes.is_empty() {
        return None;
    }
    let shapes = sheet.ink.strokes.iter().flat_map(shapes).collect();
    Some(Group::new(shapes, "Ink"))
}

fn shapes(stroke: &InkStroke) -> Vec<Shape> {
    let points = stroke.points().unwrap_or_default();
    if let [dot] = points.as_slice() {
        return vec![Shape::Circle {
            centre: pt(dot.x_mm, dot.y_mm),
            radius_mm: stroke.width_mm / 2.0,
            fill: Some(Ink::Label),
            ink: Ink::Label,
            weight_mm: 0.1,
        }];
    }
    // One line as long as the pressure stays in a step, each beginning where the last one ends.
    let step =
        |pair: &[InkPoint]| (f64::midpoint(pair[0].pressure, pair[1].pressure) * STEPS).round();
    let pieces: Vec<&[InkPoint]> = points.windows(2).collect();
    let runs = pieces.chunk_by(|a, b| step(a) == step(b));
    let line = |run: &[&[InkPoint]]| {
        let first = run.first().map(|pair| pair[0]);
        let rest = run.iter().map(|pair| pair[1]);
        let share = run.first().map_or(1.0, |pair| step(pair) / STEPS);
        Shape::Line {
            points: first
                .into_iter()
                .chain(rest)
                .map(|p| pt(p.x_mm, p.y_mm))
                .collect(),
            ink: Ink::Label,
            weight_mm: stroke.width_mm * (LIGHTEST + (1.0 - LIGHTEST) * share),
            dash: Dash::None,
        }
    };
    runs.map(line).collect()
}
