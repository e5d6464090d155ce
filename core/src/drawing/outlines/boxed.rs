//! A plain box with tag, title and rows of pins grouped by connector.

use super::view::{HEAD_MM, View, foot_mm, head, head_width, torn_edge};
use crate::{
    document::{Connector, ElementKind, Role, Terminal},
    drawing::{
        geometry::{Facing, LATTICE_MM, PITCH_MM, Rect, pt, snap_up},
        pen::{Outline, PLAIN_MM, THIN_MM},
        scene::{Anchor, Dash, Ink},
        text,
    },
};

/// Pins of one connector, or the loose ones, by side.
struct Block<'a> {
    connector: Option<&'a Connector>,
    left: Vec<&'a Terminal>,
    right: Vec<&'a Terminal>,
}

pub(super) fn draw(view: &View) -> Outline {
    let blocks = blocks(view);
    let widest = |side: &dyn Fn(&Block) -> f64| blocks.iter().map(side).fold(0.0, f64::max);
    let (left_mm, right_mm) = (
        widest(&|b| side_width(view, &b.left)),
        widest(&|b| side_width(view, &b.right)),
    );
    let title_mm = widest(&|b| {
        b.connector
            .map_or(0.0, |c| text::width(&title(c), text::SMALL_MM, true))
    });
    let w = snap_up((left_mm + right_mm + 4.0).max(title_mm + 2.4))
        .max(head_width(view, ""))
        .max(8.0 * LATTICE_MM);
    let h: f64 = blocks.iter().map(Block::height).sum();
    let foot = foot_mm(view, w, 2.5);

    let mut out = Outline::sized(w, HEAD_MM + h + foot);
    out.body(Rect::new(0.0, 0.0, w, out.h_mm), PLAIN_MM);
    head(&mut out, view, "");
    let mut y = HEAD_MM;
    for block in &blocks {
        if let Some(connector) = block.connector {
            out.stroke(&[pt(0.0, y), pt(w, y)], Ink::Dim, THIN_MM, Dash::None);
            let label = text::fit(&title(connector), text::SMALL_MM, true, w - 2.0);
            out.write(
                pt(w / 2.0, y + 3.3),
                &label,
                text::SMALL_MM,
                Anchor::Middle,
                Ink::Dim,
                true,
            );
            y += PITCH_MM;
        }
        let rows = block.left.len().max(block.right.len());
        for row in 0..rows {
            let at = y + LATTICE_MM + row as f64 * PITCH_MM;
            if let Some(terminal) = block.left.get(row) {
                pin(&mut out, view, terminal, at, Facing::Left);
            }
            if let Some(terminal) = block.right.get(row) {
                pin(&mut out, view, terminal, at, Facing::Right);
            }
        }
        y += rows as f64 * PITCH_MM;
    }
    torn_edge(&mut out, view);
    out
}

impl Block<'_> {
    fn height(&self) -> f64 {
        let rows = self.left.len().max(self.right.len()) as f64;
        PITCH_MM * (rows + if self.connector.is_some() { 1.0 } else { 0.0 })
    }
}

fn title(connector: &Connector) -> String {
    if connector.style.is_empty() {
        connector.label.clone()
    } else {
        format!("{} \u{b7} {}", connector.label, connector.style)
    }
}

fn blocks<'a>(view: &View<'a>) -> Vec<Block<'a>> {
    let connectors = view.device.connectors.iter().map(Some);
    std::iter::once(None)
        .chain(connectors)
        .filter_map(|connector| {
            let of = |t: &&&Terminal| match (&t.connector, connector) {
                (Some(id), Some(connector)) => *id == connector.id,
                // A terminal whose connector is not there is drawn with the loose ones.
                (Some(id), None) => view.device.connector(id).is_none(),
                (None, None) => true,
                (None, Some(_)) => false,
            };
            let pins: Vec<&Terminal> = view.shown.iter().filter(of).copied().collect();
            (!pins.is_empty()).then(|| split(connector, pins))
        })
        .collect()
}

/// Power and returns to the left, the rest to the right; a long rest is split in two so that the
/// box stays low.
fn split<'a>(connector: Option<&'a Connector>, pins: Vec<&'a Terminal>) -> Block<'a> {
    let (mut left, mut right): (Vec<_>, Vec<_>) = pins.into_iter().partition(|t| {
        matches!(
            t.role,
            Role::PowerIn | Role::Return | Role::SensorPlus | Role::SensorMinus
        )
    });
    if right.len() > left.len() + 14 {
        let keep = (right.len() - left.len()).div_ceil(2);
        left.extend(right.drain(..keep));
    } else if left.len() > right.len() + 14 {
        let keep = left.len() - (left.len() - right.len()) / 2;
        right.splice(0..0, left.drain(keep..));
    }
    Block {
        connector,
        left,
        right,
    }
}

/// Room for the sign of a tie between a pin and its label, mm.
const TIE_MM: f64 = 6.4;
/// From the pin to the middle of that sign, mm.
const TIE_AT_MM: f64 = 3.6;

fn side_width(view: &View, pins: &[&Terminal]) -> f64 {
    let label = |t: &&&Terminal| text::width(&t.label, text::PLAIN_MM, true);
    let name =
        |t: &&&Terminal| text::width(&t.name, text::SMALL_MM, false).min(34.0) + tie_mm(view, t);
    let widest = |of: &dyn Fn(&&&Terminal) -> f64| pins.iter().map(|t| of(&t)).fold(0.0, f64::max);
    if pins.is_empty() {
        return 0.0;
    }
    1.4 + widest(&label) + 1.2 + widest(&name)
}

fn pin(out: &mut Outline, view: &View, terminal: &Terminal, y: f64, facing: Facing) {
    let left = facing == Facing::Left;
    let inward = if left { 1.0 } else { -1.0 };
    let edge = if left { 0.0 } else { out.w_mm };
    let anchor = if left { Anchor::Start } else { Anchor::End };
    let label_mm = text::width(&terminal.label, text::PLAIN_MM, true);
    let tie_mm = tie_mm(view, terminal);
    let at = |mm: f64| pt(edge + inward * (tie_mm + mm), y + 0.85);
    if tie_mm > 0.0 {
        let lead = pt(edge + inward * TIE_AT_MM, y);
        out.line(&[pt(edge, y), lead]);
        super::glyphs::chassis(out, lead.moved(0.0, -0.4));
    }
    out.write(
        at(1.4),
        &terminal.label,
        text::PLAIN_MM,
        anchor,
        Ink::Label,
        true,
    );
    let name = text::fit(&terminal.name, text::SMALL_MM, false, 34.0);
    let ink = if terminal.role == Role::Spare {
        Ink::Dim
    } else {
        Ink::Label
    };
    out.write(
        at(2.4 + label_mm),
        &name,
        text::SMALL_MM,
        anchor,
        ink,
        false,
    );
    out.pin(&terminal.id, pt(edge, y), facing);
}

/// Room that a pin's sign of a tie takes, mm.
fn tie_mm(view: &View, terminal: &Terminal) -> f64 {
    if is_tied(view, terminal) { TIE_MM } else { 0.0 }
}

/// True if the terminal touches the metal its device is mounted on.
pub(super) fn is_tied(view: &View, terminal: &Terminal) -> bool {
    view.device.elements.iter().any(
        |element| matches!(&element.is, ElementKind::StructureTie(tie) if tie.terminal == terminal.id),
    )
}
