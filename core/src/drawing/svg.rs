//! Shapes as SVG markup, and a complete sheet as an SVG file that needs no other file.

use std::fmt::Write;

use super::{
    geometry::{Point, Rect},
    overlay::Overlay,
    scene::{Anchor, Dash, Group, GroupKey, Ink, Scene, Shape},
    theme::{self, Theme},
};
use crate::markup::escape;

/// The sheet as a self-contained SVG file, one unit a millimeter.
pub fn svg(scene: &Scene, theme: Theme, overlay: Option<&Overlay>) -> String {
    let all = Rect::new(0.0, 0.0, scene.width_mm, scene.height_mm);
    piece(scene, theme, overlay, all)
}

/// The same of a piece of the sheet.
fn piece(scene: &Scene, theme: Theme, overlay: Option<&Overlay>, window: Rect) -> String {
    let mut out = begin((window.w, window.h), window, theme);
    for (key, group) in &scene.groups {
        write_group(&mut out, key, group);
    }
    if let Some(overlay) = overlay {
        for shape in overlay.shapes(scene) {
            write_shape(&mut out, &shape);
        }
        out.push('\n');
    }
    out.push_str("</svg>\n");
    out
}

/// The beginning of a file of this size that shows this window.
pub(super) fn begin((wide_mm, high_mm): (f64, f64), window: Rect, theme: Theme) -> String {
    let (x, y) = (Mm(window.x), Mm(window.y));
    let (w, h) = (Mm(window.w), Mm(window.h));
    let (wide, high) = (Mm(wide_mm), Mm(high_mm));
    let from = match (window.x, window.y) {
        (0.0, 0.0) => String::new(),
        _ => format!(" x=\"{x}\" y=\"{y}\""),
    };
    let mut out = String::with_capacity(64 * 1024);
    let _ = write!(
        out,
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <svg xmlns=\"http://www.w3.org/2000/svg\" class=\"loom\" width=\"{wide}mm\" height=\"{high}mm\" \
         viewBox=\"{x} {y} {w} {h}\">\n<style>.loom{{{}}}\n{}</style>\n\
         <rect class=\"f-paper\"{from} width=\"{w}\" height=\"{h}\"/>\n",
        theme::properties(theme),
        theme::classes(),
    );
    out
}

/// A group with its key and description.
pub(super) fn write_group(out: &mut String, key: &GroupKey, group: &Group) {
    let _ = write!(out, "<g data-key=\"{}\">", escape(&key_text(key)));
    if !group.label.is_empty() {
        let _ = write!(out, "<title>{}</title>", escape(&group.label));
    }
    out.push_str(&markup(group));
    out.push_str("</g>\n");
}

/// A scene in black and white, as markup inside a page.
pub fn in_page(scene: &Scene) -> String {
    inside(&svg(scene, Theme::BlackAndWhite, None))
}

/// A part of a scene in black and white with its overlay, as markup inside a page.
pub fn piece_in_page(scene: &Scene, overlay: &Overlay, window: Rect) -> String {
    inside(&piece(scene, Theme::BlackAndWhite, Some(overlay), window))
}

pub(super) fn inside(file: &str) -> String {
    // Inside a page the XML declaration has no place.
    file.split_once("?>")
        .map_or(String::new(), |(_, svg)| svg.into())
}

/// The inside of a group, without the `<g>` around it. All text in it is escaped.
pub fn markup(group: &Group) -> String {
    let mut out = String::new();
    for shape in &group.shapes {
        write_shape(&mut out, shape);
    }
    out
}

/// A group's key as one text: `wire:w12`.
pub fn key_text(key: &GroupKey) -> String {
    match key {
        GroupKey::Frame => "frame".into(),
        GroupKey::Legend => "legend".into(),
        GroupKey::Note(index) => format!("note:{index}"),
        GroupKey::Cable(id) => format!("cable:{id}"),
        GroupKey::Wire(id) => format!("wire:{id}"),
        GroupKey::Item(id) => format!("item:{id}"),
        GroupKey::Ink => "ink".into(),
    }
}

/// A length with at most two decimals.
pub(super) struct Mm(pub f64);

impl std::fmt::Display for Mm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let rounded = (self.0 * 100.0).round() / 100.0;
        // Never "-0", never "NaN" in a file.
        let rounded = if rounded.is_finite() {
            rounded + 0.0
        } else {
            0.0
        };
        write!(f, "{rounded}")
    }
}

fn path(points: &[Point]) -> String {
    let mut d = String::new();
    for (i, p) in points.iter().enumerate() {
        let _ = write!(
            d,
            "{}{} {}",
            if i == 0 { 'M' } else { 'L' },
            Mm(p.x),
            Mm(p.y)
        );
    }
    d
}

fn stroke(ink: Ink, weight_mm: f64, dash: Dash) -> String {
    let pattern = match dash.pattern() {
        "" => String::new(),
        pattern => format!(" stroke-dasharray=\"{pattern}\" stroke-linecap=\"butt\""),
    };
    format!(
        "class=\"s-{}\" stroke-width=\"{}\"{pattern}",
        ink.class(),
        Mm(weight_mm)
    )
}

fn filled(fill: Option<Ink>, ink: Ink, weight_mm: f64, dash: Dash) -> String {
    let stroke = stroke(ink, weight_mm, dash);
    match fill {
        Some(fill) => stroke.replacen("class=\"", &format!("class=\"f-{} ", fill.class()), 1),
        None => stroke,
    }
}

pub(super) fn write_shape(out: &mut String, shape: &Shape) {
    // Writing to a String cannot fail.
    let _ = match shape {
        Shape::Line {
            points,
            ink,
            weight_mm,
            dash,
        } => {
            write!(
                out,
                "<path {} d=\"{}\"/>",
                stroke(*ink, *weight_mm, *dash),
                path(points)
            )
        }
        Shape::Area { points, fill } => {
            write!(
                out,
                "<path class=\"f-{}\" d=\"{}Z\"/>",
                fill.class(),
                path(points)
            )
        }
        Shape::Rect {
            rect,
            radius_mm,
            fill,
            ink,
            weight_mm,
            dash,
        } => write!(
            out,
            "<rect {} x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"{}\"/>",
            filled(*fill, *ink, *weight_mm, *dash),
            Mm(rect.x),
            Mm(rect.y),
            Mm(rect.w.max(0.0)),
            Mm(rect.h.max(0.0)),
            Mm(*radius_mm)
        ),
        Shape::Circle {
            centre,
            radius_mm,
            fill,
            ink,
            weight_mm,
        } => write!(
            out,
            "<circle {} cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            filled(*fill, *ink, *weight_mm, Dash::None),
            Mm(centre.x),
            Mm(centre.y),
            Mm(*radius_mm)
        ),
        Shape::Arc {
            from,
            to,
            radius_mm,
            clockwise,
            ink,
            weight_mm,
            dash,
        } => write!(
            out,
            "<path {} d=\"M{} {}A{r} {r} 0 0 {} {} {}\"/>",
            stroke(*ink, *weight_mm, *dash),
            Mm(from.x),
            Mm(from.y),
            u8::from(*clockwise),
            Mm(to.x),
            Mm(to.y),
            r = Mm(*radius_mm)
        ),
        Shape::Text {
            at,
            text,
            size_mm,
            anchor,
            ink,
            bold,
            upward,
        } => {
            let anchor = match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            };
            let turn = match upward {
                true => format!(" transform=\"rotate(-90 {} {})\"", Mm(at.x), Mm(at.y)),
                false => String::new(),
            };
            write!(
                out,
                "<text class=\"f-{}{}\" x=\"{}\" y=\"{}\" font-size=\"{}\"{anchor}{turn}>{}</text>",
                ink.class(),
                if *bold { " b" } else { "" },
                Mm(at.x),
                Mm(at.y),
                Mm(*size_mm),
                escape(text)
            )
        }
    };
}
