//! A ground block: a bar with its tabs and studs.

use super::{
    boxed, glyphs,
    view::{HEAD_MM, View, foot_mm, head, head_width, torn_edge},
};
use crate::drawing::{
    geometry::{Facing, LATTICE_MM, PITCH_MM, Rect, pt, snap_up},
    pen::{Outline, THIN_MM},
    scene::{Anchor, Ink},
    text,
};

pub(super) fn draw(view: &View) -> Option<Outline> {
    if view.shown.is_empty() {
        return None;
    }
    let label = |t: &&&crate::document::Terminal| {
        if t.name.is_empty() || t.name == t.label {
            t.label.clone()
        } else {
            format!("{} {}", t.label, t.name)
        }
    };
    let widest = view
        .shown
        .iter()
        .map(|t| text::width(&label(&t), text::SMALL_MM, false))
        .fold(0.0, f64::max);
    let w = snap_up(widest.min(40.0) + 8.0)
        .max(head_width(view, ""))
        .max(17.5);
    let rows = view.shown.len() as f64 * PITCH_MM;
    let is_bolted = view
        .device
        .elements
        .iter()
        .any(|e| matches!(e.is, crate::document::ElementKind::StructureTie(_)));
    let foot = foot_mm(view, w, if is_bolted { 5.0 } else { 2.5 });
    let mut out = Outline::sized(w, snap_up(HEAD_MM + rows + foot));
    out.body(Rect::new(0.0, 0.0, w, out.h_mm), THIN_MM);
    head(&mut out, view, "");
    out.rect(Rect::new(3.0, HEAD_MM, 1.8, rows), Some(Ink::Metal));
    for (i, terminal) in view.shown.iter().enumerate() {
        let y = HEAD_MM + LATTICE_MM + i as f64 * PITCH_MM;
        out.line(&[pt(0.0, y), pt(3.0, y)]);
        let text = text::fit(&label(&terminal), text::SMALL_MM, false, w - 7.0);
        out.text(pt(6.0, y + 0.8), &text, Anchor::Start);
        out.pin(&terminal.id, pt(0.0, y), Facing::Left);
        if boxed::is_tied(view, terminal) {
            glyphs::chassis(&mut out, pt(3.9, HEAD_MM + rows));
        }
    }
    torn_edge(&mut out, view);
    Some(out)
}
