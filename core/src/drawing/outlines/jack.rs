//! A jack: tip, ring and sleeve as springs toward the plug, the bushing at the right (after IEEE 315 5.2). The
//! remark says whether the body is grounded to the metal it is mounted in.

use super::{
    glyphs,
    view::{HEAD_MM, View, head, head_width},
};
use crate::{
    document::{ElementKind, Jack, Terminal},
    drawing::{
        geometry::{Facing, LATTICE_MM, PITCH_MM, Rect, pt, snap_up},
        pen::{Outline, THIN_MM},
        scene::{Anchor, Ink},
        text,
    },
};

/// `None` if the device has no jack in it, or does not show all of it.
pub(super) fn draw(view: &View) -> Option<Outline> {
    let jack = view
        .device
        .elements
        .iter()
        .find_map(|element| match &element.is {
            ElementKind::Jack(jack) => Some(jack),
            _ => None,
        })?;
    if view.hidden > 0 || view.device.terminal(&jack.sleeve).is_none() {
        return None;
    }
    let names = view
        .shown
        .iter()
        .map(|t| text::width(name(t, jack), text::SMALL_MM, false));
    let left_mm = 1.6 + names.fold(0.0, f64::max);
    let w = snap_up(left_mm + 13.0).max(head_width(view, ""));
    let rows = view.shown.len() as f64;
    let mut out = Outline::sized(w, snap_up(HEAD_MM + rows * PITCH_MM + 5.0));
    out.body(Rect::new(0.0, 0.0, w, out.h_mm), THIN_MM);
    head(&mut out, view, "");
    let bushing = Rect::new(w - 4.0, HEAD_MM, 2.0, rows * PITCH_MM);
    out.rect(bushing, None);
    for (i, terminal) in view.shown.iter().enumerate() {
        let y = HEAD_MM + LATTICE_MM + i as f64 * PITCH_MM;
        out.text(pt(1.4, y + 0.8), name(terminal, jack), Anchor::Start);
        let from = left_mm + 0.8;
        if terminal.id == jack.sleeve {
            out.line(&[pt(from, y), pt(bushing.x, y)]);
        } else {
            // The ring's spring is shorter than the tip's.
            let reach = if jack.tip.as_ref() == Some(&terminal.id) {
                6.5
            } else {
                4.5
            };
            let x = (from + reach).min(bushing.x - 1.2);
            out.line(&[
                pt(from, y),
                pt(x - 1.6, y),
                pt(x - 0.6, y + 1.3),
                pt(x + 0.4, y),
            ]);
        }
        out.pin(&terminal.id, pt(0.0, y), Facing::Left);
    }
    let foot = pt(1.4, out.h_mm - 1.4);
    let (says, ink) = match jack.isolated {
        Some(true) => ("body insulated", Ink::Dim),
        Some(false) => ("on metal", Ink::Label),
        None => ("insulated?", Ink::Label),
    };
    if jack.isolated == Some(false) {
        glyphs::chassis(&mut out, pt(w - 3.0, bushing.bottom()));
    }
    out.write(foot, says, text::SMALL_MM, Anchor::Start, ink, false);
    Some(out)
}

fn name<'a>(terminal: &'a Terminal, jack: &Jack) -> &'a str {
    if !terminal.label.is_empty() {
        &terminal.label
    } else if jack.tip.as_ref() == Some(&terminal.id) {
        "tip"
    } else if jack.ring.as_ref() == Some(&terminal.id) {
        "ring"
    } else {
        &terminal.name
    }
}
