//! What a sheet costs its reader: crossings, bends, length, small type, texts on something, wires close to devices
//! that they do not join. Layouts are compared by it, and `tests/measured.md` keeps the figures of the samples.

use super::{
    geometry::{LATTICE_MM, Point, Rect},
    paths,
    scene::{GroupKey, Scene, Shape},
    wires,
};
use crate::{
    document::{Document, Sheet},
    ids::{ItemId, SheetId, WireId},
    order::Map,
};

/// Height of a capital letter as a share of the size of the type: about 0.72 in common faces without serifs.
const CAPITAL: f64 = 0.72;

/// Boxes of texts may touch by this much, mm: they are those of a wide face, with room above and below.
const TOUCH_MM: f64 = 0.3;

/// What a sheet costs its reader.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SheetMeasure {
    /// Wires drawn, in full or in part.
    pub wires: usize,
    /// Where a wire crosses another.
    pub crossings: usize,
    /// Corners of wires.
    pub bends: usize,
    /// Length of all wires on the paper, mm.
    pub length_mm: f64,
    /// Height of capitals in the smallest text, at the sheet's own size, mm; 0 without texts.
    pub capital_mm: f64,
    /// The same as printed on paper of that size, where the drawing is enlarged, mm.
    pub printed_mm: f64,
    /// Texts of wires, cables and notes that are on another text, a wire, or a device.
    pub texts_on: usize,
    /// Straight pieces of wire closer than 2.5 mm to a device that the wire does not join.
    pub close: usize,
    /// The box around all that is drawn, as a share of the area inside the border.
    pub used: f64,
}

impl SheetMeasure {
    /// Both together: sums, the smaller text, the mean share of paper by number of sheets so far.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let smaller = |a: f64, b: f64| if a == 0.0 { b } else { a.min(b) };
        Self {
            wires: self.wires + other.wires,
            crossings: self.crossings + other.crossings,
            bends: self.bends + other.bends,
            length_mm: self.length_mm + other.length_mm,
            capital_mm: smaller(self.capital_mm, other.capital_mm),
            printed_mm: smaller(self.printed_mm, other.printed_mm),
            texts_on: self.texts_on + other.texts_on,
            close: self.close + other.close,
            used: self.used + other.used,
        }
    }
}

/// A straight piece of a wire.
struct Piece<'a> {
    wire: &'a WireId,
    from: Point,
    to: Point,
}

impl Piece<'_> {
    fn rect(&self) -> Rect {
        Rect::around([self.from, self.to])
    }
}

/// Measures a sheet as it is drawn. Time grows with the square of its wires.
pub fn measure(document: &Document, sheet: &SheetId, scene: &Scene) -> SheetMeasure {
    let Some(sheet) = document.sheets.get(sheet) else {
        return SheetMeasure::default();
    };
    let drawn: Vec<(&WireId, &Vec<Point>)> = (scene.paths.iter())
        .flat_map(|(wire, paths)| paths.iter().map(move |path| (wire, path)))
        .collect();
    let pieces = pieces(&drawn);
    let paths = || drawn.iter().map(|(_, path)| *path);
    let length = |path: &Vec<Point>| -> f64 {
        let pairs = path.windows(2);
        pairs.map(|pair| pair[0].distance(pair[1])).sum()
    };
    let texts = texts(scene);
    let sizes = scene.groups.values().flat_map(|group| &group.shapes);
    let sizes = sizes.filter_map(|shape| match shape {
        Shape::Text { size_mm, .. } => Some(*size_mm),
        _ => None,
    });
    let least = sizes.fold(f64::INFINITY, f64::min);
    let capital_mm = if least.is_finite() {
        least * CAPITAL
    } else {
        0.0
    };
    SheetMeasure {
        wires: scene.paths.len(),
        crossings: crossings(&drawn),
        bends: paths().map(|path| path.len().saturating_sub(2)).sum(),
        length_mm: paths().map(length).sum(),
        capital_mm,
        printed_mm: capital_mm * super::enlarged(scene, sheet.size),
        texts_on: texts_on(document, scene, &texts, &pieces),
        close: close(document, sheet, scene, &pieces),
        used: used(scene),
    }
}

fn pieces<'a>(drawn: &[(&'a WireId, &'a Vec<Point>)]) -> Vec<Piece<'a>> {
    let of = |&(wire, path): &(&'a WireId, &'a Vec<Point>)| {
        let pairs = path.windows(2).map(|pair| (pair[0], pair[1]));
        pairs.map(move |(from, to)| Piece { wire, from, to })
    };
    drawn.iter().flat_map(of).collect()
}

/// How often the paths of different wires cross.
fn crossings(paths: &[(&WireId, &Vec<Point>)]) -> usize {
    let of = |(n, (wire, path)): (usize, &(&WireId, &Vec<Point>))| {
        let rest = paths[n + 1..].iter().filter(|it| it.0 != *wire);
        rest.map(|(_, other)| paths::crossings(path, other))
            .sum::<usize>()
    };
    paths.iter().enumerate().map(of).sum()
}

/// Texts that are not part of an item: the group of each, and its box.
fn texts(scene: &Scene) -> Vec<(&GroupKey, Rect)> {
    let groups = scene.groups.iter().filter(|(key, _)| {
        matches!(
            key,
            GroupKey::Wire(_) | GroupKey::Cable(_) | GroupKey::Note(_)
        )
    });
    let of = |shape: &Shape| matches!(shape, Shape::Text { .. }).then(|| shape.bounds());
    groups
        .flat_map(|(key, group)| {
            let texts = group.shapes.iter().filter_map(of);
            texts.map(move |rect| (key, rect))
        })
        .collect()
}

fn texts_on(
    document: &Document,
    scene: &Scene,
    texts: &[(&GroupKey, Rect)],
    pieces: &[Piece<'_>],
) -> usize {
    let line = |piece: &Piece<'_>| {
        let gauge = document.wires.get(piece.wire).and_then(|it| it.gauge_awg);
        piece.rect().grown(wires::weight_mm(gauge) / 2.0)
    };
    let lines: Vec<Rect> = pieces.iter().map(line).collect();
    let is_on = |n: &usize| {
        let inner = texts[*n].1.grown(-TOUCH_MM);
        let others = texts.iter().enumerate().filter(|(other, _)| other != n);
        others.map(|(_, it)| it.1).any(|it| it.overlaps(inner))
            || scene.boxes.values().any(|it| it.overlaps(inner))
            || lines.iter().any(|it| it.overlaps(inner))
    };
    (0..texts.len()).filter(is_on).count()
}

fn close(document: &Document, sheet: &Sheet, scene: &Scene, pieces: &[Piece<'_>]) -> usize {
    let joins = |wire: &WireId, item: &ItemId| {
        let (Some(wire), Some(item)) = (document.wires.get(wire), sheet.items.get(item)) else {
            return true;
        };
        item.shows_end(&wire.from) || item.shows_end(&wire.to)
    };
    let sized = |rect: &Rect| rect.w > LATTICE_MM && rect.h > LATTICE_MM;
    let boxes: Map<&ItemId, Rect> = (scene.boxes.iter())
        .filter(|(_, rect)| sized(rect))
        .map(|(item, rect)| (item, rect.grown(LATTICE_MM - 0.05)))
        .collect();
    let is_close = |piece: &&Piece<'_>| {
        let mut all = boxes.iter();
        all.any(|(item, near)| near.overlaps(piece.rect()) && !joins(piece.wire, item))
    };
    pieces.iter().filter(is_close).count()
}

fn used(scene: &Scene) -> f64 {
    let drawn = scene.groups.iter();
    let drawn = drawn.filter(|(key, _)| **key != GroupKey::Frame);
    let all = drawn.map(|(_, group)| group.bounds).reduce(Rect::union);
    let inside = super::frame::inside(scene.width_mm, scene.height_mm);
    all.map_or(0.0, |all| all.w * all.h / (inside.w * inside.h))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{drawing::scene, exchange};

    /// Crossings, bends, texts on something and pieces close to foreign devices of each sheet, in the order of
    /// their keys. Ceilings: a change may lower them, never raise them.
    const SORREL: &[(&str, [usize; 4])] = &[
        ("01-power", [4, 23, 0, 0]),
        ("02-main-bus", [4, 23, 0, 0]),
        ("03-essential-bus", [0, 8, 0, 0]),
        ("04-power-grounds", [1, 37, 0, 0]),
        ("05-avionics-grounds", [0, 26, 0, 0]),
        ("06-master", [1, 16, 0, 0]),
        ("07-cabin-power", [0, 0, 0, 0]),
        ("08-lights", [4, 30, 0, 0]),
        ("09-flaps-trim", [1, 16, 0, 0]),
        ("10-avionics-power", [1, 10, 0, 0]),
        ("11-autopilot", [0, 3, 0, 0]),
        ("12-headsets", [0, 18, 0, 0]),
        ("13-radio-audio", [0, 4, 0, 0]),
        ("14-data", [7, 26, 0, 0]),
        ("15-engine-sensors", [0, 22, 0, 0]),
        ("16-temperatures", [0, 24, 0, 0]),
        ("17-antennas", [0, 0, 0, 0]),
    ];
    const TEASEL: &[(&str, [usize; 4])] = &[
        ("01-overhead-audio", [0, 24, 0, 0]),
        ("02-overhead-power", [2, 16, 0, 0]),
        ("03-power", [0, 19, 0, 0]),
        ("04-master-lights", [3, 34, 0, 0]),
        ("05-avionics", [7, 32, 0, 0]),
        ("06-essential-bus", [0, 4, 0, 0]),
    ];

    fn check(file: &[u8], ceilings: &[(&str, [usize; 4])]) {
        let document = exchange::open(file).expect("the sample opens").document;
        let mut over = Vec::new();
        for id in document.sheets.keys() {
            let scene = scene(&document, id);
            let it = measure(&document, id, &scene);
            let now = [it.crossings, it.bends, it.texts_on, it.close];
            println!("        (\"{id}\", {now:?}),");
            let ceiling = ceilings.iter().find(|(sheet, _)| *sheet == id.as_str());
            let is_under = |most: &[usize; 4]| now.iter().zip(most).all(|(now, most)| now <= most);
            if !ceiling.is_some_and(|(_, most)| is_under(most)) {
                over.push((id.clone(), now));
            }
        }
        assert!(over.is_empty(), "worse than they were: {over:?}");
    }

    #[test]
    fn no_sheet_of_sorrel_gets_worse() {
        check(
            include_bytes!("../../../public/samples/sorrel.json"),
            SORREL,
        );
    }

    #[test]
    fn no_sheet_of_teasel_gets_worse() {
        check(
            include_bytes!("../../../public/samples/teasel.json"),
            TEASEL,
        );
    }

    #[test]
    fn a_crossing_is_counted_once_and_a_shared_corner_is_none() {
        let (a, b) = (WireId::new("a"), WireId::new("b"));
        let pt = |x, y| Point { x, y };
        let level = |y| vec![pt(0.0, y), pt(20.0, y)];
        let upright = |x| vec![pt(x, 0.0), pt(x, 20.0)];
        assert_eq!(crossings(&[(&a, &level(10.0)), (&b, &upright(10.0))]), 1);
        assert_eq!(crossings(&[(&a, &level(10.0)), (&a, &upright(10.0))]), 0);
        assert_eq!(crossings(&[(&a, &level(0.0)), (&b, &upright(10.0))]), 0);
        assert_eq!(crossings(&[(&a, &level(10.0)), (&b, &upright(20.0))]), 0);
    }
}
