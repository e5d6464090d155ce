//! A bus: a bar with its studs at the left and its breakers or fuses in a column at the right, each with label,
//! rating and what it feeds.

use super::{
    glyphs, rows,
    view::{HEAD_MM, View, foot_mm, head, head_width, torn_edge},
};
use crate::order::InOrder;
use crate::{
    document::{Element, ElementKind, Protector, Terminal},
    drawing::{
        geometry::{Facing, LATTICE_MM, PITCH_MM, Rect, pt, snap_up},
        pen::{Outline, THIN_MM},
        scene::{Anchor, Ink},
        text,
    },
};

/// Distance between breakers, mm.
const ROW_MM: f64 = 1.5 * PITCH_MM;
/// Position of the bar, mm from the left edge.
const BAR_MM: f64 = 7.5;
/// Where the graphic ends and the text begins.
const TEXT_MM: f64 = BAR_MM + 1.5 + 2.0 * glyphs::HALF_MM;

struct Feed<'a> {
    element: &'a Element,
    terminal: &'a Terminal,
}

/// `None` if none of the terminals shown belongs to the bar or to a protector on it.
pub(super) fn draw(view: &View) -> Option<Outline> {
    let mut feeds: Vec<Feed> = view
        .device
        .elements
        .iter()
        .filter_map(|e| feed(view, e))
        .collect();
    if view.hidden > 0 {
        let of = |feed: &Feed| view.shown.iter().position(|t| t.id == feed.terminal.id);
        feeds.order_by_key(of);
    }
    let studs: Vec<&Terminal> = view
        .shown
        .iter()
        .copied()
        .filter(|t| !feeds.iter().any(|feed| feed.terminal.id == t.id))
        .collect();
    if view.shown.is_empty() {
        return None;
    }
    let (first, second) = (
        feeds
            .iter()
            .map(|f| text::width(&heading(f), text::PLAIN_MM, true))
            .fold(0.0, f64::max),
        feeds
            .iter()
            .map(|f| text::width(&f.terminal.name, text::SMALL_MM, false))
            .fold(0.0, f64::max),
    );
    let stud_mm = studs
        .iter()
        .map(|t| text::width(&t.label, text::SMALL_MM, false))
        .fold(0.0, f64::max);
    let feeds_mm = if feeds.is_empty() {
        0.0
    } else {
        TEXT_MM - BAR_MM + first.max(second.min(40.0)) + 3.0
    };
    let w = snap_up((BAR_MM + feeds_mm).max(BAR_MM + 3.0 + stud_mm))
        .max(head_width(view, ""))
        .max(20.0);
    let rows = (feeds.len() as f64 * ROW_MM).max(studs.len() as f64 * PITCH_MM);
    let foot = foot_mm(view, w, 2.5);
    let h = snap_up(HEAD_MM + rows + foot);

    let mut out = Outline::sized(w, h);
    out.body(Rect::new(0.0, 0.0, w, h), THIN_MM);
    head(&mut out, view, "");
    out.rect(Rect::new(BAR_MM, HEAD_MM, 1.5, rows), Some(Ink::Metal));
    for (i, feed) in feeds.iter().enumerate() {
        let y = HEAD_MM + PITCH_MM + i as f64 * ROW_MM;
        let c = pt(BAR_MM + 1.5 + glyphs::HALF_MM, y);
        glyphs::element(&mut out, c, &feed.element.is, view.is_moved(feed.element));
        out.line(&[pt(TEXT_MM, y), pt(w, y)]);
        let at = pt(TEXT_MM + 0.6, y - 0.8);
        out.write(
            at,
            &heading(feed),
            text::PLAIN_MM,
            Anchor::Start,
            Ink::Label,
            true,
        );
        let name = text::fit(
            &feed.terminal.name,
            text::SMALL_MM,
            false,
            w - TEXT_MM - 2.0,
        );
        let below = at.moved(0.0, 3.3);
        if name != feed.element.label {
            out.write(below, &name, text::SMALL_MM, Anchor::Start, Ink::Dim, false);
        }
        out.pin(&feed.terminal.id, pt(w, y), Facing::Right);
    }
    for (i, stud) in studs.iter().enumerate() {
        let y = HEAD_MM + LATTICE_MM + i as f64 * PITCH_MM;
        out.line(&[pt(0.0, y), pt(BAR_MM, y)]);
        let label = text::fit(
            &stud.label,
            text::SMALL_MM,
            false,
            if feeds.is_empty() {
                w - BAR_MM - 2.5
            } else {
                6.7
            },
        );
        let at = if feeds.is_empty() {
            pt(BAR_MM + 2.2, y + 0.8)
        } else {
            pt(0.9, y - 0.7)
        };
        out.text(at, &label, Anchor::Start);
        out.pin(&stud.id, pt(0.0, y), Facing::Left);
    }
    torn_edge(&mut out, view);
    Some(out)
}

/// A protector whose protected side is shown.
fn feed<'a>(view: &View<'a>, element: &'a Element) -> Option<Feed<'a>> {
    let ElementKind::Protector(Protector { load, .. }) = &element.is else {
        return None;
    };
    let terminal = view.shown.iter().find(|t| t.id == *load)?;
    Some(Feed { element, terminal })
}

fn heading(feed: &Feed) -> String {
    let label = if feed.element.label.is_empty() {
        &feed.terminal.label
    } else {
        &feed.element.label
    };
    format!("{label} {}", rows::value(feed.element))
}
