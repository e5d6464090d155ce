//! The drawing of a jack in its panel, cut open along its axis. Not to scale.

use std::fmt::Write as _;

/// Height of the drawing, mm, and of the axis.
const HIGH: f64 = 52.0;
const AXIS: f64 = 30.0;
/// Half the diameter of bushing and hole as drawn.
const BUSHING: f64 = 7.0;
const HOLE: f64 = 8.6;

/// A part: left and right edge, inner and outer half diameter, fill, and the place of its number.
type Ring = (f64, f64, f64, f64, &'static str, f64);

/// Parts around the bushing, in the order of the table.
const RINGS: [Ring; 5] = [
    (46.0, 49.0, HOLE, 15.0, INSULATION, 40.0),
    (49.0, 53.0, HOLE, 20.0, "url(#jack-panel)", 51.0),
    (53.0, 56.0, BUSHING, 15.0, INSULATION, 60.0),
    (56.0, 57.6, BUSHING, 13.0, METAL, 70.0),
    (57.6, 62.5, BUSHING, 12.0, METAL, 80.0),
];
const INSULATION: &str = "#fff";
const METAL: &str = "#ccc";

/// The drawing.
pub fn svg() -> String {
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"120mm\" height=\"{HIGH}mm\" viewBox=\"0 0 120 {HIGH}\" \
         font-family=\"sans-serif\" font-size=\"3.2\" stroke=\"#222\" stroke-width=\"0.3\"><defs><pattern id=\"jack-panel\" \
         width=\"1.6\" height=\"1.6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
         <path d=\"M0 0V1.6\" stroke=\"#222\" stroke-width=\"0.35\"/></pattern></defs>"
    );
    // The jack: its frame with three lugs behind the panel, its bushing through everything.
    let _ = write!(
        svg,
        "<rect x=\"24\" y=\"{0}\" width=\"22\" height=\"22\" fill=\"{METAL}\"/>\
         <rect x=\"46\" y=\"{1}\" width=\"24\" height=\"{2}\" fill=\"{METAL}\"/>",
        AXIS - 11.0,
        AXIS - BUSHING,
        2.0 * BUSHING,
    );
    for lug in [-7.0, 0.0, 7.0] {
        let _ = write!(
            svg,
            "<rect x=\"12\" y=\"{}\" width=\"12\" height=\"1.6\" fill=\"{METAL}\"/>",
            AXIS + lug - 0.8
        );
    }
    for (left, right, inner, outer, fill, _) in RINGS {
        for top in [AXIS - outer, AXIS + inner] {
            let _ = write!(
                svg,
                "<rect x=\"{left}\" y=\"{top}\" width=\"{}\" height=\"{}\" fill=\"{fill}\"/>",
                right - left,
                outer - inner
            );
        }
    }
    // The shoulder: part of the shoulder washer, in the hole.
    for top in [AXIS - HOLE, AXIS + BUSHING] {
        let _ = write!(
            svg,
            "<rect x=\"46\" y=\"{top}\" width=\"6\" height=\"{}\" fill=\"{INSULATION}\"/>",
            HOLE - BUSHING
        );
    }
    let _ = write!(
        svg,
        "<path d=\"M8 {AXIS}H76\" stroke-dasharray=\"4 1 1 1\" fill=\"none\"/>"
    );
    number(&mut svg, 1, (35.0, 30.0), AXIS - 9.0);
    for (at, (left, right, inner, outer, _, x)) in RINGS.into_iter().enumerate() {
        let y = AXIS - (inner + outer) / 2.0;
        number(&mut svg, at + 2, ((left + right) / 2.0, x), y);
    }
    let words = [
        (2.0, 50.5, "behind the panel: lugs"),
        (80.0, 50.5, "front: plug goes in here"),
        (80.0, AXIS - 4.0, "shoulder in the hole:"),
        (80.0, AXIS, "no metal of the jack"),
        (80.0, AXIS + 4.0, "touches the panel"),
    ];
    for (x, y, text) in words {
        let _ = write!(
            svg,
            "<text x=\"{x}\" y=\"{y}\" stroke=\"none\">{text}</text>"
        );
    }
    svg + "</svg>"
}

/// A number in a circle above the drawing, with a line to its part.
fn number(svg: &mut String, n: usize, (part, x): (f64, f64), y: f64) {
    let _ = write!(
        svg,
        "<path d=\"M{x} 7.6L{part} {y}\" fill=\"none\"/><circle cx=\"{part}\" cy=\"{y}\" r=\"0.6\" fill=\"#222\"/>\
         <circle cx=\"{x}\" cy=\"4.6\" r=\"3\" fill=\"#fff\"/><text x=\"{x}\" y=\"5.7\" text-anchor=\"middle\" \
         stroke=\"none\">{n}</text>"
    );
}
