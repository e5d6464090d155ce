//! What is drawn over a sheet: flags at records with findings, and live wires with their volts. Findings and solved
//! volts arrive as plain data; this file only places them.

use super::{
    geometry::{Point, Rect, pt},
    scene::{Anchor, Dash, Group, GroupKey, Ink, Scene, Shape},
    text,
};
use crate::order::InOrder;
use crate::order::Map;
use crate::{
    document::End,
    ids::{CableId, DeviceId, PlaceId, SpliceId, TerminalId, WireId},
};

/// The level of a flag; each has its own shape, so that it does not depend on color.
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

/// The record, or terminal of a record, that a flag marks.
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

/// What is drawn over a sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Overlay {
    /// Flags; those for records not on this sheet are left out.
    pub flags: Vec<Flag>,
    /// Wires that are live, with their volts.
    pub live_v: Map<WireId, f64>,
}

/// How far the edge of a live wire extends on each side, mm.
pub(super) const LIVE_EDGE_MM: f64 = 0.3;

/// How far the middle of a wire's flag keeps off pins, mm.
const PIN_MM: f64 = 4.5;

/// Distance between the positions that are tried for volts and flags, mm.
const STEP_MM: f64 = 2.5;

/// Distance of the volts from their wire's edge, mm.
const GAP_MM: f64 = 0.2;

/// Width and height of the cells that index occupied areas, mm.
const CELL_MM: f64 = 20.0;
/// Cells in a row, and rows; the last ones include everything farther out.
const CELLS: usize = 64;

/// How far a flag's middle is off its wire where the wire has no room, mm.
const BESIDE_MM: f64 = 3.4;

/// Half the size of a flag, mm.
const FLAG_MM: f64 = 2.4;

impl Overlay {
    /// Everything to paint over the scene, in order.
    pub fn shapes(&self, scene: &Scene) -> Vec<Shape> {
        let flags = self.placed_flags(scene);
        let live = live_shapes(scene, &self.live_v, &flags);
        let flags = flags.into_iter().flat_map(|flag| flag.shapes);
        live.into_iter().chain(flags).collect()
    }

    /// The flags of this sheet, worst last so that it is drawn on top. They cover no text and not each other where
    /// there is room.
    pub fn placed_flags(&self, scene: &Scene) -> Vec<PlacedFlag> {
        let mut order: Vec<usize> = (0..self.flags.len()).collect();
        order.order_by_key(|i| std::cmp::Reverse((self.flags[*i].level, self.flags[*i].number)));
        if order.is_empty() {
            return Vec::new();
        }
        let (mut taken, mut pins) = (Taken::default(), Taken::default());
        taken.add_texts(scene);
        for pin in scene.pins.values() {
            pins.add(Rect::around([pin.at]).grown(PIN_MM - FLAG_MM));
        }
        let mut placed: Vec<PlacedFlag> = Vec::new();
        for index in order {
            let flag = &self.flags[index];
            // A flag at a pin is close to it; one of a wire must not cover the touch area of a pin.
            let off_pins = matches!(flag.at, FlagAt::Wire(_));
            for spots in spots(scene, &flag.at) {
                let is_off = |at: &Point| !off_pins || pins.is_free(flag_room(*at));
                let is_free = |at: &Point| taken.is_free(flag_room(*at));
                let off = || spots.iter().copied().filter(is_off);
                let best = off().find(is_free).or_else(|| off().next());
                let Some(mut at) = best.or(spots.first().copied()) else {
                    continue;
                };
                // Ends: each step moves on by a flag, and there are finitely many flags.
                let stands_at = |at: Point| {
                    let mut others = placed.iter();
                    others.any(|other| other.at.distance(at) < 1.8 * FLAG_MM)
                };
                while stands_at(at) {
                    at = at.moved(2.0 * FLAG_MM, 0.0);
                }
                taken.add(flag_room(at));
                let shapes = flag_shapes(at, flag.level, flag.number);
                placed.push(PlacedFlag { at, index, shapes });
            }
        }
        placed
    }
}

/// The area that a flag covers.
fn flag_room(at: Point) -> Rect {
    Rect::around([at]).grown(FLAG_MM)
}

/// Positions for a flag, best first, for each place where the record is shown.
fn spots(scene: &Scene, at: &FlagAt) -> Vec<Vec<Point>> {
    let pins = |end: &End| -> Vec<Vec<Point>> {
        let found = scene.pins.values().filter(|pin| pin.end == *end);
        found
            .map(|pin| {
                let beside = [2.6, 7.4].map(|mm| pin.at.ahead(pin.facing, mm));
                let beside = beside
                    .into_iter()
                    .flat_map(|at| [-2.6, 2.6].map(|mm| at.moved(0.0, mm)));
                beside.collect()
            })
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
            let corners = |rect: &Rect| {
                let (left, right) = (rect.x + 1.0, rect.right() - 1.0);
                let (above, below) = (rect.y - 1.0, rect.bottom() + 1.0);
                vec![
                    pt(right, above),
                    pt(left, above),
                    pt(right, below),
                    pt(left, below),
                ]
            };
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
                .map(corners)
                .collect()
        }
        FlagAt::Wire(wire) => {
            let ends = scene.groups.get(&GroupKey::Wire(wire.clone()));
            let ends = ends.map_or(Vec::new(), |group| beyond_references(&group.shapes));
            let paths = scene.paths.get(wire);
            let spots = paths.map(|paths| [along(paths), ends].concat());
            spots.into_iter().collect()
        }
        FlagAt::Cable(cable) => {
            let bounds = group(&GroupKey::Cable(cable.clone()));
            bounds
                .map(|rect| vec![pt(rect.x, rect.y), pt(rect.x, rect.bottom())])
                .into_iter()
                .collect()
        }
    }
}

/// Positions at both ends of the texts that say where a wire goes on.
fn beyond_references(shapes: &[Shape]) -> Vec<Point> {
    let is_reference = |it: &&Shape| matches!(it, Shape::Text { ink: Ink::Dim, .. });
    let texts = shapes.iter().filter(is_reference).map(Shape::bounds);
    let both = texts.flat_map(|it| {
        let (off, middle) = (FLAG_MM + 0.3, it.centre());
        match it.w > it.h {
            true => [it.x - off, it.right() + off].map(|x| pt(x, middle.y)),
            false => [it.y - off, it.bottom() + off].map(|y| pt(middle.x, y)),
        }
    });
    both.collect()
}

/// Positions on a wire, from the middle of its longest segment on, then those next to it.
fn along(paths: &[Vec<Point>]) -> Vec<Point> {
    let pieces: Vec<_> = paths.iter().flat_map(|path| longest_first(path)).collect();
    let on = |off_mm: f64| {
        let pieces = pieces.iter();
        pieces.flat_map(move |(a, b)| {
            let (dx, dy) = if a.x == b.x {
                (off_mm, 0.0)
            } else {
                (0.0, off_mm)
            };
            from_middle(*a, *b).map(move |at| at.moved(dx, dy))
        })
    };
    [0.0, BESIDE_MM, -BESIDE_MM]
        .into_iter()
        .flat_map(on)
        .collect()
}

/// The pieces of a path, the longest first.
fn longest_first(path: &[Point]) -> Vec<(Point, Point)> {
    let mut pieces: Vec<(Point, Point)> = path.windows(2).map(|it| (it[0], it[1])).collect();
    pieces.order_by_key(|(a, b)| std::cmp::Reverse((a.distance(*b) * 100.0).round() as i64));
    pieces
}

/// Places along a piece, from its middle to both ends.
fn from_middle(a: Point, b: Point) -> impl Iterator<Item = Point> {
    let steps = (a.distance(b) / 2.0 / STEP_MM) as i32;
    let along = (0..=steps).flat_map(|n| [n, -n]);
    along.map(move |n| {
        let along_mm = f64::from(n) * STEP_MM;
        match a.x == b.x {
            true => middle(a, b).moved(0.0, along_mm),
            false => middle(a, b).moved(along_mm, 0.0),
        }
    })
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

/// The weight of a wire's heaviest line, mm.
fn weight_mm(group: &Group) -> f64 {
    let weight = |shape: &Shape| match shape {
        Shape::Line { weight_mm, ink, .. } if *ink != Ink::Paper => *weight_mm,
        _ => 0.0,
    };
    group.shapes.iter().map(weight).fold(0.0, f64::max)
}

/// What flags must not cover: texts; and what volts must not cover: texts, devices, lines, flags, other volts.
/// Indexed by cells of the sheet, so that few are tested for one position.
#[derive(Default)]
struct Taken(Vec<Vec<Rect>>);

impl Taken {
    fn add_texts(&mut self, scene: &Scene) {
        let shapes = scene.groups.values().flat_map(|group| &group.shapes);
        for shape in shapes.filter(|shape| matches!(shape, Shape::Text { .. })) {
            self.add(shape.bounds());
        }
    }

    fn add_drawn(&mut self, scene: &Scene) {
        for rect in scene.boxes.values().chain(scene.sleeves.values().flatten()) {
            self.add(*rect);
        }
        for (wire, paths) in &scene.paths {
            let group = scene.groups.get(&GroupKey::Wire(wire.clone()));
            let edge_mm = group.map_or(0.0, |group| weight_mm(group)) / 2.0 + LIVE_EDGE_MM;
            for piece in paths.iter().flat_map(|path| path.windows(2)) {
                self.add(Rect::around([piece[0], piece[1]]).grown(edge_mm));
            }
        }
    }

    fn cells(rect: Rect) -> impl Iterator<Item = usize> {
        let cell = |mm: f64| (mm / CELL_MM).clamp(0.0, (CELLS - 1) as f64) as usize;
        let rows = cell(rect.y)..=cell(rect.bottom());
        rows.flat_map(move |row| {
            let cells = cell(rect.x)..=cell(rect.right());
            cells.map(move |it| row * CELLS + it)
        })
    }

    fn add(&mut self, rect: Rect) {
        self.0.resize(CELLS * CELLS, Vec::new());
        for cell in Self::cells(rect) {
            self.0[cell].push(rect);
        }
    }

    fn is_free(&self, rect: Rect) -> bool {
        let mut there = Self::cells(rect).filter_map(|it| self.0.get(it)).flatten();
        !there.any(|it| it.overlaps(rect))
    }

    /// A text next to a path, at its longest segment if there is room: as near to its middle as possible, right of
    /// it or below before left or above. None if there is no room next to any segment.
    fn place(&mut self, path: &[Point], weight_mm: f64, text: String) -> Option<Shape> {
        let size_mm = text::SMALL_MM;
        // From the line to the text, on one side and the other.
        let edge_mm = weight_mm / 2.0 + GAP_MM;
        let at_line = text::bounds(pt(0.0, 0.0), &text, size_mm, Anchor::Middle, true, false);
        let sides = [edge_mm - at_line.y, -edge_mm - at_line.bottom()];
        for (a, b) in longest_first(path) {
            let upward = a.x == b.x;
            for on in from_middle(a, b) {
                for side in sides {
                    let at = match upward {
                        true => on.moved(side, 0.0),
                        false => on.moved(0.0, side),
                    };
                    let room = text::bounds(at, &text, size_mm, Anchor::Middle, true, upward);
                    if self.is_free(room) {
                        self.add(room);
                        return Some(Shape::Text {
                            at,
                            text,
                            size_mm,
                            anchor: Anchor::Middle,
                            ink: Ink::Live,
                            bold: true,
                            upward,
                        });
                    }
                }
            }
        }
        None
    }
}

/// Live wires, with their volts next to them.
pub fn live_shapes<'f>(
    scene: &Scene,
    live_v: &Map<WireId, f64>,
    flags: impl IntoIterator<Item = &'f PlacedFlag>,
) -> Vec<Shape> {
    if live_v.is_empty() {
        return Vec::new();
    }
    let mut taken = Taken::default();
    taken.add_texts(scene);
    taken.add_drawn(scene);
    for flag in flags {
        taken.add(flag_room(flag.at));
    }
    let live_v = live_v.iter();
    live_v
        .flat_map(|(wire, volts)| live(scene, wire, *volts, &mut taken))
        .collect()
}

/// A live wire: its own lines over wider ones, and its volts next to it where there is room.
fn live(scene: &Scene, wire: &WireId, volts: f64, taken: &mut Taken) -> Vec<Shape> {
    let Some(group) = scene.groups.get(&GroupKey::Wire(wire.clone())) else {
        return Vec::new();
    };
    let paths = scene.paths.get(wire).map_or(&[][..], Vec::as_slice);
    // The first line of a wire is its outline; gaps in other wires come before it.
    let own: Vec<&Shape> = (group.shapes.iter())
        .filter(|shape| matches!(shape, Shape::Line { ink, .. } if *ink != Ink::Paper))
        .collect();
    let weight_mm = weight_mm(group) + 2.0 * LIVE_EDGE_MM;
    let wide = |path: &Vec<Point>| Shape::Line {
        points: path.clone(),
        ink: Ink::Live,
        weight_mm,
        dash: Dash::None,
    };
    let mut shapes: Vec<Shape> = paths.iter().map(wide).collect();
    shapes.extend(own.into_iter().cloned());
    let text = format!("{} V", crate::units::fixed(volts, 1));
    let mut volts_at = |path: &Vec<Point>| taken.place(path, weight_mm, text.clone());
    shapes.extend(paths.iter().filter_map(&mut volts_at));
    shapes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{drawing, exchange};

    const SAMPLES: [&[u8]; 2] = [
        include_bytes!("../../../public/samples/sorrel.json"),
        include_bytes!("../../../public/samples/teasel.json"),
    ];

    /// With a flag at every wire, almost none covers a text or another flag, and volts cover none.
    #[test]
    fn flags_stand_beside_texts() {
        let (mut on_text, mut all) = (0, 0);
        for file in SAMPLES {
            let document = exchange::open(file).expect("the sample opens").document;
            let flags = document
                .wires
                .keys()
                .enumerate()
                .map(|(number, wire)| Flag {
                    at: FlagAt::Wire(wire.clone()),
                    level: FlagLevel::Hazard,
                    number,
                });
            let live_v = document.wires.keys().map(|it| (it.clone(), 13.9)).collect();
            let overlay = Overlay {
                live_v,
                flags: flags.collect(),
            };
            for sheet in document.sheets.keys() {
                let scene = drawing::scene(&document, sheet);
                let texts = |shapes: &[Shape]| -> Vec<Rect> {
                    let texts = shapes.iter().filter(|it| matches!(it, Shape::Text { .. }));
                    texts.map(Shape::bounds).collect()
                };
                let drawn: Vec<Rect> = (scene.groups.values())
                    .flat_map(|group| texts(&group.shapes))
                    .collect();
                let placed = overlay.placed_flags(&scene);
                let volts = texts(&live_shapes(&scene, &overlay.live_v, &placed));
                for (n, flag) in placed.iter().enumerate() {
                    let room = flag_room(flag.at);
                    let stands_on = |it: &Rect| it.overlaps(room);
                    all += 1;
                    on_text += usize::from(drawn.iter().any(stands_on));
                    assert!(!volts.iter().any(stands_on), "{room:?} on {sheet}");
                    let mut others = placed[n + 1..].iter();
                    assert!(others.all(|it| it.at.distance(flag.at) >= 1.8 * FLAG_MM));
                }
            }
        }
        // Between pins so close that there is no room.
        assert!(all > 200 && on_text * 100 < all * 3, "{on_text} of {all}");
    }

    /// With every wire live, volts cover no text, wire, device or other volts, on any sheet of the samples.
    #[test]
    fn volts_stand_on_nothing() {
        let (mut told, mut wires) = (0, 0);
        for file in SAMPLES {
            let document = exchange::open(file).expect("the sample opens").document;
            let live_v: Map<_, _> = document.wires.keys().map(|it| (it.clone(), 13.9)).collect();
            let overlay = Overlay {
                live_v,
                ..Overlay::default()
            };
            for sheet in document.sheets.keys() {
                let scene = drawing::scene(&document, sheet);
                let is_volts =
                    |shape: &&Shape| matches!(shape, Shape::Text { text, .. } if text == "13.9 V");
                let shapes = overlay.shapes(&scene);
                let volts: Vec<Rect> = shapes.iter().filter(is_volts).map(Shape::bounds).collect();
                told += volts.len();
                wires += scene.paths.len();
                let shapes = scene.groups.values().flat_map(|it| &it.shapes);
                let texts = shapes.filter(|it| matches!(it, Shape::Text { .. }));
                let lines = scene.paths.values().flatten();
                let pieces = lines.flat_map(|line| line.windows(2));
                let taken: Vec<Rect> = (texts.map(Shape::bounds))
                    .chain(pieces.map(|it| Rect::around([it[0], it[1]])))
                    .chain(scene.boxes.values().copied())
                    .collect();
                for (n, one) in volts.iter().enumerate() {
                    let stands_on = |it: &Rect| it.overlaps(*one);
                    assert!(!taken.iter().any(stands_on), "{one:?} on {sheet}");
                    assert!(!volts[n + 1..].iter().any(stands_on), "{one:?} on {sheet}");
                }
            }
        }
        // The few others are too short or too close together; their details show the volts.
        assert!(told * 100 > wires * 90, "{told} of {wires}");
    }
}
