//! Switches: commons at the left, throws at the right, a lever for each pole, and the link between the poles. All
//! switches of a device are drawn, and of a device that shows some of its terminals the poles that have one of those.

use super::{
    rows::link,
    view::{HEAD_MM, View, foot_mm, head, head_width, torn_edge},
};
use crate::order::{InOrder, Map, Sorted};
use crate::{
    document::{Element, ElementKind, Switch, SwitchPosition, Terminal},
    drawing::{
        geometry::{Facing, LATTICE_MM, PITCH_MM, Point, Rect, pt, snap_up},
        pen::{Outline, THIN_MM},
        scene::{Anchor, Dash, Ink},
        text,
    },
    ids::TerminalId,
};

/// From the middle to a contact, mm.
const REACH_MM: f64 = 3.2;
/// Width of a lever or bridge, mm.
const LEVER_MM: f64 = 0.6;
/// Distance between lines of the table of positions, mm.
const LINE_MM: f64 = 2.75;

/// A switch of the device, as it is now.
struct Part<'a> {
    element: &'a Element,
    switch: &'a Switch,
    position: Option<&'a SwitchPosition>,
    commons: Sorted<TerminalId>,
    poles: Vec<Pole<'a>>,
}

struct Pole<'a> {
    left: Vec<&'a Terminal>,
    right: Vec<&'a Terminal>,
}

impl Pole<'_> {
    fn rows(&self) -> usize {
        self.left.len().max(self.right.len())
    }
}

/// `None` if the device has no switch in it.
pub(super) fn draw(view: &View) -> Option<Outline> {
    let mut left_over = view.shown.clone();
    let shared = shared(view);
    let part = |element| part(view, element, &shared, &mut left_over);
    let mut parts: Vec<Part> = view.device.elements.iter().filter_map(part).collect();
    if view.shown.is_empty() {
        return None;
    }
    if !left_over.is_empty() {
        let right = left_over.split_off(left_over.len().div_ceil(2));
        let left = left_over;
        parts.last_mut()?.poles.push(Pole { left, right });
    }

    let half = view
        .shown
        .iter()
        .map(|t| text::width(&t.label, text::SMALL_MM, false))
        .fold(2.0, f64::max);
    let foot = foot(&parts);
    let table: Vec<String> = parts.iter().flat_map(|part| table(view, part)).collect();
    let texts = table
        .iter()
        .map(|it| text::width(it, text::SMALL_MM, false));
    let texts_mm = texts.fold(text::width(&foot, text::SMALL_MM, true), f64::max) + 2.4;
    let w = snap_up((2.0 * half + 14.0).max(texts_mm.min(60.0))).max(head_width(view, ""));
    let rows: usize = parts.iter().flat_map(|it| &it.poles).map(Pole::rows).sum();
    let rows_mm = rows as f64 * PITCH_MM;
    let torn_mm = foot_mm(view, w, 0.0);
    let table_mm = table.len() as f64 * LINE_MM;
    let mut out = Outline::sized(w, snap_up(HEAD_MM + rows_mm + 5.0 + table_mm + torn_mm));
    out.body(Rect::new(0.0, 0.0, w, out.h_mm), THIN_MM);
    head(&mut out, view, "");

    let mut pins = Pins {
        view,
        placed: Map::new(),
    };
    let mut y = HEAD_MM + LATTICE_MM;
    for part in &parts {
        y = draw_part(&mut out, &mut pins, part, y);
    }
    let foot_y = y - LATTICE_MM + 3.5;
    let mut say = |at_y: f64, what: &str, bold: bool| {
        let said = text::fit(what, text::SMALL_MM, bold, w - 2.0);
        let ink = if bold { Ink::Label } else { Ink::Dim };
        let at = pt(w / 2.0, at_y);
        out.write(at, &said, text::SMALL_MM, Anchor::Middle, ink, bold);
    };
    say(foot_y, &foot, true);
    for (n, line) in table.iter().enumerate() {
        say(foot_y + (n + 1) as f64 * LINE_MM, line, false);
    }
    torn_edge(&mut out, view);
    Some(out)
}

/// A switch with the poles that show a terminal; takes these from what is left over.
fn part<'a>(
    view: &View<'a>,
    element: &'a Element,
    shared: &Sorted<TerminalId>,
    left_over: &mut Vec<&'a Terminal>,
) -> Option<Part<'a>> {
    let ElementKind::Switch(switch) = &element.is else {
        return None;
    };
    let commons = commons(switch, shared);
    let poles = poles(view, switch, &commons, left_over);
    let at = view.position(&element.id).unwrap_or(switch.rest);
    Some(Part {
        element,
        switch,
        position: switch.positions.get(at),
        commons,
        poles,
    })
}

/// The positions that the switches are in, in words.
fn foot(parts: &[Part]) -> String {
    let now = |part: &Part| part.position.map(|it| it.label.clone());
    let mut all: Vec<String> = parts.iter().filter_map(now).collect();
    all.dedup();
    match all.as_slice() {
        [] => String::new(),
        [same] => format!("at {same}"),
        _ => {
            let each = parts.iter().filter_map(|part| {
                let label = Some(&part.element.label).filter(|it| !it.is_empty());
                Some([label?.as_str(), part.position?.label.as_str()].join(" "))
            });
            format!("at {}", each.collect::<Vec<_>>().join(", "))
        }
    }
}

/// What each position joins, of a switch with three positions or more.
fn table(view: &View, part: &Part) -> Vec<String> {
    if part.switch.positions.len() < 3 || view.hidden > 0 {
        return Vec::new();
    }
    let label = |id: &TerminalId| {
        let terminal = view.device.terminal(id);
        terminal.map_or(id.as_str().to_owned(), |it| it.label.clone())
    };
    let line = |position: &SwitchPosition| {
        let joins = position.joins.iter();
        let joins: Vec<String> = joins
            .map(|[a, b]| format!("{}-{}", label(a), label(b)))
            .collect();
        let joins = if joins.is_empty() {
            "open".into()
        } else {
            joins.join(" ")
        };
        let back = if position.springs_back {
            ", springs back"
        } else {
            ""
        };
        format!("{}: {joins}{back}", position.label)
    };
    part.switch.positions.iter().map(line).collect()
}

/// The poles of a switch from this height on; returns the height below them.
fn draw_part<'a>(out: &mut Outline, pins: &mut Pins<'a, '_>, part: &Part<'a>, y: f64) -> f64 {
    let mut spots: Map<&TerminalId, Point> = Map::new();
    let mut y = y;
    for pole in &part.poles {
        // A single common is next to the middle of its throws, on the lattice.
        let offset = (pole.rows() - pole.left.len()) / 2;
        for (i, terminal) in pole.left.iter().enumerate() {
            let at = y + (offset + i) as f64 * PITCH_MM;
            spots.insert(&terminal.id, pins.contact(out, terminal, at, Facing::Left));
        }
        for (i, terminal) in pole.right.iter().enumerate() {
            let at = y + i as f64 * PITCH_MM;
            spots.insert(&terminal.id, pins.contact(out, terminal, at, Facing::Right));
        }
        y += pole.rows() as f64 * PITCH_MM;
    }
    let joins = part.position.map_or(&[][..], |it| &it.joins);
    let is_button = is_button(part.switch);
    let mut linked: Vec<Point> = Vec::new();
    for [a, b] in joins {
        if let (Some(a), Some(b)) = (spots.get(a), spots.get(b)) {
            if is_button {
                linked.push(bridge(out, *a, *b, 0.0));
            } else {
                out.stroke(&[*a, *b], Ink::Outline, LEVER_MM, Dash::None);
                linked.push(pt(a.x.midpoint(b.x), a.y.midpoint(b.y)));
            }
        }
    }
    for common in &part.commons {
        // A throw on another sheet is not drawn: from the others the lever is away.
        let is_met = |[a, b]: &&[TerminalId; 2]| spots.contains_key(a) && spots.contains_key(b);
        let is_joined = joins.iter().filter(is_met).flatten().any(|it| it == common);
        let (false, Some(at)) = (is_joined, spots.get(common)) else {
            continue;
        };
        let along = if at.x < out.w_mm / 2.0 { 1.0 } else { -1.0 };
        if is_button {
            linked.push(bridge(out, *at, at.moved(along * 2.0 * REACH_MM, 0.0), 0.7));
        } else {
            let tip = at.moved(along * 5.4, -2.0);
            out.stroke(&[*at, tip], Ink::Outline, LEVER_MM, Dash::None);
            linked.push(pt(at.x.midpoint(tip.x), at.y - 1.0));
        }
    }
    linked.order_by(|a, b| a.y.total_cmp(&b.y));
    if part.poles.len() < part.commons.len() {
        // Another pole is on another sheet.
        linked.push(pt(out.w_mm / 2.0, y - LATTICE_MM + 1.0));
    }
    if linked.len() > 1 {
        link(out, &linked);
    }
    y
}

/// True if it is pressed, not thrown: two positions, and it springs back from the other one.
pub(super) fn is_button(switch: &Switch) -> bool {
    let mut others = (switch.positions.iter().enumerate()).filter(|(n, _)| *n != switch.rest);
    switch.positions.len() == 2 && others.all(|(_, it)| it.springs_back)
}

/// Push button, after IEEE 315 4.5: a bridge over two contacts, lifted by so much, on a stem. Returns its middle.
pub(super) fn bridge(out: &mut Outline, a: Point, b: Point, lift_mm: f64) -> Point {
    let [a, b] = [a, b].map(|it| it.moved(0.0, -0.6 - lift_mm));
    out.stroke(&[a, b], Ink::Outline, LEVER_MM, Dash::None);
    let middle = pt(a.x.midpoint(b.x), a.y);
    let top = middle.moved(0.0, -0.8);
    out.line(&[middle, top]);
    out.line(&[top.moved(-0.8, 0.0), top.moved(0.8, 0.0)]);
    middle
}

/// Terminals that several switches of the device have.
fn shared(view: &View) -> Sorted<TerminalId> {
    let mut seen = Sorted::new();
    let mut shared = Sorted::new();
    for element in &view.device.elements {
        let ElementKind::Switch(switch) = &element.is else {
            continue;
        };
        let joins = switch.positions.iter().flat_map(|it| &it.joins);
        let of: Sorted<&TerminalId> = joins.flatten().collect();
        shared.extend(
            of.iter()
                .filter(|id| seen.contains(**id))
                .map(|id| (*id).clone()),
        );
        seen.extend(of);
    }
    shared
}

/// Of every group of terminals that the positions join, the one that other switches have too, or else the one that
/// meets most others.
fn commons(switch: &Switch, shared: &Sorted<TerminalId>) -> Sorted<TerminalId> {
    let mut meets: Map<&TerminalId, Sorted<&TerminalId>> = Map::new();
    for [a, b] in switch.positions.iter().flat_map(|p| &p.joins) {
        meets.or_default(a).insert(b);
        meets.or_default(b).insert(a);
    }
    let first = switch
        .positions
        .iter()
        .flat_map(|p| &p.joins)
        .map(|[a, _]| a);
    let mut commons = Sorted::new();
    let mut seen = Sorted::new();
    for start in first {
        if seen.contains(start) {
            continue;
        }
        let (mut group, mut open) = (Vec::new(), vec![start]);
        while let Some(terminal) = open.pop() {
            if seen.insert(terminal) {
                group.push(terminal);
                open.extend(meets[terminal].iter());
            }
        }
        // On a tie the first met, which is the first named, wins.
        let weight = |t: &TerminalId| (shared.contains(t), meets[t].len());
        let most = group.iter().map(|t| weight(t)).max();
        let common = group.into_iter().find(|t| Some(weight(t)) == most);
        commons.extend(common.cloned());
    }
    commons
}

/// Terminals by pole, as far as they are shown; throws are taken from what is left over, and so are commons, unless
/// another switch of the device has the same one.
fn poles<'a>(
    view: &View<'a>,
    switch: &Switch,
    commons: &Sorted<TerminalId>,
    left_over: &mut Vec<&'a Terminal>,
) -> Vec<Pole<'a>> {
    let joins = || switch.positions.iter().flat_map(|p| &p.joins);
    let mut poles = Vec::new();
    for common in commons {
        let mut members = Sorted::from([common]);
        for _ in 0..view.device.terminals.len() {
            for [a, b] in joins() {
                if members.contains(a) || members.contains(b) {
                    members.extend([a, b]);
                }
            }
        }
        let is_throw = |t: &&Terminal| t.id != *common && members.contains(&t.id);
        let left: Vec<&Terminal> = view.device.terminal(common).into_iter().collect();
        let right: Vec<&Terminal> = left_over.iter().copied().filter(is_throw).collect();
        left_over.retain(|t| !members.contains(&t.id));
        if view.shows(common) || !right.is_empty() {
            poles.push(Pole { left, right });
        }
    }
    let of = |pole: &Pole| {
        let mut all = pole.left.iter().chain(&pole.right);
        let is_of = |t: &&Terminal| all.any(|it| it.id == t.id);
        view.shown.iter().position(is_of)
    };
    poles.order_by_key(of);
    poles
}

/// Where pins were brought so far.
struct Pins<'a, 'v> {
    view: &'v View<'a>,
    /// The lead of each terminal: where it ends.
    placed: Map<&'a TerminalId, Point>,
}

impl<'a> Pins<'a, '_> {
    /// Pin, lead and contact of a terminal; returns the contact. A terminal that an earlier switch has too gets a
    /// lead from there.
    fn contact(
        &mut self,
        out: &mut Outline,
        terminal: &'a Terminal,
        y: f64,
        facing: Facing,
    ) -> Point {
        let (edge, inward, anchor) = match facing {
            Facing::Right => (out.w_mm, -1.0, Anchor::End),
            _ => (0.0, 1.0, Anchor::Start),
        };
        let at = pt(out.w_mm / 2.0 - inward * REACH_MM, y);
        if let Some(earlier) = self.placed.insert(&terminal.id, at) {
            let lane = at.x - inward * 2.0;
            out.line(&[pt(lane, earlier.y), pt(lane, y), at]);
            out.circle(pt(lane, earlier.y), 0.5, Some(Ink::Metal));
        } else if !self.view.shows(&terminal.id) {
            // It is on another sheet: the lead ends inside.
            out.line(&[at.moved(-inward * 2.0, 0.0), at]);
        } else {
            out.line(&[pt(edge, y), at]);
            out.text(pt(edge + inward * 1.2, y - 0.7), &terminal.label, anchor);
            out.pin(&terminal.id, pt(edge, y), facing);
        }
        out.circle(at, 0.6, Some(Ink::Paper));
        at
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        document::{Document, Shown},
        exchange,
        ids::{ItemId, SheetId},
    };

    fn sorrel() -> Document {
        let file = include_bytes!("../../../../public/samples/sorrel.json");
        exchange::open(file).expect("the sample opens").document
    }

    /// The outline of a switch that shows these terminals, or all.
    fn outline(device: &str, terminals: &[&str]) -> Outline {
        let document = sorrel();
        let sheet = &document.sheets[&SheetId::new("06-master")];
        let mut item = sheet.items[&ItemId::new("s1")].clone();
        if let Shown::Device {
            device: it,
            terminals: shown,
            ..
        } = &mut item.shows
        {
            *it = device.into();
            *shown = terminals.iter().map(|id| TerminalId::new(*id)).collect();
        }
        crate::drawing::outlines::outline(&document, &item, None).expect("it is in the sample")
    }

    /// Levers and bridges.
    fn levers(outline: &Outline) -> usize {
        let heavy = |shape: &&crate::drawing::scene::Shape| matches!(shape, crate::drawing::scene::Shape::Line { weight_mm, .. } if *weight_mm == LEVER_MM);
        outline.shapes.iter().filter(heavy).count()
    }

    fn links(outline: &Outline) -> usize {
        let dashed = |shape: &&crate::drawing::scene::Shape| {
            matches!(
                shape,
                crate::drawing::scene::Shape::Line {
                    dash: Dash::Dashed,
                    ..
                }
            )
        };
        outline.shapes.iter().filter(dashed).count()
    }

    #[test]
    fn two_poles_have_two_levers_and_a_link() {
        let whole = outline("s1", &[]);
        assert_eq!((levers(&whole), links(&whole)), (2, 1));
        assert_eq!(whole.pins.len(), 4);
    }

    #[test]
    fn a_pole_on_another_sheet_leaves_its_link() {
        let part = outline("s1", &["1", "2"]);
        assert_eq!((levers(&part), links(&part)), (1, 1));
        assert_eq!(part.pins.len(), 2);
        let one = outline("s1", &["2"]);
        assert_eq!(
            levers(&one),
            1,
            "the contact is drawn though its other side is elsewhere"
        );
        assert_eq!(one.pins.len(), 1);
    }

    #[test]
    fn every_switch_of_a_grip_is_drawn_and_none_is_linked_to_another() {
        let grip = outline("grip1", &[]);
        assert_eq!((levers(&grip), links(&grip)), (3, 0));
        assert_eq!(grip.pins.len(), 5, "each terminal once");
    }
}
