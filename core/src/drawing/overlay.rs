//! What lies over a sheet: flags at records that a check speaks of, and wires that are live.
//! Whoever knows the findings and the solved volts hands them in; this file knows only where.

use super::{
    geometry::{Point, Rect, pt},
    scene::{Anchor, Dash, GroupKey, Ink, Scene, Shape},
    text,
};
use crate::order::{self, Map};
use crate::{
    document::End,
    ids::{CableId, DeviceId, PlaceId, SpliceId, TerminalId, WireId},
};

/// How bad a flag is; its shape tells it without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FlagLevel {
    /// An eight-sided flag.
    Hazard,
    /// A square on its corner.
    Fault,
    /// A triangle.
    Caution,
    /// A circle.
    Note,
}

/// A record, or a terminal of one, that a flag stands at.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FlagAt {
    /// A terminal of a device.
    Terminal(DeviceId, TerminalId),
    /// A device.
    Device(DeviceId),
    /// A wire.
    Wire(WireId),
    /// A cable.
    Cable(CableId),
    /// A splice.
    Splice(SpliceId),
    /// A point on the metal of a place.
    Place(PlaceId),
}

/// A flag with its number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flag {
    /// Where.
    pub at: FlagAt,
    /// How bad.
    pub level: FlagLevel,
    /// The number in the list of findings.
    pub number: usize,
}

/// A flag where it is painted.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedFlag {
    /// Its middle.
    pub at: Point,
    /// Its place in the list given.
    pub index: usize,
    /// What to paint.
    pub shapes: Vec<Shape>,
}

/// What lies over a sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Overlay {
    /// Flags; those that stand nowhere on this sheet are left out.
    pub flags: Vec<Flag>,
    /// Wires that are live, with their volts.
    pub live_v: Map<WireId, f64>,
}

/// How far a live wire's edge stands out on each side, mm.
pub(super) const LIVE_EDGE_MM: f64 = 0.3;

/// Half the size of a flag, mm.
const FLAG_MM: f64 = 2.4;

impl Overlay {
    /// Everything to paint over the scene, in order.
    pub fn shapes(&self, scene: &Scene) -> Vec<Shape> {
        let live = self
            .live_v
            .iter()
            .flat_map(|(wire, volts)| live(scene, wire, *volts));
        let flags = self
            .placed_flags(scene)
            .into_iter()
            .flat_map(|flag| flag.shapes);
        live.chain(flags).collect()
    }

    /// The flags of this sheet, worst last so that it lies on top. Flags that would cover each
    /// other stand side by side.
    pub fn placed_flags(&self, scene: &Scene) -> Vec<PlacedFlag> {
        let mut order: Vec<usize> = (0..self.flags.len()).collect();
        order::sort_by_key(&mut order, |i| {
            std::cmp::Reverse((self.flags[*i].level, self.flags[*i].number))
        });
        let mut placed: Vec<PlacedFlag> = Vec::new();
        for index in order {
            let flag = &self.flags[index];
            for mut at in spots(scene, &flag.at) {
                // Ends: each step moves on by a flag, and there are finitely many flags.
                while placed
                    .iter()
                    .any(|other| other.at.distance(at) < 1.8 * FLAG_MM)
                {
                    at = at.moved(2.0 * FLAG_MM, 0.0);
                }
                let shapes = flag_shapes(at, flag.level, flag.number);
                placed.push(PlacedFlag { at, index, shapes });
            }
        }
        placed
    }
}

/// Where a flag stands: at each place the record is shown.
fn spots(scene: &Scene, at: &FlagAt) -> Vec<Point> {
    let pins = |end: &End| -> Vec<Point> {
        let found = scene.pins.values().filter(|pin| pin.end == *end);
        found
            .map(|pin| pin.at.ahead(pin.facing, 2.6).moved(0.0, -2.6))
            .collect()
    };
    let group = |key: &GroupKey| scene.groups.get(key).map(|group| group.bounds);
    match at {
        FlagAt::Terminal(device, terminal) => {
            pins(&End::Terminal(device.clone(), terminal.clone()))
        }
        FlagAt::Splice(splice) => pins(&End::Splice(splice.clone())),
        FlagAt::Place(place) => pins(&End::Structure(place.clone())),
        FlagAt::Device(device) => {
            let corner = |rect: &Rect| pt(rect.right() - 1.0, rect.y - 1.0);
            let mut items: Vec<_> = scene
                .pins
                .iter()
                .filter(|(_, pin)| pin.end.device() == Some(device))
                .map(|((item, _), _)| item)
                .collect();
            items.dedup();
            items
                .into_iter()
                .filter_map(|item| scene.boxes.get(item))
                .map(corner)
                .collect()
        }
        FlagAt::Wire(wire) => {
            let paths = scene.paths.get(wire).into_iter().flatten();
            paths
                .filter_map(|path| longest_middle(path))
                .take(1)
                .collect()
        }
        FlagAt::Cable(cable) => {
            let bounds = group(&GroupKey::Cable(cable.clone()));
            bounds.map(|rect| pt(rect.x, rect.y)).into_iter().collect()
        }
    }
}

/// The longest piece of a path.
fn longest_piece(path: &[Point]) -> Option<(Point, Point)> {
    let pieces = path.windows(2).map(|w| (w[0].distance(w[1]), w[0], w[1]));
    let longest = pieces.reduce(|a, b| if b.0 > a.0 { b } else { a })?;
    Some((longest.1, longest.2))
}

/// The middle of the longest piece of a path.
pub(super) fn longest_middle(path: &[Point]) -> Option<Point> {
    longest_piece(path).map(|(a, b)| middle(a, b))
}

fn middle(a: Point, b: Point) -> Point {
    pt(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y))
}

fn flag_shapes(c: Point, level: FlagLevel, number: usize) -> Vec<Shape> {
    let (sides, turn, ink, size) = match level {
        FlagLevel::Hazard => (8, 0.5, Ink::Hazard, FLAG_MM),
        FlagLevel::Fault => (4, 0.0, Ink::Fault, FLAG_MM * 1.15),
        FlagLevel::Caution => (3, 0.0, Ink::Caution, FLAG_MM * 1.3),
        FlagLevel::Note => (0, 0.0, Ink::Note, FLAG_MM * 0.9),
    };
    let outline = if sides == 0 {
        Shape::Circle {
            centre: c,
            radius_mm: size,
            fill: Some(ink),
            ink: Ink::Paper,
            weight_mm: 0.4,
        }
    } else {
        let corner = |i: usize| {
            let angle = std::f64::consts::TAU * (i as f64 + turn) / sides as f64;
            c.moved(size * angle.sin(), -size * angle.cos())
        };
        Shape::Area {
            points: (0..sides).map(corner).collect(),
            fill: ink,
        }
    };
    let drop = if level == FlagLevel::Caution {
        1.3
    } else {
        0.8
    };
    let number = Shape::Text {
        at: c.moved(0.0, drop),
        text: number.to_string(),
        size_mm: text::SMALL_MM,
        anchor: Anchor::Middle,
        ink: Ink::OnFlag,
        bold: true,
        upward: false,
    };
    vec![outline, number]
}

/// A live wire: its own lines over wider ones, and its volts beside the middle of its longest piece,
/// on the side where its number is not, or further along.
fn live(scene: &Scene, wire: &WireId, volts: f64) -> Vec<Shape> {
    let Some(group) = scene.groups.get(&GroupKey::Wire(wire.clone())) else {
        return Vec::new();
    };
    let paths = scene.paths.get(wire).map_or(&[][..], Vec::as_slice);
    let weight_of = |shape: &Shape| match shape {
        Shape::Line { weight_mm, .. } => Some(*weight_mm),
        _ => None,
    };
    // The first line of a wire is its outline; gaps in other wires stand before it.
    let own: Vec<&Shape> = (group.shapes.iter())
        .filter(|shape| matches!(shape, Shape::Line { ink, .. } if *ink != Ink::Paper))
        .collect();
    let weight = own
        .iter()
        .filter_map(|shape| weight_of(shape))
        .fold(0.0, f64::max);
    let weight_mm = weight + 2.0 * LIVE_EDGE_MM;
    let wide = |path: &Vec<Point>| Shape::Line {
        points: path.clone(),
        ink: Ink::Live,
        weight_mm,
        dash: Dash::None,
    };
    let mut shapes: Vec<Shape> = paths.iter().map(wide).collect();
    shapes.extend(own.into_iter().cloned());
    let numbers: Vec<Rect> = (group.shapes.iter())
        .filter(|shape| matches!(shape, Shape::Text { .. }))
        .map(Shape::bounds)
        .collect();
    let volts_at = |path: &Vec<Point>| {
        let (a, b) = longest_piece(path)?;
        let upward = a.x == b.x;
        let text = format!("{volts:.1} V");
        let room = |at| text::bounds(at, &text, text::SMALL_MM, Anchor::Middle, true, upward);
        // Right of it or below, beside its middle; where its number stands there, further along.
        let off = weight_mm / 2.0 + text::SMALL_MM * 0.85;
        let along = numbers.iter().map(|it| it.w.max(it.h)).fold(0.0, f64::max);
        let along = (along + text::width(&text, text::SMALL_MM, true)) / 2.0 + 1.0;
        let spots = [0.0, along, -along].map(|along| match upward {
            true => middle(a, b).moved(off, along),
            false => middle(a, b).moved(along, off),
        });
        let is_free = |at: &&Point| !numbers.iter().any(|it| it.overlaps(room(**at)));
        let at = *spots.iter().find(is_free).unwrap_or(&spots[0]);
        Some(Shape::Text {
            at,
            text,
            size_mm: text::SMALL_MM,
            anchor: Anchor::Middle,
            ink: Ink::Live,
            bold: true,
            upward,
        })
    };
    shapes.extend(paths.iter().filter_map(volts_at));
    shapes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{drawing, exchange};

    /// With every wire live, no volts stand on the number of their own wire, on any sheet.
    #[test]
    fn volts_stand_beside_the_number() {
        let file = include_bytes!("../../../public/samples/sorrel.json");
        let document = exchange::open(file).expect("the sample opens").document;
        let mut told = 0;
        for sheet in document.sheets.keys() {
            let scene = drawing::scene(&document, sheet);
            for wire in document.wires.keys() {
                let Some(group) = scene.groups.get(&GroupKey::Wire(wire.clone())) else {
                    continue;
                };
                let is_text = |shape: &&Shape| matches!(shape, Shape::Text { .. });
                let numbers = group.shapes.iter().filter(is_text);
                let numbers: Vec<Rect> = numbers.map(Shape::bounds).collect();
                for volts in live(&scene, wire, 13.9).iter().filter(is_text) {
                    // Its own number is drawn again with it.
                    if numbers.contains(&volts.bounds()) {
                        continue;
                    }
                    told += 1;
                    let is_on = numbers.iter().any(|it| it.overlaps(volts.bounds()));
                    assert!(!is_on, "{} of {wire} on {sheet}", numbers.len());
                }
            }
        }
        assert!(told > 200, "{told}");
    }
}
