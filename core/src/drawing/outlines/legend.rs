//! The legend of a sheet: each sign that is drawn on it, and what it means. Nothing that is not on the sheet.

use super::{glyphs, rows::link, switch};
use crate::order::Map;
use crate::{
    document::{
        Closed, DeviceKind, Document, Element, ElementKind, End, LoadSort, ProtectorStyle, Sheet,
        SheetItem, Shown, Wire,
    },
    drawing::{
        cables::is_twisted,
        geometry::{LATTICE_MM, Point, Rect, pt, snap_up},
        pen::{self, Outline, THIN_MM},
        scene::{Anchor, Dash, Ink},
        text,
    },
};

/// Height of a line, mm.
const LINE_MM: f64 = 6.0;
/// Width of the column of signs, mm.
const SIGNS_MM: f64 = 15.0;

type Draw = Box<dyn Fn(&mut Outline, Point)>;

/// The legend, at the origin; without lines if nothing is on the sheet.
pub(in crate::drawing) fn draw(document: &Document, sheet: &Sheet) -> Outline {
    let lines = lines(document, sheet);
    let widths = lines
        .keys()
        .map(|it| text::width(it, text::SMALL_MM, false));
    let w = snap_up(SIGNS_MM + widths.fold(16.0, f64::max) + 2.0);
    let mut out = Outline::sized(w, snap_up(LATTICE_MM + (lines.len() + 1) as f64 * LINE_MM));
    out.body(Rect::new(0.0, 0.0, w, out.h_mm), THIN_MM);
    let head = pt(1.2, 4.2);
    out.write(
        head,
        "Legend",
        text::PLAIN_MM,
        Anchor::Start,
        Ink::Label,
        true,
    );
    for (n, (words, sign)) in lines.iter().enumerate() {
        let at = pt(SIGNS_MM / 2.0, (n + 1) as f64 * LINE_MM + LATTICE_MM);
        sign(&mut out, at);
        out.text(pt(SIGNS_MM, at.y + 0.8), words, Anchor::Start);
    }
    out
}

/// Signs by their meaning.
fn lines(document: &Document, sheet: &Sheet) -> Map<&'static str, Draw> {
    let mut lines: Map<&'static str, Draw> = Map::new();
    for item in sheet.items.values() {
        device_lines(document, item, &mut lines);
    }
    let shown = |it: &&Wire| sheet.shows(&it.from) || sheet.shows(&it.to);
    let wires: Vec<_> = document.wires.values().filter(shown).collect();
    let mut ends: Map<&End, u32> = Map::new();
    for end in wires.iter().flat_map(|it| [&it.from, &it.to]) {
        if matches!(end, End::Terminal(..)) && sheet.shows(end) {
            *ends.or_default(end) += 1;
        }
    }
    let is_met = |by: fn(u32) -> bool| ends.values().any(|count| by(*count));
    if is_met(|wires| wires == 1) {
        lines.insert(
            "terminal, one wire",
            Box::new(|out, c| out.circle(c, 0.55, Some(Ink::Paper))),
        );
    }
    if is_met(|wires| wires > 1) {
        lines.insert(
            "terminal, two wires or more",
            Box::new(|out, c| out.shapes.push(pen::shared_pin(c))),
        );
    }
    if wires
        .iter()
        .any(|it| !sheet.shows(&it.from) || !sheet.shows(&it.to))
    {
        lines.insert(
            "goes on at that sheet and zone",
            Box::new(|out, c| {
                out.text(c.moved(0.0, 0.8), "\u{2192} sheet 2 C4", Anchor::Middle);
            }),
        );
    }
    if wires.iter().any(|it| it.fuse.is_some()) {
        lines.insert("fuse", Box::new(|out, c| glyphs::fuse(out, c, false)));
    }
    for cable in document.cables.values() {
        let mut cores = cable.wires.iter().filter_map(|id| document.wires.get(id));
        if !cores.any(|it| shown(&it)) {
            continue;
        }
        if cable.shield.is_some() {
            lines.insert("shield around these wires", Box::new(oval));
        }
        if is_twisted(cable) {
            lines.insert(
                "twisted together",
                Box::new(|out, c| {
                    for line in twisted(c) {
                        out.stroke(&line, Ink::Shield, 0.35, Dash::None);
                    }
                }),
            );
        }
    }
    lines
}

fn device_lines(document: &Document, item: &SheetItem, lines: &mut Map<&'static str, Draw>) {
    let (device, terminals) = match &item.shows {
        Shown::Device {
            device, terminals, ..
        } => (device, terminals),
        Shown::Splice(_) => {
            lines.insert(
                "splice",
                Box::new(|out, c| out.circle(c, 0.8, Some(Ink::Metal))),
            );
            return;
        }
        Shown::Structure(_) => {
            lines.insert(
                "metal of the aircraft",
                Box::new(|out, c| glyphs::chassis(out, c.moved(0.0, -1.5))),
            );
            return;
        }
    };
    let Some(device) = document.devices.get(device) else {
        return;
    };
    if !terminals.is_empty() && terminals.len() < device.terminals.len() {
        lines.insert("more of it on other sheets", Box::new(torn));
    }
    // Other kinds are drawn as boxes.
    let has_signs = !matches!(
        device.kind,
        DeviceKind::Unit
            | DeviceKind::Sensor
            | DeviceKind::Antenna
            | DeviceKind::Jack
            | DeviceKind::InlineConnector
    );
    for element in &device.elements {
        if let ElementKind::StructureTie(_) = &element.is {
            lines.insert(
                "case on metal",
                Box::new(|out, c| glyphs::chassis(out, c.moved(0.0, -1.5))),
            );
        }
        if has_signs {
            element_lines(element, lines);
        }
    }
}

fn element_lines(element: &Element, lines: &mut Map<&'static str, Draw>) {
    let words = match &element.is {
        ElementKind::Protector(it) if it.style == ProtectorStyle::Breaker => "circuit breaker",
        ElementKind::Protector(_) => "fuse",
        ElementKind::Diode(_) => "diode, cathode right",
        ElementKind::Load(it) => match it.sort {
            LoadSort::Motor => "motor",
            LoadSort::Inductive => "coil",
            LoadSort::Resistive => "resistor",
            LoadSort::Lamp | LoadSort::Electronic => "lamp or other load",
        },
        ElementKind::Coil(_) => "coil",
        ElementKind::Contact(it) if it.closed == Closed::Released => "contact, closed at rest",
        ElementKind::Contact(_) => "contact, open at rest",
        ElementKind::Shunt(_) => "shunt",
        ElementKind::Battery(_) => "battery, plus right",
        ElementKind::Alternator(_) => "alternator",
        ElementKind::Resistor(_) => "resistor",
        ElementKind::Switch(it) => {
            if switch::is_button(it) {
                lines.insert(
                    "push button, springs back",
                    Box::new(|out, c| {
                        ends(out, c);
                        switch::bridge(out, c.moved(-3.2, 0.0), c.moved(3.2, 0.0), 0.7);
                    }),
                );
            } else {
                lines.insert(
                    "switch",
                    Box::new(|out, c| {
                        ends(out, c);
                        let lever = [c.moved(-3.2, 0.0), c.moved(2.2, -2.0)];
                        out.stroke(&lever, Ink::Outline, 0.6, Dash::None);
                    }),
                );
            }
            let poles = it.positions.iter().map(|it| it.joins.len()).max();
            if poles > Some(1) {
                moves_together(lines);
            }
            return;
        }
        _ => return,
    };
    if let ElementKind::Coil(_) = &element.is {
        moves_together(lines);
    }
    let is = element.is.clone();
    lines.insert(
        words,
        Box::new(move |out, c| glyphs::element(out, c, &is, false)),
    );
}

fn moves_together(lines: &mut Map<&'static str, Draw>) {
    lines.insert(
        "moves together",
        Box::new(|out, c| {
            link(out, &[c.moved(-5.0, 0.0), c.moved(5.0, 0.0)]);
        }),
    );
}

/// The two contacts of a switch.
fn ends(out: &mut Outline, c: Point) {
    for x in [-3.2, 3.2] {
        out.circle(c.moved(x, 0.0), 0.6, Some(Ink::Paper));
    }
}

fn oval(out: &mut Outline, c: Point) {
    for y in [-1.0, 1.0] {
        out.line(&[c.moved(-5.0, y), c.moved(5.0, y)]);
    }
    out.shapes.push(crate::drawing::cables::oval(Rect::new(
        c.x - 1.6,
        c.y - 2.2,
        3.2,
        4.4,
    )));
}

/// Two wires with the stroke across them.
fn twisted(c: Point) -> [Vec<Point>; 3] {
    let level = |y: f64| vec![c.moved(-5.0, y), c.moved(5.0, y)];
    let stroke = vec![
        c.moved(-0.4, -2.2),
        c.moved(0.8, -1.8),
        c.moved(-0.8, 1.8),
        c.moved(0.4, 2.2),
    ];
    [level(-1.0), level(1.0), stroke]
}

fn torn(out: &mut Outline, c: Point) {
    let zigzag: Vec<Point> = (0..=6)
        .map(|n| {
            c.moved(
                -5.0 + f64::from(n) * 10.0 / 6.0,
                if n % 2 == 0 { 0.5 } else { -0.4 },
            )
        })
        .collect();
    out.stroke(&zigzag, Ink::Outline, THIN_MM, Dash::None);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{exchange, ids::SheetId};

    fn words(sheet: &str) -> Vec<&'static str> {
        let file = include_bytes!("../../../../public/samples/sorrel.json");
        let document = exchange::open(file).expect("the sample opens").document;
        let sheet = &document.sheets[&SheetId::new(sheet)];
        lines(&document, sheet).keys().copied().collect()
    }

    #[test]
    fn a_legend_names_what_is_on_its_sheet_and_nothing_else() {
        let headsets = words("12-headsets");
        for wanted in [
            "shield around these wires",
            "push button, springs back",
            "terminal, one wire",
        ] {
            assert!(headsets.contains(&wanted), "{wanted}: {headsets:?}");
        }
        for not_there in ["motor", "diode, cathode right", "circuit breaker"] {
            assert!(!headsets.contains(&not_there), "{not_there}: {headsets:?}");
        }
        assert!(words("02-main-bus").contains(&"circuit breaker"));
        assert!(words("14-data").contains(&"twisted together"));
    }
}
