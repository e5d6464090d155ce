//! A point on the metal of a place: frame or chassis graphic of IEC 60617 with the place's name.

use super::glyphs;
use crate::{
    document::Place,
    drawing::{
        geometry::{Facing, LATTICE_MM, pt, snap_up},
        pen::Outline,
        scene::{Anchor, Ink},
        text,
    },
    ids::TerminalId,
};

pub(super) fn draw(place: &Place) -> Outline {
    let mut name = text::fit(&place.title, text::SMALL_MM, false, 40.0);
    match place.conductive {
        Some(true) => {}
        Some(false) => name.push_str(" (not metal)"),
        None => name.push_str(" (metal?)"),
    }
    let name_mm = text::width(&name, text::SMALL_MM, false);
    // An even number of steps, so that the pin in the middle is on the lattice.
    let w = 2.0 * snap_up((name_mm / 2.0).max(2.0 * LATTICE_MM));
    let mut out = Outline::sized(w, 4.0 * LATTICE_MM);
    let top = pt(w / 2.0, 0.0);
    let lead = top.moved(0.0, 2.5 - glyphs::CHASSIS_LEAD_MM);
    out.line(&[top, lead]);
    glyphs::chassis(&mut out, lead);
    out.write(
        pt(w / 2.0, 8.2),
        &name,
        text::SMALL_MM,
        Anchor::Middle,
        Ink::Label,
        false,
    );
    out.pins.push((TerminalId::new(""), top, Facing::Up));
    out
}
