//! An in-line connector: the pins of its two halves row by row, engaged.

use super::view::{HEAD_MM, View, head, head_width, torn_edge};
use crate::{
    document::{Connector, ElementKind, Terminal},
    drawing::{
        geometry::{Facing, LATTICE_MM, PITCH_MM, Rect, pt, snap_up},
        pen::{Outline, PLAIN_MM, THIN_MM},
        scene::{Anchor, Dash, Ink},
        text,
    },
    ids::TerminalId,
};

/// Room for the two contacts between the names, mm.
const CONTACT_MM: f64 = 6.0;

/// `None` if the device has not exactly two halves.
pub(super) fn draw(view: &View) -> Option<Outline> {
    let [first, second] = view.device.connectors.as_slice() else {
        return None;
    };
    let rows = rows(view, first, second);
    if rows.is_empty() {
        return None;
    }
    let pin_mm = |t: &Terminal| {
        text::width(&t.label, text::PLAIN_MM, true)
            + 1.2
            + text::width(&t.name, text::SMALL_MM, false).min(30.0)
    };
    let widest = |so_far: f64, t: &Terminal| so_far.max(pin_mm(t));
    let left_mm = rows.iter().filter_map(|row| row.0).fold(8.0, widest);
    let right_mm = rows.iter().filter_map(|row| row.1).fold(8.0, widest);
    let labels = text::width(&first.label, text::SMALL_MM, true)
        + text::width(&second.label, text::SMALL_MM, true);
    let w = snap_up((left_mm + right_mm + CONTACT_MM + 4.0).max(labels + 6.0))
        .max(head_width(view, ""));
    let middle = (left_mm + 2.0 + CONTACT_MM / 2.0)
        .max(w / 2.0 - 10.0)
        .min(w - 6.0);
    let top = HEAD_MM + PITCH_MM;
    let height = rows.len() as f64 * PITCH_MM;
    let foot = if view.hidden > 0 { 5.0 } else { 2.5 };
    let mut out = Outline::sized(w, snap_up(top + height + foot));
    out.body(Rect::new(0.0, 0.0, w, out.h_mm), PLAIN_MM);
    head(&mut out, view, "");
    out.stroke(
        &[pt(0.0, HEAD_MM), pt(w, HEAD_MM)],
        Ink::Dim,
        THIN_MM,
        Dash::None,
    );
    for (x, anchor, connector) in [(1.4, Anchor::Start, first), (w - 1.4, Anchor::End, second)] {
        out.write(
            pt(x, HEAD_MM + 3.4),
            &connector.label,
            text::PLAIN_MM,
            anchor,
            Ink::Label,
            true,
        );
    }
    out.stroke(
        &[pt(middle, HEAD_MM), pt(middle, top + height)],
        Ink::Shield,
        THIN_MM,
        Dash::Dashed,
    );
    for (i, (left, right)) in rows.iter().enumerate() {
        let y = top + LATTICE_MM + i as f64 * PITCH_MM;
        if let Some(terminal) = left {
            // Socket of a contact, IEC 60617 03-03-01.
            out.arc(
                pt(middle + 0.6, y - 1.3),
                pt(middle + 0.6, y + 1.3),
                1.4,
                false,
            );
            half(&mut out, terminal, y, Facing::Left, middle - 0.9);
        }
        if let Some(terminal) = right {
            // Pin of a contact, IEC 60617 03-03-03.
            out.stroke(
                &[pt(middle + 0.4, y), pt(middle + 2.4, y)],
                Ink::Outline,
                0.9,
                Dash::None,
            );
            half(&mut out, terminal, y, Facing::Right, middle + 2.4);
        }
    }
    torn_edge(&mut out, view);
    Some(out)
}

/// Mated pairs in the order of the mates, then pins without a mate.
fn rows<'a>(
    view: &View<'a>,
    first: &Connector,
    second: &Connector,
) -> Vec<(Option<&'a Terminal>, Option<&'a Terminal>)> {
    let find = |id: &TerminalId| view.shown.iter().copied().find(|t| t.id == *id);
    let mates = view
        .device
        .elements
        .iter()
        .filter_map(|element| match &element.is {
            ElementKind::Mate(mate) => Some((find(&mate.a), find(&mate.b))),
            _ => None,
        });
    // The first half is at the left, whichever half the mate names first.
    let mut rows: Vec<_> = mates
        .filter(|(a, b)| a.is_some() || b.is_some())
        .map(|(a, b)| {
            let is_second =
                |t: Option<&Terminal>| t.is_some_and(|t| t.connector.as_ref() == Some(&second.id));
            if is_second(a) { (b, a) } else { (a, b) }
        })
        .collect();
    for terminal in &view.shown {
        let is_placed = rows
            .iter()
            .any(|(a, b)| [a, b].into_iter().flatten().any(|t| t.id == terminal.id));
        if !is_placed {
            let is_first = terminal.connector.as_ref() != Some(&second.id) || first.id == second.id;
            rows.push(if is_first {
                (Some(terminal), None)
            } else {
                (None, Some(terminal))
            });
        }
    }
    rows
}

fn half(out: &mut Outline, terminal: &Terminal, y: f64, facing: Facing, contact_x: f64) {
    let (edge, inward, anchor) = match facing {
        Facing::Right => (out.w_mm, -1.0, Anchor::End),
        _ => (0.0, 1.0, Anchor::Start),
    };
    let label_mm = text::width(&terminal.label, text::PLAIN_MM, true);
    let name = text::fit(&terminal.name, text::SMALL_MM, false, 30.0);
    let name_mm = text::width(&name, text::SMALL_MM, false);
    out.write(
        pt(edge + inward * 1.4, y + 0.85),
        &terminal.label,
        text::PLAIN_MM,
        anchor,
        Ink::Label,
        true,
    );
    out.text(
        pt(edge + inward * (2.4 + label_mm), y + 0.85),
        &name,
        anchor,
    );
    let text_end = edge + inward * (3.0 + label_mm + name_mm);
    if (contact_x - text_end) * inward > 0.5 {
        out.stroke(
            &[pt(text_end, y), pt(contact_x, y)],
            Ink::Dim,
            THIN_MM,
            Dash::None,
        );
    }
    out.pin(&terminal.id, pt(edge, y), facing);
}
