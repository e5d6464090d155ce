//! Graphics of parts with two leads, after IEEE 315 and IEC 60617. Each is centered on a point, its leads ending
//! `HALF_MM` to the left and right.

use crate::{
    document::{Closed, ElementKind, LoadSort, ProtectorStyle},
    drawing::{
        geometry::{Point, Rect},
        pen::{Outline, PLAIN_MM, THIN_MM},
        scene::{Anchor, Dash, Ink},
        text,
    },
};

/// From the middle to the end of a lead, mm.
pub(super) const HALF_MM: f64 = 5.0;

/// Length of the lead to the sign of a chassis, mm.
pub(super) const CHASSIS_LEAD_MM: f64 = 1.0;

/// Leads from both ends up to `gap_mm` from the middle.
fn leads(out: &mut Outline, c: Point, gap_mm: f64) {
    out.line(&[c.moved(-HALF_MM, 0.0), c.moved(-gap_mm, 0.0)]);
    out.line(&[c.moved(gap_mm, 0.0), c.moved(HALF_MM, 0.0)]);
}

fn letter(out: &mut Outline, c: Point, letter: &str) {
    out.write(
        c.moved(0.0, 1.0),
        letter,
        text::TAG_MM,
        Anchor::Middle,
        Ink::Label,
        true,
    );
}

/// The graphic of an element, if it has two leads and its own graphic. `moved` opens a protector and works a
/// contact.
pub(super) fn element(out: &mut Outline, c: Point, is: &ElementKind, moved: bool) {
    match is {
        ElementKind::Protector(p) if p.style == ProtectorStyle::Breaker => breaker(out, c, moved),
        ElementKind::Protector(_) => fuse(out, c, moved),
        ElementKind::Diode(_) => diode(out, c),
        ElementKind::Load(load) => match load.sort {
            LoadSort::Motor => round(out, c, "M"),
            LoadSort::Inductive => coil(out, c),
            LoadSort::Resistive => resistor(out, c),
            LoadSort::Lamp | LoadSort::Electronic => lamp(out, c),
        },
        ElementKind::Coil(_) => coil(out, c),
        ElementKind::Contact(contact) => self::contact(out, c, contact.closed, moved),
        ElementKind::Shunt(_) => shunt(out, c),
        ElementKind::Battery(_) => battery(out, c),
        ElementKind::Alternator(_) => round(out, c, "G"),
        _ => resistor(out, c),
    }
}

/// Circuit breaker, IEEE 315 9.1.1: two contacts bridged by an arc; lifted off when pulled.
pub(super) fn breaker(out: &mut Outline, c: Point, pulled: bool) {
    leads(out, c, 2.6);
    for x in [-2.0, 2.0] {
        out.circle(c.moved(x, 0.0), 0.6, Some(Ink::Paper));
    }
    let lift = if pulled { -2.0 } else { -0.9 };
    out.arc(c.moved(-2.2, lift), c.moved(2.2, lift), 2.6, true);
    if pulled {
        out.line(&[c.moved(0.0, -2.9), c.moved(0.0, -3.6)]);
    }
}

/// Fuse, IEC 60617 07-21-01: a box with the conductor through it; empty when removed.
pub(super) fn fuse(out: &mut Outline, c: Point, pulled: bool) {
    out.rect(Rect::new(c.x - 3.0, c.y - 1.1, 6.0, 2.2), None);
    if pulled {
        leads(out, c, 3.0);
    } else {
        out.line(&[c.moved(-HALF_MM, 0.0), c.moved(HALF_MM, 0.0)]);
    }
}

/// Diode, IEC 60617 05-03-01: anode left, cathode right.
pub(super) fn diode(out: &mut Outline, c: Point) {
    out.line(&[c.moved(-HALF_MM, 0.0), c.moved(HALF_MM, 0.0)]);
    out.area(
        &[c.moved(-1.6, -1.7), c.moved(-1.6, 1.7), c.moved(1.6, 0.0)],
        Ink::Outline,
    );
    out.line(&[c.moved(1.6, -1.8), c.moved(1.6, 1.8)]);
}

/// Lamp, IEC 60617 08-10-01: a circle with a cross.
pub(super) fn lamp(out: &mut Outline, c: Point) {
    leads(out, c, 2.4);
    out.circle(c, 2.4, None);
    let d = 2.4 * std::f64::consts::FRAC_1_SQRT_2;
    out.line(&[c.moved(-d, -d), c.moved(d, d)]);
    out.line(&[c.moved(-d, d), c.moved(d, -d)]);
}

/// Rotating machine, IEC 60617 06-04-01: a circle with its letter.
pub(super) fn round(out: &mut Outline, c: Point, mark: &str) {
    leads(out, c, 2.8);
    out.circle(c, 2.8, None);
    letter(out, c, mark);
}

/// Operating coil, IEC 60617 07-15-01: a box across the leads.
pub(super) fn coil(out: &mut Outline, c: Point) {
    leads(out, c, 1.8);
    out.rect(Rect::new(c.x - 1.8, c.y - 2.4, 3.6, 4.8), None);
}

/// Contact that a coil works: IEC 60617 07-02-01 (make) and 07-02-03 (break), released, or as its coil
/// holds it.
pub(super) fn contact(out: &mut Outline, c: Point, closed: Closed, held: bool) {
    leads(out, c, 2.4);
    let tip = match (closed, held) {
        (Closed::Energised, false) => c.moved(2.2, -2.2),
        (Closed::Energised, true) => c.moved(2.4, 0.0),
        (Closed::Released, false) => c.moved(3.0, -1.0),
        (Closed::Released, true) => c.moved(2.2, -3.0),
    };
    out.line(&[c.moved(-2.4, 0.0), tip]);
    if closed == Closed::Released {
        out.line(&[c.moved(2.4, 0.0), c.moved(2.4, -1.8)]);
    }
}

/// Resistor, IEC 60617 04-01-01: a box in the line.
pub(super) fn resistor(out: &mut Outline, c: Point) {
    leads(out, c, 3.0);
    out.rect(Rect::new(c.x - 3.0, c.y - 1.1, 6.0, 2.2), None);
}

/// Shunt, after IEC 60617 04-01-10: a resistor with its two sense taps.
pub(super) fn shunt(out: &mut Outline, c: Point) {
    resistor(out, c);
    for x in [-1.5, 1.5] {
        out.line(&[c.moved(x, -1.1), c.moved(x, -2.4)]);
    }
}

/// Battery, IEC 60617 06-15-01, two cells: minus left, plus right.
pub(super) fn battery(out: &mut Outline, c: Point) {
    leads(out, c, 2.4);
    for x in [-2.4, 0.8] {
        out.line(&[c.moved(x, -1.2), c.moved(x, 1.2)]);
        out.line(&[c.moved(x + 1.6, -2.6), c.moved(x + 1.6, 2.6)]);
    }
    out.stroke(
        &[c.moved(-0.8, 0.0), c.moved(0.8, 0.0)],
        Ink::Outline,
        THIN_MM,
        Dash::Dotted,
    );
}

/// Frame or chassis, IEC 60617 02-15-04: a bar with three slanting strokes, on a lead that begins at `lead`.
pub(super) fn chassis(out: &mut Outline, lead: Point) {
    let top = lead.moved(0.0, CHASSIS_LEAD_MM);
    out.line(&[lead, top]);
    out.line(&[top.moved(-2.2, 0.0), top.moved(2.2, 0.0)]);
    for x in [-2.2, 0.0, 2.2] {
        out.stroke(
            &[top.moved(x, 0.0), top.moved(x - 1.0, 1.8)],
            Ink::Outline,
            PLAIN_MM,
            Dash::None,
        );
    }
}
