//! A splice: a dot with its label.

use crate::{
    document::Splice,
    drawing::{
        geometry::{Facing, LATTICE_MM, pt},
        pen::Outline,
        scene::{Anchor, Ink},
        text,
    },
    ids::TerminalId,
};

pub(super) fn draw(splice: &Splice) -> Outline {
    let mut out = Outline::sized(2.0 * LATTICE_MM, 2.0 * LATTICE_MM);
    let middle = pt(LATTICE_MM, LATTICE_MM);
    out.circle(middle, 1.0, Some(Ink::Metal));
    out.write(
        middle.moved(1.4, -1.6),
        &splice.label,
        text::SMALL_MM,
        Anchor::Start,
        Ink::Label,
        true,
    );
    // Wires come from any side: the direction of this pin is ignored.
    out.pins.push((TerminalId::new(""), middle, Facing::Left));
    out
}
