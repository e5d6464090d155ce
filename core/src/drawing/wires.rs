//! Which wires a sheet shows, from where to where, and how each is painted.

use super::{
    geometry::{Facing, LATTICE_MM, Point, Rect, pt, snap, snap_up},
    names::{self, Continuation},
    overlay::LIVE_EDGE_MM,
    paths::{
        Job, Stop, corners,
        grid::{Axis, Grid, way},
    },
    scene::{Anchor, Colour, Dash, Ink, PinSpot, Shape},
    text,
};
use crate::order::InOrder;
use crate::order::Map;
use crate::{
    document::{Document, End, Wire},
    ids::{ItemId, SheetId, TerminalId, WireId},
    units::Gauge,
};

/// Pins of a sheet by what ends there.
pub type Pins = Map<(ItemId, TerminalId), PinSpot>;

/// How a wire is drawn on this sheet.
#[derive(Clone, Debug)]
pub enum Course {
    /// Both ends are shown: the index of its job.
    Whole(usize),
    /// Only these ends are shown, or the other end is open: pieces that say where they go on.
    Stubs(Vec<Stub>),
}

/// A piece of wire that continues elsewhere.
#[derive(Clone, Debug)]
pub struct Stub {
    /// Where it begins.
    pub pin: PinSpot,
    /// What the far end is.
    pub goes_to: Continuation,
    /// Steps that must stay straight, for a sleeve.
    pub straight: u32,
}

/// The course of every wire that has an end on the sheet, and the jobs for whole ones.
/// `straight` says how far the cores of a cable go straight from a pin.
pub fn courses(
    document: &Document,
    sheet: &SheetId,
    pins: &Pins,
    straight: &Map<WireId, u32>,
) -> (Map<WireId, Course>, Vec<Job>) {
    let mut by_end: Map<&End, Vec<&PinSpot>> = Map::new();
    for pin in pins.values() {
        by_end.or_default(&pin.end).push(pin);
    }
    let joints: Map<&End, u32> = by_end.keys().copied().zip(0..).collect();
    let mut courses = Map::new();
    let mut jobs = Vec::new();
    for (id, wire) in &document.wires {
        let spots = |end: &End| by_end.get(end).map_or(&[][..], Vec::as_slice);
        let steps = straight.get(id).copied().unwrap_or(1);
        let course = match (spots(&wire.from), spots(&wire.to)) {
            ([], []) => continue,
            (from, to) if !from.is_empty() && !to.is_empty() && wire.from != wire.to => {
                let (a, b) = nearest(from, to);
                let steps = steps.min(steps_between(a, b));
                let stop = |pin: &PinSpot| Stop {
                    at: pin.at,
                    facing: (!matches!(pin.end, End::Splice(_))).then_some(pin.facing),
                    straight: steps,
                    joint: joints[&pin.end],
                };
                let held = document.sheets.get(sheet).and_then(|it| it.held.get(id));
                jobs.push(Job {
                    ends: [stop(a), stop(b)],
                    by: held.map(|it| {
                        let axis = if it.upright {
                            Axis::Upright
                        } else {
                            Axis::Level
                        };
                        (pt(snap(it.x_mm), snap(it.y_mm)), axis)
                    }),
                });
                Course::Whole(jobs.len() - 1)
            }
            (from, to) => {
                let stub = |pin: &PinSpot, far: &End| Stub {
                    pin: pin.clone(),
                    goes_to: names::onward(document, sheet, (&pin.end, far)),
                    straight: steps,
                };
                let first = from.first().map(|pin| stub(pin, &wire.to));
                let last = to.first().map(|pin| stub(pin, &wire.from));
                Course::Stubs(first.into_iter().chain(last).collect())
            }
        };
        courses.insert(id.clone(), course);
    }
    (courses, jobs)
}

/// How far straight both wires may go from pins that look at each other.
fn steps_between(a: &PinSpot, b: &PinSpot) -> u32 {
    let ahead = a.at.ahead(a.facing, 1.0);
    let is_level = ahead.y == a.at.y;
    let gap = if is_level {
        (a.at.x - b.at.x).abs()
    } else {
        (a.at.y - b.at.y).abs()
    };
    if a.facing == b.facing {
        return u32::MAX;
    }
    (((gap / LATTICE_MM) as u32).saturating_sub(1) / 2).max(1)
}

/// The two pins closest to each other, if an end is shown more than once.
fn nearest<'a>(from: &[&'a PinSpot], to: &[&'a PinSpot]) -> (&'a PinSpot, &'a PinSpot) {
    let mut best = (from[0], to[0]);
    for a in from {
        for b in to {
            if a.at.distance(b.at) < best.0.at.distance(best.1.at) {
                best = (a, b);
            }
        }
    }
    best
}

/// A stub as laid: its path, and the text at its end.
#[derive(Clone, Debug)]
pub struct LaidStub {
    /// Its path.
    pub path: Vec<Point>,
    /// What is painted at its far end.
    pub tail: Vec<Shape>,
    /// True if that had room.
    pub is_clear: bool,
}

/// Draws a stub straight out of its pin, or in a lane next to it if another wire of the same pin is there already.
/// Keeps room for what is placed along it, mm: its number, its fuse.
pub fn lay_stub(grid: &mut Grid, stub: &Stub, text_mm: f64, mark: u32) -> LaidStub {
    let sleeve_mm = if stub.straight > 1 {
        f64::from(stub.straight) * LATTICE_MM
    } else {
        0.0
    };
    // Room for the splice's own label before the number.
    let splice_mm = if matches!(stub.pin.end, End::Splice(_)) {
        12.0
    } else {
        0.0
    };
    let long = snap_up(sleeve_mm + text_mm + splice_mm + 2.0).max(4.0 * LATTICE_MM);
    let facing = match stub.pin.end {
        End::Splice(_) => free_side(grid, stub.pin.at),
        _ => stub.pin.facing,
    };
    let pin = stub.pin.at;
    let side = if Axis::of(facing) == Axis::Level {
        Facing::Down
    } else {
        Facing::Right
    };
    // Straight on first, then the adjacent lanes.
    let lanes = [0.0, 2.0, -2.0, 1.0, -1.0, 3.0, -3.0, 4.0, -4.0];
    let path_at = |lane: f64| {
        let out = pin.ahead(facing, LATTICE_MM);
        let turned = out.ahead(side, lane * LATTICE_MM);
        let begin = if lane == 0.0 { pin } else { turned };
        let end = begin.ahead(facing, if lane == 0.0 { long } else { long - LATTICE_MM });
        corners(&[pin, out, turned, end])
    };
    let mut is_clear = |path: &[Point]| {
        let turn = if path.len() == 2 { LATTICE_MM } else { 0.0 };
        let begin = path[path.len() - 2].ahead(facing, turn);
        grid.is_clear(Rect::around([begin, path[path.len() - 1]]).grown(0.1))
    };
    let clear: Vec<Vec<Point>> = (lanes.iter().map(|lane| path_at(*lane)))
        .filter(|path| is_clear(path))
        .collect();
    // A lane with room at its end for the text that says where the wire continues.
    let told = clear.iter().find(|path| {
        let texts = onward(&stub.goes_to, path[path.len() - 1], facing);
        texts.iter().any(|text| grid.is_clear(text.bounds()))
    });
    let path = told.or(clear.first()).cloned();
    let path = path.unwrap_or_else(|| path_at(0.0));
    grid.lay_path(&path, mark, |_| true);
    let (tail, is_clear) = tail(grid, stub, path[path.len() - 1], facing);
    LaidStub {
        path,
        tail,
        is_clear,
    }
}

/// The side of a splice where nothing is yet.
fn free_side(grid: &Grid, at: Point) -> Facing {
    let ways = [Facing::Right, Facing::Left, Facing::Up, Facing::Down];
    let free = |facing: &Facing| {
        let next = grid.node(at.ahead(*facing, LATTICE_MM));
        grid.wire(next, Axis::of(*facing)) == 0
    };
    ways.into_iter().find(free).unwrap_or(Facing::Right)
}

/// What is painted at the far end of a stub, and whether it has room.
fn tail(grid: &mut Grid, stub: &Stub, end: Point, facing: Facing) -> (Vec<Shape>, bool) {
    if matches!(stub.goes_to, Continuation::Open) {
        let open = Shape::Circle {
            centre: end.ahead(facing, 0.8),
            radius_mm: 0.8,
            fill: None,
            ink: Ink::Outline,
            weight_mm: 0.3,
        };
        return (vec![open], true);
    }
    let mut texts = onward(&stub.goes_to, end, facing);
    let clear = (texts.iter()).position(|text| grid.is_clear(text.bounds()));
    texts.drain(..clear.unwrap_or(texts.len().saturating_sub(1)));
    texts.truncate(1);
    for text in &texts {
        grid.write(text.bounds());
    }
    (texts, clear.is_some())
}

/// The texts that say where a wire continues, the longest first, as placed at the end of its stub.
fn onward(goes_to: &Continuation, end: Point, facing: Facing) -> Vec<Shape> {
    let Continuation::To(texts) = goes_to else {
        return Vec::new();
    };
    let (at, anchor, upward) = match facing {
        Facing::Right => (end.moved(0.8, 0.8), Anchor::Start, false),
        Facing::Left => (end.moved(-0.8, 0.8), Anchor::End, false),
        Facing::Up => (end.moved(0.8, -0.8), Anchor::Start, true),
        Facing::Down => (end.moved(0.8, 0.8), Anchor::End, true),
    };
    let shape = |text: &String| Shape::Text {
        at,
        text: match anchor {
            Anchor::End => format!("{text} \u{2190}"),
            _ => format!("\u{2192} {text}"),
        },
        size_mm: text::SMALL_MM,
        anchor,
        ink: Ink::Dim,
        bold: false,
        upward,
    };
    texts.iter().map(shape).collect()
}

/// From the middle of the thickest wire to beyond its edge, mm.
const THICK_MM: f64 = 0.9;

/// Width of a wire on paper by its gauge, in three steps, mm: 20 AWG and thinner, to 10 AWG, thicker.
pub fn weight_mm(gauge: Option<Gauge>) -> f64 {
    match gauge.map(|it| it.0) {
        None | Some(20..) => 0.7,
        Some(10..20) => 1.0,
        Some(_) => 1.5,
    }
}

/// A dark hairline with the insulation's color as its core.
pub fn strokes(wire: &Wire, path: &[Point]) -> Vec<Shape> {
    let weight = weight_mm(wire.gauge_awg);
    let line = |ink, weight_mm, dash| Shape::Line {
        points: path.to_vec(),
        ink,
        weight_mm,
        dash,
    };
    let (main, stripe) = Colour::parse(&wire.colour);
    let mut shapes = vec![
        line(Ink::Hairline, weight, Dash::None),
        line(Ink::Core(main), weight - 0.3, Dash::None),
    ];
    if let Some(stripe) = stripe {
        shapes.push(line(Ink::Core(stripe), weight - 0.3, Dash::Stripe));
    }
    shapes
}

/// Texts for a wire, the longest first. The color is written too, because paint alone is not enough.
pub fn texts(wire: &Wire) -> Vec<String> {
    let gauge = match wire.gauge_awg {
        Some(gauge) => format!("{gauge} AWG"),
        None => "? AWG".into(),
    };
    let full = [wire.number.as_str(), &gauge, &wire.colour];
    let mut texts = vec![full.join("  "), format!("{}  {}", wire.number, wire.colour)];
    texts.push(wire.number.clone());
    for text in &mut texts {
        *text = text.trim().to_owned();
    }
    texts.retain(|text| !text.is_empty());
    texts.dedup();
    texts
}

/// Writes the longest text that has room along a path: along its longest segments first, in their middle first. If
/// none has room clear of the next lanes, the number alone may be close to them, and then in smaller type. A text
/// never covers another or a wire: where there is no room at all, the number is in the list and in the details.
pub fn label(grid: &mut Grid, wire: &Wire, paths: &[Vec<Point>]) -> Option<Shape> {
    let mut pieces: Vec<(Point, Point)> = paths
        .iter()
        .flat_map(|path| path.windows(2).map(|w| (w[0], w[1])))
        .collect();
    pieces.order_by(|a, b| b.0.distance(b.1).total_cmp(&a.0.distance(a.1)));
    let rise = weight_mm(wire.gauge_awg) / 2.0 + LIVE_EDGE_MM + 0.2;
    let texts = texts(wire);
    let number = texts.last();
    let close = number.map(|text| (text, 0.0, text::SMALL_MM));
    let least = number.map(|text| (text, 0.0, LEAST_MM));
    let usual = texts.iter().map(|text| (text, 0.6, text::SMALL_MM));
    for (text, clear_mm, size_mm) in usual.chain(close).chain(least) {
        let long_mm = text::width(text, size_mm, false);
        for (a, b) in &pieces {
            // Also clear of what comes next on the side away from its own wire.
            let found = spots((*a, *b), long_mm, (rise, size_mm)).find(|spot| {
                let away_mm = spot.away * clear_mm;
                let (dx, dy) = match spot.upward {
                    true => (away_mm, 0.0),
                    false => (0.0, away_mm),
                };
                grid.is_clear(spot.room.moved(dx, dy)) && has_room(grid, spot.room, spot.upward)
            });
            if let Some(spot) = found {
                grid.write(spot.room);
                return Some(written(spot.at, text.clone(), size_mm, spot.upward));
            }
        }
    }
    None
}

/// True if a text may be placed in a box: clear of everything, and of the edges of wires across its ends.
fn has_room(grid: &mut Grid, room: Rect, upward: bool) -> bool {
    let (dx, dy) = if upward {
        (0.0, THICK_MM)
    } else {
        (THICK_MM, 0.0)
    };
    let longer = Rect::new(
        room.x - dx,
        room.y - dy,
        room.w + 2.0 * dx,
        room.h + 2.0 * dy,
    );
    grid.is_clear(room) && grid.is_free_of_wires(longer)
}

/// The text among a wire's shapes, if there is one, as long as there is still room at its position.
pub fn keep_label<'s>(grid: &mut Grid, shapes: &'s [Shape]) -> Option<&'s [Shape]> {
    let is_label = |it: &&Shape| {
        matches!(
            it,
            Shape::Text {
                ink: Ink::Label,
                ..
            }
        )
    };
    let Some(label) = shapes.iter().find(is_label) else {
        return Some(&[]);
    };
    let room = label.bounds();
    let upward = room.h > room.w;
    has_room(grid, room, upward).then(|| {
        grid.write(room);
        std::slice::from_ref(label)
    })
}

/// The smallest type a number is written in, mm: it can still be read on paper.
const LEAST_MM: f64 = 1.8;

/// A position for a text next to a straight segment.
struct TextSpot {
    at: Point,
    room: Rect,
    upward: bool,
    /// The direction away from the segment, along the axis across it.
    away: f64,
}

/// Positions for a text of this length next to a straight segment, its middle first, above it or left of it before
/// below or right.
fn spots(
    (a, b): (Point, Point),
    long_mm: f64,
    (rise, size_mm): (f64, f64),
) -> impl Iterator<Item = TextSpot> {
    // A short segment may be shorter than its number, as long as the number covers nothing else.
    let over = if size_mm < text::SMALL_MM { 8.0 } else { -1.6 };
    let spare = a.distance(b) - long_mm + over;
    let upward = Axis::of(way(a, b)) == Axis::Upright;
    let middle = pt(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y));
    let spot = move |i: i32, rise: f64| {
        let share = f64::from((i + 1) / 2) / 8.0 * if i % 2 == 0 { 1.0 } else { -1.0 };
        let at = if upward {
            middle.moved(-rise, share * spare)
        } else {
            middle.moved(share * spare, -rise)
        };
        TextSpot {
            at,
            room: text::bounds_of(at, long_mm, size_mm, Anchor::Middle, upward),
            upward,
            away: -rise.signum(),
        }
    };
    let below = -rise - size_mm * 0.75;
    let sides = [rise, below].into_iter().filter(move |_| spare >= 0.0);
    sides.flat_map(move |rise| (0..9).map(move |i| spot(i, rise)))
}

fn written(at: Point, text: String, size_mm: f64, upward: bool) -> Shape {
    Shape::Text {
        at,
        text,
        size_mm,
        anchor: Anchor::Middle,
        ink: Ink::Label,
        bold: false,
        upward,
    }
}

/// True if a wire's shapes begin with these gaps and no others.
pub fn has_gaps(shapes: &[Shape], gaps: &[Shape]) -> bool {
    let is_gap = |it: &&Shape| {
        matches!(
            it,
            Shape::Line {
                ink: Ink::Paper,
                ..
            }
        )
    };
    shapes.starts_with(gaps) && shapes.iter().take_while(is_gap).count() == gaps.len()
}

/// Gaps in the wires painted earlier where this one crosses them.
pub fn gaps(path: &[Point], earlier: &Crossings) -> Vec<Shape> {
    earlier
        .of(path)
        .into_iter()
        .map(|(at, facing, weight)| Shape::Line {
            points: vec![at.ahead(facing, -1.0), at.ahead(facing, 1.0)],
            ink: Ink::Paper,
            weight_mm: weight + 1.1,
            dash: Dash::None,
        })
        .collect()
}

/// Pieces of wires laid so far, for finding where another one crosses them.
#[derive(Default)]
pub struct Crossings {
    /// Vertical segments by x in tenths of a millimeter: top, bottom.
    upright: Map<i64, Vec<(f64, f64)>>,
    /// Level pieces by y.
    level: Map<i64, Vec<(f64, f64)>>,
}

impl Crossings {
    /// Adds a path.
    pub fn add(&mut self, path: &[Point]) {
        for piece in path.windows(2) {
            let (a, b) = (piece[0], piece[1]);
            let key = |mm: f64| (mm * 10.0).round() as i64;
            if Axis::of(way(a, b)) == Axis::Level {
                let list = self.level.or_default(key(a.y));
                list.push((a.x.min(b.x), a.x.max(b.x)));
            } else {
                let list = self.upright.or_default(key(a.x));
                list.push((a.y.min(b.y), a.y.max(b.y)));
            }
        }
    }

    /// Where a path crosses, its direction there and the width to clear.
    fn of(&self, path: &[Point]) -> Vec<(Point, Facing, f64)> {
        let mut found = Vec::new();
        for piece in path.windows(2) {
            let (a, b) = (piece[0], piece[1]);
            let facing = way(a, b);
            let is_level = Axis::of(facing) == Axis::Level;
            let (lines, along, from, to) = if is_level {
                (&self.upright, a.y, a.x.min(b.x), a.x.max(b.x))
            } else {
                (&self.level, a.x, a.y.min(b.y), a.y.max(b.y))
            };
            let range = (from * 10.0).round() as i64 + 1..(to * 10.0).round() as i64;
            for (key, pieces) in lines.range(range) {
                let at = *key as f64 / 10.0;
                if pieces
                    .iter()
                    .any(|(low, high)| *low < along && along < *high)
                {
                    let point = if is_level {
                        pt(at, along)
                    } else {
                        pt(along, at)
                    };
                    found.push((point, facing, 0.7));
                }
            }
        }
        found
    }
}
