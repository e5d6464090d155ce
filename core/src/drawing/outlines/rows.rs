//! Small parts drawn by their contents: one row for each part with two leads, its graphic between its terminals.

use super::{
    boxed, glyphs,
    view::{HEAD_MM, View, foot_mm, head, head_width, torn_edge},
};
use crate::order::{InOrder, Map};
use crate::{
    document::{Element, ElementKind, Role, Terminal},
    drawing::{
        geometry::{Facing, LATTICE_MM, PITCH_MM, Point, Rect, pt, snap_up},
        pen::{Outline, THIN_MM},
        scene::{Anchor, Dash, Ink},
        text,
    },
    ids::{ElementId, TerminalId},
};

/// An element with the terminals it is drawn between.
struct Row<'a> {
    element: &'a Element,
    left: &'a TerminalId,
    right: &'a TerminalId,
}

/// `None` if the device has nothing to draw as rows. Of a device that shows some of its terminals, the parts that
/// have one of those are drawn, and the link to what works them runs off at the jagged edge.
pub(super) fn draw(view: &View) -> Option<Outline> {
    let is_shown = |row: &Row| view.shows(row.left) || view.shows(row.right);
    let rows: Vec<Row> = view.device.elements.iter().filter_map(row).collect();
    let rows: Vec<Row> = rows.into_iter().filter(is_shown).collect();
    let sides = sides(&rows)?;
    if rows.is_empty() || sides.keys().any(|id| view.device.terminal(id).is_none()) {
        return None;
    }
    let rest: Vec<&Terminal> = view
        .shown
        .iter()
        .copied()
        .filter(|terminal| !sides.contains_key(&terminal.id))
        .collect();
    let (rest_left, rest_right): (Vec<_>, Vec<_>) = rest
        .into_iter()
        .partition(|t| !matches!(t.role, Role::PowerOut));
    let remark = match rows.as_slice() {
        [only] => value(only.element),
        _ => String::new(),
    };
    let several = rows.len() > 1;

    let label_mm = view
        .shown
        .iter()
        .map(|t| label_width(t))
        .fold(3.5, f64::max);
    let lanes = lanes(&rows, label_mm);
    let lanes_mm = lanes.values().copied().fold(label_mm, f64::max) + 1.6;
    let w = snap_up(2.0 * (lanes_mm + glyphs::HALF_MM)).max(head_width(view, &remark));
    let pitch = if several {
        2.0 * PITCH_MM
    } else {
        1.5 * PITCH_MM
    };
    let extra = rest_left.len().max(rest_right.len()) as f64 * PITCH_MM;
    let foot = foot_mm(view, w, 0.0);
    let h = HEAD_MM + rows.len() as f64 * pitch + extra + foot;
    let mut out = Outline::sized(w, snap_up(h));
    out.body(Rect::new(0.0, 0.0, w, out.h_mm), THIN_MM);
    head(&mut out, view, &remark);

    let mut placed = Placed {
        lanes,
        at: Map::new(),
    };
    let mut relays: Map<&ElementId, Relay> = Map::new();
    for (i, row) in rows.iter().enumerate() {
        let y = HEAD_MM + LATTICE_MM + i as f64 * pitch;
        let c = pt(w / 2.0, y);
        glyphs::element(&mut out, c, &row.element.is, view.is_moved(row.element));
        end(&mut out, view, &mut placed, row.left, Facing::Left, y);
        end(&mut out, view, &mut placed, row.right, Facing::Right, y);
        if several {
            let text = [row.element.label.as_str(), &value(row.element)].join(" ");
            let text = text::fit(&text, text::SMALL_MM, false, w - 6.0);
            out.text(c.moved(0.0, 5.0), &text, Anchor::Middle);
        }
        match &row.element.is {
            ElementKind::Coil(_) => relays.or_default(&row.element.id).coil = Some(y),
            ElementKind::Contact(it) => relays.or_default(&it.coil).contacts.push(y),
            _ => {}
        }
    }
    let is_alone = relays.len() == 1;
    for (n, relay) in relays.values().enumerate() {
        let lane = if is_alone { 0.4 } else { 3.6 + 1.1 * n as f64 };
        let end = (view.hidden > 0).then_some(out.h_mm - foot);
        draw_link(&mut out, relay, w / 2.0 + lane, end);
    }
    let top =
        HEAD_MM + rows.len() as f64 * pitch + LATTICE_MM - if several { 0.0 } else { LATTICE_MM };
    for (facing, list) in [(Facing::Left, rest_left), (Facing::Right, rest_right)] {
        for (i, terminal) in list.into_iter().enumerate() {
            end(
                &mut out,
                view,
                &mut placed,
                &terminal.id,
                facing,
                snap_up(top + i as f64 * PITCH_MM),
            );
        }
    }
    torn_edge(&mut out, view);
    Some(out)
}

/// A coil and the contacts it works, by their heights, as far as they are shown.
#[derive(Default)]
struct Relay {
    coil: Option<f64>,
    contacts: Vec<f64>,
}

/// The link by which a coil works its contacts, along a lane; what is on another sheet is beyond the end of the box,
/// if it has one.
fn draw_link(out: &mut Outline, relay: &Relay, lane: f64, end: Option<f64>) {
    let middle = out.w_mm / 2.0 + 0.4;
    let coil = relay.coil.map(|y| pt(middle, y + 2.4));
    let contacts = relay.contacts.iter().map(|y| pt(middle, y - 1.0));
    let mut all: Vec<Point> = coil.into_iter().chain(contacts).collect();
    all.order_by(|a, b| a.y.total_cmp(&b.y));
    let (Some(first), Some(last)) = (all.first().copied(), all.last().copied()) else {
        return;
    };
    let is_cut = relay.coil.is_none() || relay.contacts.is_empty();
    let bottom = end.filter(|_| is_cut).unwrap_or(last.y);
    link(out, &[pt(lane, first.y), pt(lane, bottom)]);
    if lane > middle {
        for at in all {
            link(out, &[at, pt(lane, at.y)]);
        }
    }
}

/// A link by which parts move together, IEC 60617 02-12-01.
pub(super) fn link(out: &mut Outline, points: &[Point]) {
    out.stroke(points, Ink::Shield, THIN_MM, Dash::Dashed);
}

/// Where pins were brought so far.
struct Placed<'a> {
    /// For a terminal of several rows, the line that joins them: distance from the edge, mm.
    lanes: Map<&'a TerminalId, f64>,
    /// Row where each terminal was met last, mm from the top.
    at: Map<&'a TerminalId, f64>,
}

/// A separate line for each terminal that several rows share, inside of the labels, so that two terminals never
/// look connected.
fn lanes<'a>(rows: &[Row<'a>], label_mm: f64) -> Map<&'a TerminalId, f64> {
    let mut lanes = Map::new();
    for side in [|row: &Row<'a>| row.left, |row: &Row<'a>| row.right] {
        let mut used = 0.0;
        for terminal in rows.iter().map(side) {
            let n = rows.iter().filter(|row| side(row) == terminal).count();
            if n > 1 && !lanes.contains_key(terminal) {
                lanes.insert(terminal, label_mm + 2.0 + 1.4 * used);
                used += 1.0;
            }
        }
    }
    lanes
}

fn row(element: &Element) -> Option<Row<'_>> {
    let (left, right) = match &element.is {
        ElementKind::Protector(p) => (&p.line, &p.load),
        ElementKind::Diode(d) => (&d.anode, &d.cathode),
        ElementKind::Load(l) => (&l.plus, &l.minus),
        ElementKind::Coil(c) => (&c.a, &c.b),
        ElementKind::Contact(c) => (&c.a, &c.b),
        ElementKind::Shunt(s) => (&s.a, &s.b),
        ElementKind::Resistor(r) => (&r.a, &r.b),
        ElementKind::OverVoltage(o) => (&o.plus, &o.minus),
        ElementKind::Battery(b) => (&b.minus, &b.plus),
        ElementKind::Alternator(a) => (&a.minus, &a.plus),
        _ => return None,
    };
    (left != right).then_some(Row {
        element,
        left,
        right,
    })
}

/// The side each terminal is on; turns a row about if its terminals are on the other sides
/// already. `None` if that does not go up.
fn sides<'a>(rows: &[Row<'a>]) -> Option<Map<&'a TerminalId, Facing>> {
    let mut sides = Map::new();
    for row in rows {
        for (terminal, facing) in [(row.left, Facing::Left), (row.right, Facing::Right)] {
            if sides
                .insert(terminal, facing)
                .is_some_and(|before| before != facing)
            {
                return None;
            }
        }
    }
    Some(sides)
}

/// Rating or resistance, in words.
pub(super) fn value(element: &Element) -> String {
    match &element.is {
        ElementKind::Protector(p) => crate::drawing::text::amps(p.rating_a),
        ElementKind::Resistor(r) => format!("{} \u{3a9}", r.ohm),
        ElementKind::Battery(b) => b.capacity_ah.map_or(String::new(), |ah| format!("{ah} Ah")),
        ElementKind::Alternator(a) => format!("{} A", a.limit_a),
        ElementKind::OverVoltage(o) => o.trip_v.map_or(String::new(), |v| format!("{v} V")),
        _ => String::new(),
    }
}

fn label_width(terminal: &Terminal) -> f64 {
    text::width(mark(terminal), text::SMALL_MM, false).min(16.0)
}

/// The text at a terminal: its mark, or its name if it has no mark.
fn mark(terminal: &Terminal) -> &str {
    if terminal.label.is_empty() {
        &terminal.name
    } else {
        &terminal.label
    }
}

/// Brings one lead of a row to its terminal: a new pin on the edge, or a joint to the pin it
/// shares with an earlier row.
fn end<'a>(
    out: &mut Outline,
    view: &View,
    placed: &mut Placed<'a>,
    terminal: &'a TerminalId,
    facing: Facing,
    y: f64,
) {
    let (edge, inward, anchor) = match facing {
        Facing::Right => (out.w_mm, -1.0, Anchor::End),
        _ => (0.0, 1.0, Anchor::Start),
    };
    let lead = pt(out.w_mm / 2.0 - inward * glyphs::HALF_MM, y);
    if let Some(earlier) = placed.at.insert(terminal, y) {
        let lane_mm = placed.lanes.get(terminal).copied().unwrap_or(1.6);
        let x = edge + inward * lane_mm;
        out.line(&[pt(x, earlier), pt(x, y), lead]);
        out.circle(pt(x, earlier), 0.5, Some(Ink::Metal));
        return;
    }
    let Some(record) = view.shown.iter().find(|it| it.id == *terminal) else {
        // Its terminal is on another sheet: the lead ends inside.
        out.line(&[lead, lead.moved(-inward * 1.5, 0.0)]);
        return;
    };
    let in_row = view
        .device
        .elements
        .iter()
        .filter_map(row)
        .any(|r| r.left == terminal || r.right == terminal);
    let stop = if in_row {
        lead
    } else {
        pt(edge + inward * 2.0, y)
    };
    out.line(&[pt(edge, y), stop]);
    let label = text::fit(mark(record), text::SMALL_MM, false, 16.0);
    out.text(pt(edge + inward * 1.2, y - 0.7), &label, anchor);
    if boxed::is_tied(view, record) {
        glyphs::chassis(out, pt(edge + inward * 4.0, y));
    }
    out.pin(terminal, pt(edge, y), facing);
}
