//! A fuse in a wire itself: drawn on the wire at the end where it sits, with its rating.

use super::{
    geometry::{Facing, LATTICE_MM, Point, Rect},
    paths::grid::{Axis, Grid, way},
    pen::PLAIN_MM,
    scene::{Anchor, Dash, Ink, Shape},
    text,
    wires::Course,
};
use crate::document::{End, Wire, WireEnd};

/// Length and width of the box, mm.
const BOX_MM: (f64, f64) = (6.0, 2.2);

/// The length of wire that a fuse takes where only a stub of it is drawn, mm; 0 if the wire has none at that end.
pub fn room_mm(wire: &Wire, end: &End) -> f64 {
    let is_here = |at| match at {
        WireEnd::From => wire.from == *end,
        WireEnd::To => wire.to == *end,
    };
    match wire.fuse.as_ref().is_some_and(|fuse| is_here(fuse.at)) {
        true => BOX_MM.0 + 2.0,
        false => 0.0,
    }
}

/// The shapes of a wire's fuse, if it has one and the end where it sits is on this sheet.
pub fn fuse(grid: &mut Grid, wire: &Wire, course: &Course, pieces: &[Vec<Point>]) -> Vec<Shape> {
    let Some(fuse) = &wire.fuse else {
        return Vec::new();
    };
    let path = match course {
        Course::Whole(_) => pieces.first().cloned().map(|mut path| {
            if fuse.at == WireEnd::To {
                path.reverse();
            }
            path
        }),
        Course::Stubs(stubs) => {
            let end = wire.end(fuse.at);
            let stub = stubs.iter().find(|stub| stub.pin.end == *end);
            let at = stub.map(|stub| stub.pin.at);
            pieces
                .iter()
                .find(|path| path.first() == at.as_ref())
                .cloned()
        }
    };
    let Some((centre, axis)) = path.and_then(|path| seat(grid, &path)) else {
        return Vec::new();
    };
    let (long, wide) = BOX_MM;
    let (w, h) = match axis {
        Axis::Level => (long, wide),
        Axis::Upright => (wide, long),
    };
    let rect = Rect::new(centre.x - w / 2.0, centre.y - h / 2.0, w, h);
    grid.write(rect);
    // IEC 60617 07-21-01: a box with the conductor through it.
    let symbol = Shape::Rect {
        rect,
        radius_mm: 0.0,
        fill: None,
        ink: Ink::Outline,
        weight_mm: PLAIN_MM,
        dash: Dash::None,
    };
    vec![symbol, rating(grid, rect, axis, text::amps(fuse.rating_a))]
}

/// The middle of the first straight piece on which the box has room, clear of wires that cross; else of
/// the longest piece.
fn seat(grid: &Grid, path: &[Point]) -> Option<(Point, Axis)> {
    let half = BOX_MM.0 / 2.0 + 1.0;
    let pieces = || path.windows(2).map(|it| (it[0], it[1]));
    let at = |a: Point, b: Point, far: f64| (a.ahead(way(a, b), far), Axis::of(way(a, b)));
    let is_clear = |(centre, axis): (Point, Axis)| {
        let (ahead, across) = match axis {
            Axis::Level => (Facing::Right, Axis::Upright),
            Axis::Upright => (Facing::Down, Axis::Level),
        };
        let near = [-LATTICE_MM, 0.0, LATTICE_MM].map(|far| centre.ahead(ahead, far));
        near.iter()
            .all(|point| grid.wire(grid.node(*point), across) == 0)
    };
    let spots = pieces().flat_map(|(a, b)| {
        let (first, last) = (half, a.distance(b) - half);
        let steps = ((last - first) / LATTICE_MM).floor();
        let count = if steps < 0.0 { 0 } else { steps as u32 + 1 };
        (0..count).map(move |step| at(a, b, first + f64::from(step) * LATTICE_MM))
    });
    let longest = || {
        let longest = pieces().max_by(|x, y| x.0.distance(x.1).total_cmp(&y.0.distance(y.1)));
        longest.map(|(a, b)| at(a, b, a.distance(b) / 2.0))
    };
    let mut clear = spots.filter(|spot| is_clear(*spot));
    clear.next().or_else(longest)
}

/// The rating next to the box, where there is room.
fn rating(grid: &mut Grid, rect: Rect, axis: Axis, text: String) -> Shape {
    let (x, y) = (rect.centre().x, rect.centre().y + text::SMALL_MM / 3.0);
    let over = Point { x, y: rect.y - 0.6 };
    let under = Point {
        x,
        y: rect.bottom() + text::SMALL_MM * 0.75 + 0.6,
    };
    let left = Point { x: rect.x - 0.8, y };
    let right = Point {
        x: rect.right() + 0.8,
        y,
    };
    let spots = match axis {
        Axis::Level => [(over, Anchor::Middle), (under, Anchor::Middle)],
        Axis::Upright => [(right, Anchor::Start), (left, Anchor::End)],
    };
    let room = |(at, anchor)| text::bounds(at, &text, text::SMALL_MM, anchor, false, false);
    let clear = spots.into_iter().find(|spot| grid.is_clear(room(*spot)));
    // A fuse without its rating cannot be bought: it is written in any case.
    let (at, anchor) = clear.unwrap_or(spots[0]);
    grid.write(room((at, anchor)));
    Shape::Text {
        at,
        text,
        size_mm: text::SMALL_MM,
        anchor,
        ink: Ink::Dim,
        bold: false,
        upward: false,
    }
}

#[cfg(test)]
mod tests {
    use crate::{
        document::Document,
        drawing::{
            GroupKey, Hit, Scene, Shape,
            geometry::{Point, Rect},
            hit, scene,
        },
        exchange,
        ids::{SheetId, WireId},
    };

    fn sample(file: &[u8]) -> Document {
        exchange::open(file).expect("the sample opens").document
    }

    /// Every sheet with every wire it draws that has a fuse.
    fn drawn(document: &Document) -> Vec<(SheetId, WireId, Scene)> {
        let mut all = Vec::new();
        for sheet in document.sheets.keys() {
            let scene = scene(document, sheet);
            for (id, wire) in &document.wires {
                if wire.fuse.is_some() && scene.paths.contains_key(id) {
                    all.push((sheet.clone(), id.clone(), scene.clone()));
                }
            }
        }
        all
    }

    fn symbol(scene: &Scene, wire: &WireId) -> Option<(Rect, Point, String)> {
        let shapes = &scene.groups[&GroupKey::Wire(wire.clone())].shapes;
        let rect = shapes.iter().find_map(|shape| match shape {
            Shape::Rect { rect, .. } => Some(*rect),
            _ => None,
        })?;
        let text = shapes.iter().find_map(|shape| match shape {
            Shape::Text { text, .. } if text.ends_with(" A") => {
                Some((shape.bounds().centre(), text.clone()))
            }
            _ => None,
        })?;
        Some((rect, text.0, text.1))
    }

    #[test]
    fn a_fuse_in_a_wire_is_drawn_where_it_sits_and_its_rating_is_touched_as_the_wire() {
        let document = sample(include_bytes!("../../../public/samples/teasel.json"));
        let wire = WireId::new("p9a10");
        let from = &document.wires[&wire].from;
        let mut seen = 0;
        for (sheet, id, scene) in drawn(&document) {
            let pin = scene.pins.values().find(|pin| pin.end == *from);
            let Some(pin) = pin else { continue };
            let (rect, at, rating) = symbol(&scene, &id).expect("the fuse is drawn");
            seen += 1;
            assert_eq!(rating, "15 A");
            let paths = scene.paths[&id].iter().flat_map(|path| path.windows(2));
            let mut on = paths.filter(|it| rect.centre().distance_to_line(it[0], it[1]) < 1e-9);
            assert!(on.next().is_some(), "on the wire, sheet {sheet}");
            let to = scene
                .pins
                .values()
                .find(|pin| pin.end == document.wires[&id].to);
            let near = rect.centre().distance(pin.at);
            assert!(
                to.is_none_or(|to| near <= rect.centre().distance(to.at)),
                "at its end"
            );
            assert_eq!(
                hit(&scene, at, 2.5),
                Some(Hit::Wire(id.clone())),
                "sheet {sheet}"
            );
            assert_eq!(hit(&scene, rect.centre(), 2.5), Some(Hit::Wire(id)));
        }
        assert!(seen > 0, "a sheet shows that end");
    }

    #[test]
    fn the_number_of_a_wire_stands_beside_its_fuse() {
        let document = sample(include_bytes!("../../../public/samples/sorrel.json"));
        for (sheet, id, scene) in drawn(&document) {
            let Some((rect, ..)) = symbol(&scene, &id) else {
                continue;
            };
            for (key, group) in &scene.groups {
                for shape in &group.shapes {
                    let over = matches!(shape, Shape::Text { .. }) && shape.bounds().overlaps(rect);
                    assert!(!over, "{key:?} on the fuse of {id}, sheet {sheet}");
                }
            }
            let number = &document.wires[&id].number;
            let shapes = &scene.groups[&GroupKey::Wire(id.clone())].shapes;
            let is_number =
                |it: &&Shape| matches!(it, Shape::Text { text, .. } if text.contains(number));
            assert_eq!(
                shapes.iter().filter(is_number).count(),
                1,
                "{number}, {sheet}"
            );
        }
    }

    #[test]
    fn both_fuses_of_a_shunt_are_on_paper() {
        let document = sample(include_bytes!("../../../public/samples/sorrel.json"));
        let found = drawn(&document);
        let fuses = found
            .iter()
            .filter(|(_, id, scene)| symbol(scene, id).is_some());
        let wires: std::collections::BTreeSet<_> = fuses.map(|(_, id, _)| id.as_str()).collect();
        assert_eq!(wires.into_iter().collect::<Vec<_>>(), ["p13a22", "p13b22"]);
    }

    #[test]
    fn a_tap_on_a_sleeve_or_its_label_is_on_the_cable() {
        let document = sample(include_bytes!("../../../public/samples/sorrel.json"));
        let (mut sleeves, mut labels) = (0, 0);
        for sheet in document.sheets.keys() {
            let scene = scene(&document, sheet);
            for (id, boxes) in &scene.sleeves {
                if document.cables[id].shield.is_none() {
                    continue;
                }
                for rect in boxes {
                    // A number inside a sleeve belongs to its wire; elsewhere in the sleeve the touch means the
                    // cable.
                    let spots =
                        (1..8).flat_map(|x| (1..8).map(move |y| (f64::from(x), f64::from(y))));
                    let spots = spots.map(|(x, y)| {
                        let (x, y) = (rect.x + rect.w * x / 8.0, rect.y + rect.h * y / 8.0);
                        hit(&scene, Point { x, y }, 2.5)
                    });
                    let on_cable = spots.filter(|found| matches!(found, Some(Hit::Cable(_))));
                    assert!(on_cable.count() > 24, "half of {id}'s sleeve on {sheet}");
                    sleeves += 1;
                }
                let shapes = scene.groups[&GroupKey::Cable(id.clone())].shapes.iter();
                for text in shapes.filter(|it| matches!(it, Shape::Text { .. })) {
                    labels += 1;
                    let found = hit(&scene, text.bounds().centre(), 1.0);
                    assert_eq!(found, Some(Hit::Cable(id.clone())), "{id} on {sheet}");
                }
            }
        }
        assert!(sleeves > 10 && labels > 10, "{sleeves} {labels}");
    }
}
