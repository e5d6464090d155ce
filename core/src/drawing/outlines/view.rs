//! A device as one item shows it, and what every outline of one has: tag and title at the top, and a jagged edge if
//! the device has more pins on other sheets.

use crate::{
    document::{Device, Element, ElementKind, Terminal},
    drawing::{
        geometry::{LATTICE_MM, Point, pt, snap_up},
        pen::{Outline, THIN_MM},
        phase::Phase,
        scene::{Anchor, Dash, Ink},
        text,
    },
    ids::{DeviceId, ElementId, TerminalId},
};

/// A device as one item shows it.
pub(super) struct View<'a> {
    /// The device.
    pub device: &'a Device,
    /// Its key.
    pub id: &'a DeviceId,
    /// The terminals shown, in the order of the item, or else of the device.
    pub shown: Vec<&'a Terminal>,
    /// How many terminals are not shown.
    pub hidden: usize,
    /// The sheets that show some of those, by number.
    pub elsewhere: Vec<u32>,
    /// The phase it is drawn in; at rest if none.
    pub phase: Option<&'a Phase>,
}

impl View<'_> {
    fn key(&self, element: &ElementId) -> String {
        format!("{}/{element}", self.id)
    }

    /// True if an element is not in its rest position: a protector pulled, a contact worked by its coil.
    pub fn is_moved(&self, element: &Element) -> bool {
        let Some(phase) = self.phase else {
            return false;
        };
        match &element.is {
            ElementKind::Protector(_) => phase.state.pulled.contains(&self.key(&element.id)),
            ElementKind::Contact(it) => phase.energised.contains(&self.key(&it.coil)),
            _ => false,
        }
    }

    /// The position of a switch in the phase drawn, if the phase names it.
    pub fn position(&self, element: &ElementId) -> Option<usize> {
        let switches = &self.phase?.state.switches;
        switches.get(&self.key(element)).copied()
    }

    /// True if this terminal is shown.
    pub fn shows(&self, terminal: &TerminalId) -> bool {
        self.shown.iter().any(|it| it.id == *terminal)
    }

    /// How many pins are not shown, and which sheets show some of them.
    pub fn more(&self) -> String {
        match self.hidden {
            0 => String::new(),
            n if self.elsewhere.is_empty() => format!("+{n} on no sheet"),
            n => {
                let sheets: Vec<String> = self.elsewhere.iter().map(u32::to_string).collect();
                let word = if sheets.len() == 1 { "sheet" } else { "sheets" };
                format!("+{n} on {word} {}", sheets.join(", "))
            }
        }
    }
}

/// Height of tag and title together, mm.
pub(super) const HEAD_MM: f64 = 7.5;

/// Width that tag, title and remark take, mm. Longer titles are cut at 45 mm.
pub(super) fn head_width(view: &View, remark: &str) -> f64 {
    let tag = text::width(&view.device.tag, text::TAG_MM, true);
    let remark = text::width(remark, text::PLAIN_MM, false);
    let title = text::width(&view.device.title, text::SMALL_MM, false).min(45.0);
    snap_up((tag + 2.0 + remark).max(title) + 2.4)
}

/// Tag, title, and a remark at the right.
pub(super) fn head(out: &mut Outline, view: &View, remark: &str) {
    let (w, device) = (out.w_mm, view.device);
    let remark_mm = text::width(remark, text::PLAIN_MM, false);
    let tag = text::fit(&device.tag, text::TAG_MM, true, w - 2.4 - remark_mm);
    out.write(
        pt(1.2, 3.4),
        &tag,
        text::TAG_MM,
        Anchor::Start,
        Ink::Label,
        true,
    );
    out.write(
        pt(w - 1.2, 3.4),
        remark,
        text::PLAIN_MM,
        Anchor::End,
        Ink::Label,
        false,
    );
    let title = text::fit(&device.title, text::SMALL_MM, false, w - 2.4);
    out.write(
        pt(1.2, 6.3),
        &title,
        text::SMALL_MM,
        Anchor::Start,
        Ink::Dim,
        false,
    );
}

/// A jagged edge along the bottom: the device has more pins on other sheets.
pub(super) fn torn_edge(out: &mut Outline, view: &View) {
    if view.hidden == 0 {
        return;
    }
    let (w, h) = (out.w_mm, out.h_mm);
    out.stroke(&[pt(0.0, h), pt(w, h)], Ink::Body, 0.8, Dash::None);
    let n = ((w / 4.0).ceil() * 2.0).max(2.0);
    let zigzag: Vec<Point> = (0..=n as usize)
        .map(|i| pt(w * i as f64 / n, h - if i % 2 == 0 { 0.0 } else { 0.9 }))
        .collect();
    out.stroke(&zigzag, Ink::Outline, THIN_MM, Dash::None);
    let lines = more(view, w);
    for (n, line) in lines.iter().rev().enumerate() {
        let at = pt(w / 2.0, h - 1.5 - n as f64 * LATTICE_MM);
        let line = text::fit(line, text::SMALL_MM, false, w - 2.0);
        out.write(at, &line, text::SMALL_MM, Anchor::Middle, Ink::Dim, false);
    }
}

/// Room below the last pin of a device so wide, mm: for the jagged edge, if there is one, or else so much.
pub(super) fn foot_mm(view: &View, w: f64, whole_mm: f64) -> f64 {
    match more(view, w).len() {
        0 => whole_mm,
        lines => 2.5 + lines as f64 * LATTICE_MM,
    }
}

/// The text at the jagged edge, in one line or two.
fn more(view: &View, w: f64) -> Vec<String> {
    let text = view.more();
    if text.is_empty() {
        return Vec::new();
    }
    let fits = |line: &str| text::width(line, text::SMALL_MM, false) <= w - 2.0;
    let breaks = text.rmatch_indices(' ').map(|(at, _)| text.split_at(at));
    let two = breaks.into_iter().find(|(first, _)| fits(first));
    match two {
        Some((first, second)) if !fits(&text) => vec![first.into(), second.trim().into()],
        _ => vec![text],
    }
}
