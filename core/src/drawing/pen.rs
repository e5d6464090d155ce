//! Drawing commands for outlines: shapes and pins in the item's own millimeters, from its top left corner, left to
//! right. Mirroring and moving happen afterwards.

use super::{
    geometry::{Facing, Point, Rect, pt},
    scene::{Anchor, Dash, Ink, Shape},
    text,
};
use crate::ids::TerminalId;

/// Line width of outlines, mm.
pub const PLAIN_MM: f64 = 0.35;
/// Line width of thin outlines, mm.
pub const THIN_MM: f64 = 0.2;

/// Radius of a pin's mark, mm.
const PIN_MM: f64 = 0.55;

/// The mark of a pin in which two wires or more end: a dot instead of a circle.
pub fn shared_pin(at: Point) -> Shape {
    Shape::Circle {
        centre: at,
        radius_mm: PIN_MM,
        fill: Some(Ink::Metal),
        ink: Ink::Outline,
        weight_mm: PLAIN_MM,
    }
}

/// Shapes and pins of an item.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outline {
    /// Width, mm, on the lattice.
    pub w_mm: f64,
    /// Height, mm, on the lattice.
    pub h_mm: f64,
    /// What to paint.
    pub shapes: Vec<Shape>,
    /// Pins for wires: terminal (empty for a splice or structure point), position, direction.
    pub pins: Vec<(TerminalId, Point, Facing)>,
}

impl Outline {
    /// An empty outline of this size.
    pub fn sized(w_mm: f64, h_mm: f64) -> Self {
        Self {
            w_mm,
            h_mm,
            ..Self::default()
        }
    }

    /// A line.
    pub fn line(&mut self, points: &[Point]) {
        self.stroke(points, Ink::Outline, PLAIN_MM, Dash::None);
    }

    /// A line of any ink.
    pub fn stroke(&mut self, points: &[Point], ink: Ink, weight_mm: f64, dash: Dash) {
        self.shapes.push(Shape::Line {
            points: points.to_vec(),
            ink,
            weight_mm,
            dash,
        });
    }

    /// A box with the inside of a device.
    pub fn body(&mut self, rect: Rect, weight_mm: f64) {
        self.shapes.push(Shape::Rect {
            rect,
            radius_mm: 0.8,
            fill: Some(Ink::Body),
            ink: Ink::Outline,
            weight_mm,
            dash: Dash::None,
        });
    }

    /// A box.
    pub fn rect(&mut self, rect: Rect, fill: Option<Ink>) {
        self.shapes.push(Shape::Rect {
            rect,
            radius_mm: 0.0,
            fill,
            ink: Ink::Outline,
            weight_mm: PLAIN_MM,
            dash: Dash::None,
        });
    }

    /// A circle.
    pub fn circle(&mut self, centre: Point, radius_mm: f64, fill: Option<Ink>) {
        self.shapes.push(Shape::Circle {
            centre,
            radius_mm,
            fill,
            ink: Ink::Outline,
            weight_mm: PLAIN_MM,
        });
    }

    /// A piece of a circle.
    pub fn arc(&mut self, from: Point, to: Point, radius_mm: f64, clockwise: bool) {
        self.shapes.push(Shape::Arc {
            from,
            to,
            radius_mm,
            clockwise,
            ink: Ink::Outline,
            weight_mm: PLAIN_MM,
            dash: Dash::None,
        });
    }

    /// A filled area.
    pub fn area(&mut self, points: &[Point], fill: Ink) {
        self.shapes.push(Shape::Area {
            points: points.to_vec(),
            fill,
        });
    }

    /// Small plain text.
    pub fn text(&mut self, at: Point, text: &str, anchor: Anchor) {
        self.write(at, text, text::SMALL_MM, anchor, Ink::Label, false);
    }

    /// Text of any kind; nothing if it is empty.
    pub fn write(
        &mut self,
        at: Point,
        text: &str,
        size_mm: f64,
        anchor: Anchor,
        ink: Ink,
        bold: bool,
    ) {
        if !text.trim().is_empty() {
            self.shapes.push(Shape::Text {
                at,
                text: text.trim().to_owned(),
                size_mm,
                anchor,
                ink,
                bold,
                upward: false,
            });
        }
    }

    /// A pin on the edge, with its mark.
    pub fn pin(&mut self, terminal: &TerminalId, at: Point, facing: Facing) {
        self.circle(at, PIN_MM, Some(Ink::Paper));
        self.pins.push((terminal.clone(), at, facing));
    }

    /// The outline with left and right swapped. Text stays readable.
    #[must_use]
    pub fn mirrored(mut self) -> Self {
        let w = self.w_mm;
        let turn = |p: Point| pt(w - p.x, p.y);
        for shape in &mut self.shapes {
            map_points(shape, turn);
            match shape {
                Shape::Rect { rect, .. } => rect.x = w - rect.x - rect.w,
                Shape::Arc { clockwise, .. } => *clockwise = !*clockwise,
                Shape::Text { anchor, .. } => {
                    *anchor = match anchor {
                        Anchor::Start => Anchor::End,
                        Anchor::Middle => Anchor::Middle,
                        Anchor::End => Anchor::Start,
                    }
                }
                _ => {}
            }
        }
        for (_, at, facing) in &mut self.pins {
            *at = turn(*at);
            *facing = facing.mirrored();
        }
        self
    }

    /// The outline at its place on the sheet.
    #[must_use]
    pub fn moved(mut self, dx: f64, dy: f64) -> Self {
        for shape in &mut self.shapes {
            map_points(shape, |p| p.moved(dx, dy));
            if let Shape::Rect { rect, .. } = shape {
                *rect = rect.moved(dx, dy);
            }
        }
        for (_, at, _) in &mut self.pins {
            *at = at.moved(dx, dy);
        }
        self
    }
}

/// Changes every point of a shape that is not a box.
fn map_points(shape: &mut Shape, change: impl Fn(Point) -> Point) {
    match shape {
        Shape::Line { points, .. } | Shape::Area { points, .. } => {
            for point in points {
                *point = change(*point);
            }
        }
        Shape::Circle { centre: at, .. } | Shape::Text { at, .. } => *at = change(*at),
        Shape::Arc { from, to, .. } => {
            *from = change(*from);
            *to = change(*to);
        }
        Shape::Rect { .. } => {}
    }
}
