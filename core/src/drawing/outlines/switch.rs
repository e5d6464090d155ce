//! A switch, drawn in its position: common terminals at the left, throws at the right, blades
//! between them (contacts of IEC 60617 07-02). Poles are found from what the positions join.

use super::view::{HEAD_MM, View, head, head_width};
use crate::order::{Map, Sorted};
use crate::{
    document::{ElementKind, Switch, Terminal},
    drawing::{
        geometry::{Facing, LATTICE_MM, PITCH_MM, Rect, pt, snap_up},
        pen::{Outline, THIN_MM},
        scene::{Anchor, Dash, Ink},
        text,
    },
    ids::TerminalId,
};

/// `None` if the device has no switch in it, or does not show all of it.
pub(super) fn draw(view: &View) -> Option<Outline> {
    let (element, switch) = view
        .device
        .elements
        .iter()
        .find_map(|element| match &element.is {
            ElementKind::Switch(switch) => Some((element, switch)),
            _ => None,
        })?;
    if view.hidden > 0 || view.shown.is_empty() {
        return None;
    }
    let stands = view.position(&element.id).unwrap_or(switch.rest);
    let position = switch.positions.get(stands);
    let commons = commons(switch);
    let poles = poles(view, switch, &commons);

    let half = view
        .shown
        .iter()
        .map(|t| text::width(&t.label, text::SMALL_MM, false))
        .fold(2.0, f64::max);
    let foot = position.map_or(String::new(), |p| format!("at {}", p.label));
    let foot_mm = text::width(&foot, text::SMALL_MM, false) + 2.4;
    let w = snap_up((2.0 * half + 14.0).max(foot_mm)).max(head_width(view, ""));
    let rows: usize = poles.iter().map(Pole::rows).sum();
    let mut out = Outline::sized(w, snap_up(HEAD_MM + rows as f64 * PITCH_MM + 5.0));
    out.body(Rect::new(0.0, 0.0, w, out.h_mm), THIN_MM);
    head(&mut out, view, "");

    let mut spots = Map::new();
    let mut y = HEAD_MM + LATTICE_MM;
    for pole in &poles {
        let top = y;
        // A single common is next to the middle of its throws, on the lattice.
        let offset = (pole.rows() - pole.left.len()) / 2;
        for (i, terminal) in pole.left.iter().enumerate() {
            let at = top + (offset + i) as f64 * PITCH_MM;
            spots.insert(&terminal.id, contact(&mut out, terminal, at, Facing::Left));
        }
        for (i, terminal) in pole.right.iter().enumerate() {
            let at = top + i as f64 * PITCH_MM;
            spots.insert(&terminal.id, contact(&mut out, terminal, at, Facing::Right));
        }
        y = top + pole.rows() as f64 * PITCH_MM;
    }
    let joins = position.map_or(&[][..], |p| &p.joins);
    for [a, b] in joins {
        if let (Some(a), Some(b)) = (spots.get(a), spots.get(b)) {
            out.stroke(&[*a, *b], Ink::Outline, 0.6, Dash::None);
        }
    }
    for common in &commons {
        let is_joined = joins.iter().flatten().any(|t| t == common);
        if let (false, Some(at)) = (is_joined, spots.get(common)) {
            let along = if at.x < w / 2.0 { 1.0 } else { -1.0 };
            out.stroke(
                &[*at, at.moved(along * 5.4, -2.0)],
                Ink::Outline,
                0.6,
                Dash::None,
            );
        }
    }
    out.write(
        pt(w / 2.0, out.h_mm - 1.5),
        &foot,
        text::SMALL_MM,
        Anchor::Middle,
        Ink::Label,
        true,
    );
    Some(out)
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

/// Of every group of terminals that the positions join, the one that meets most others.
fn commons(switch: &Switch) -> Sorted<TerminalId> {
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
        let most = group.iter().map(|t| meets[*t].len()).max();
        commons.extend(
            group
                .into_iter()
                .find(|t| Some(meets[*t].len()) == most)
                .cloned(),
        );
    }
    commons
}

/// Terminals by pole; those the switch never joins make a pole of their own.
fn poles<'a>(view: &View<'a>, switch: &Switch, commons: &Sorted<TerminalId>) -> Vec<Pole<'a>> {
    let joins = || switch.positions.iter().flat_map(|p| &p.joins);
    let mut left_over: Vec<&Terminal> = view.shown.clone();
    let mut poles = Vec::new();
    for common in view.shown.iter().filter(|t| commons.contains(&t.id)) {
        let mut members = Sorted::from([&common.id]);
        for _ in 0..view.shown.len() {
            for [a, b] in joins() {
                if members.contains(a) || members.contains(b) {
                    members.extend([a, b]);
                }
            }
        }
        let right: Vec<&Terminal> = left_over
            .iter()
            .copied()
            .filter(|t| t.id != common.id && members.contains(&t.id))
            .collect();
        left_over.retain(|t| !members.contains(&t.id));
        poles.push(Pole {
            left: vec![common],
            right,
        });
    }
    if !left_over.is_empty() {
        let right = left_over.split_off(left_over.len().div_ceil(2));
        poles.push(Pole {
            left: left_over,
            right,
        });
    }
    poles
}

/// Pin, lead and contact point of a terminal; returns the contact point.
fn contact(
    out: &mut Outline,
    terminal: &Terminal,
    y: f64,
    facing: Facing,
) -> crate::drawing::geometry::Point {
    let (edge, inward, anchor) = match facing {
        Facing::Right => (out.w_mm, -1.0, Anchor::End),
        _ => (0.0, 1.0, Anchor::Start),
    };
    let at = pt(out.w_mm / 2.0 - inward * 3.2, y);
    out.line(&[pt(edge, y), at]);
    out.circle(at, 0.6, Some(Ink::Paper));
    out.text(pt(edge + inward * 1.2, y - 0.7), &terminal.label, anchor);
    out.pin(&terminal.id, pt(edge, y), facing);
    at
}
