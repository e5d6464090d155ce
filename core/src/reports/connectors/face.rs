//! Both faces of a connector: the rear, where the wires go in, and the mating side. A D-sub in its two rows, other
//! connectors as a plain grid.

use std::fmt::Write as _;

use crate::{
    document::{Connector, Contacts},
    markup::escape,
};

/// Cavities of a D-sub connector, and how many are in its longer row (IEC 60807 pattern, from memory).
const D_SUB: [(usize, usize); 4] = [(9, 5), (15, 8), (25, 13), (37, 19)];
/// From one cavity to the next, mm.
const STEP: f64 = 9.0;
/// Height of a caption, mm, and the space between two faces.
const CAPTION: f64 = 5.0;
const BETWEEN: f64 = 6.0;
/// The widest pair of faces side by side, mm; wider ones are drawn one above the other.
const WIDEST: f64 = 180.0;

/// "15-way D-sub": 15.
pub fn ways(style: &str) -> Option<usize> {
    style.split("-way").next()?.trim().parse().ok()
}

/// The drawing. Cavities by label, and whether each is wired.
pub fn svg(connector: &Connector, cavities: &[(&str, bool)]) -> String {
    let ways = ways(&connector.style);
    let first_row = ways
        .filter(|_| connector.style.contains("D-sub"))
        .and_then(|ways| D_SUB.iter().find(|(size, _)| *size == ways));
    let count = ways.unwrap_or(cavities.len()).max(1);
    let columns = first_row.map_or(count.min(10), |(_, columns)| *columns);
    let face = Face {
        cavities,
        count,
        columns,
        is_d_sub: first_row.is_some(),
        width: STEP * columns as f64 + 6.0,
        height: STEP * count.div_ceil(columns) as f64 + 6.0,
    };
    // Seen from the rear, cavity 1 of a half with sockets is at the left.
    let has_pins = connector.contacts == Some(Contacts::Pins);
    let is_beside = 2.0 * face.width + BETWEEN <= WIDEST;
    let one = face.height + CAPTION;
    let (wide, high, second) = match is_beside {
        true => (2.0 * face.width + BETWEEN, one, (face.width + BETWEEN, 0.0)),
        false => (face.width, 2.0 * one + 2.0, (0.0, one + 2.0)),
    };
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" height=\"{high}mm\" \
         viewBox=\"0 0 {wide} {high}\" font-family=\"sans-serif\" font-size=\"3.2\" \
         text-anchor=\"middle\" stroke=\"currentColor\" stroke-width=\"0.3\">"
    );
    let partner = match connector.contacts {
        Some(Contacts::Sockets) => "front: mating side, sockets",
        Some(Contacts::Pins) => "front: mating side, pins",
        None => "front: mating side",
    };
    face.draw(&mut svg, (0.0, 0.0), has_pins, "rear: wires go in here");
    face.draw(&mut svg, second, !has_pins, partner);
    svg + "</svg>"
}

struct Face<'a> {
    cavities: &'a [(&'a str, bool)],
    count: usize,
    columns: usize,
    is_d_sub: bool,
    width: f64,
    height: f64,
}

impl Face<'_> {
    /// One face at a place; `is_mirrored` with cavity 1 at the right.
    fn draw(&self, svg: &mut String, (left, top): (f64, f64), is_mirrored: bool, caption: &str) {
        let (width, height) = (self.width, self.height);
        let slant = if self.is_d_sub { 4.0 } else { 0.0 };
        let _ = write!(
            svg,
            "<g transform=\"translate({left} {top})\"><text x=\"1\" y=\"3.6\" text-anchor=\"start\" fill=\"currentColor\" \
             stroke=\"none\">{caption}</text><g transform=\"translate(0 {CAPTION})\">\
             <path d=\"M1 1H{0}L{1} {2}H{3}Z\" fill=\"none\" stroke-linejoin=\"round\"/>",
            width - 1.0,
            width - 1.0 - slant,
            height - 1.0,
            1.0 + slant
        );
        for at in 0..self.count {
            let (row, column) = (at / self.columns, at % self.columns);
            let indent = if self.is_d_sub && row == 1 { 0.5 } else { 0.0 };
            let x = 3.0 + STEP * (column as f64 + 0.5 + indent);
            let x = if is_mirrored { width - x } else { x };
            let y = 3.0 + STEP * (row as f64 + 0.5);
            let number = (at + 1).to_string();
            let found = match self.is_d_sub {
                true => self.cavities.iter().find(|it| it.0 == number),
                false => self.cavities.get(at),
            };
            let label = found.map_or(number.as_str(), |it| it.0);
            let (fill, ink) = match found.is_some_and(|it| it.1) {
                true => ("#222", "#fff"),
                false => ("none", "currentColor"),
            };
            let _ = write!(
                svg,
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"3.4\" fill=\"{fill}\"/><text x=\"{x}\" y=\"{}\" \
                 fill=\"{ink}\" stroke=\"none\">{}</text>",
                y + 1.1,
                escape(label)
            );
        }
        svg.push_str("</g></g>");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The x of the first cavity on the rear face and on the mating face.
    fn first(contacts: Option<Contacts>) -> [f64; 2] {
        let mut connector = Connector::called("j".into(), "J1");
        connector.style = "9-way D-sub".into();
        connector.contacts = contacts;
        let svg = svg(&connector, &[("1", true)]);
        let mut faces = svg.split("rear: ").nth(1).expect("a rear").split("front: ");
        let mut x = || -> f64 {
            let face = faces.next().expect("a face");
            let text = face.split("<circle cx=\"").nth(1).expect("a cavity");
            text.split('"')
                .next()
                .unwrap_or_default()
                .parse()
                .expect("a number")
        };
        [x(), x()]
    }

    /// The mating side is the mirror image of the rear, and a half with pins that of one with sockets.
    #[test]
    fn the_faces_are_mirror_images() {
        let sockets = first(Some(Contacts::Sockets));
        let pins = first(Some(Contacts::Pins));
        assert!(sockets[0] < 10.0 && sockets[1] > 40.0, "{sockets:?}");
        assert_eq!([sockets[1], sockets[0]], pins);
        assert_eq!(first(None), sockets);
    }

    #[test]
    fn wide_connectors_have_their_faces_one_above_the_other() {
        let mut connector = Connector::called("j".into(), "J1");
        for (style, is_beside) in [("15-way D-sub", true), ("37-way D-sub", false)] {
            connector.style = style.into();
            let svg = svg(&connector, &[]);
            let side = |name: &str| -> f64 {
                let value = svg.split(&format!(" {name}=\"")).nth(1);
                let value = value.and_then(|it| it.split("mm").next());
                value.expect("it").parse().expect("a number")
            };
            assert_eq!(side("height") < 40.0, is_beside, "{svg}");
            assert!(side("width") <= WIDEST, "{svg}");
        }
    }
}
