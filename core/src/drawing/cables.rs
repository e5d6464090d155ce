//! Cables: a dashed oval around the cores near their ends for the shield (IEC 60617 03-01-07), with its drain where it
//! is grounded, "cut and sleeved" where it floats; a slanting stroke where cores are twisted; the cable's label.

use super::{
    geometry::{Facing, LATTICE_MM, PITCH_MM, Point, Rect, pt},
    names,
    paths::{Job, Stop, grid::Grid},
    scene::{Anchor, Dash, Group, Ink, PinSpot, Shape},
    text,
    wires::{Crossings, Pins},
};
use crate::order::InOrder;
use crate::order::Map;
use crate::{
    document::{Cable, CableKind, Document, End, ShieldEnd, WireEnd},
    ids::{CableId, WireId},
};

/// From a core's line to the sleeve around it, mm.
const ROOM_MM: f64 = LATTICE_MM / 2.0;
/// Distance from the pins to the sleeve, mm: room for two lanes of pigtails.
const SLEEVE_MM: f64 = 2.0 * LATTICE_MM + 0.8;
/// Length of a sleeve, mm.
const LONG_MM: f64 = 5.0;
/// Beyond a sleeve, mm, where no wire of another cable had better run.
const SLEEVE_EDGE_MM: f64 = 0.6;
/// Lanes for pigtails between pins and sleeves.
const LANES: u32 = 2;

/// The end of a cable where it is shown: its cores side by side.
#[derive(Clone, Debug)]
pub struct CableEnd {
    cable: CableId,
    end: WireEnd,
    facing: Facing,
    /// Pins of the cores along the side of the device, as runs of adjacent pins.
    runs: Vec<Vec<Point>>,
    /// How the shield is routed to its ground, if that is on this sheet.
    pigtail: Option<Pigtail>,
    /// True if the same end of the cable is shown on another side of the device too: what is to be said of the
    /// shield is said there.
    is_second: bool,
}

/// The path of a shield from the sleeve to its ground.
#[derive(Clone, Debug)]
enum Pigtail {
    /// Along a lane between the pins and the sleeves, to a pin of the same side.
    Lane(Vec<Point>),
    /// A routed path: the index of its job.
    Job(usize),
}

/// How many steps the cores of each cable go straight before they may turn.
pub fn straight(document: &Document) -> Map<WireId, u32> {
    let mut steps = Map::new();
    for cable in document.cables.values() {
        for wire in &cable.wires {
            steps.insert(wire.clone(), steps_of(cable));
        }
    }
    steps
}

pub(super) fn is_twisted(cable: &Cable) -> bool {
    matches!(cable.kind, CableKind::Twisted | CableKind::TwistedShielded) && cable.wires.len() > 1
}

fn steps_of(cable: &Cable) -> u32 {
    1 + if cable.shield.is_some() { 4 } else { 0 } + if is_twisted(cable) { 2 } else { 0 }
}

/// The ends of all cables that are shown. Pigtails to pins on the same side get lanes; each of the others adds a
/// routing job.
pub fn ends(
    document: &Document,
    pins: &Pins,
    grid: &mut Grid,
    jobs: &mut Vec<Job>,
) -> Vec<CableEnd> {
    let mut ends = Vec::new();
    let mut lanes = Lanes::new();
    for (id, cable) in &document.cables {
        for end in [WireEnd::From, WireEnd::To] {
            for (n, (facing, at)) in core_pins(document, cable, end, pins)
                .into_iter()
                .enumerate()
            {
                let mut cable_end = CableEnd {
                    cable: id.clone(),
                    end,
                    facing,
                    runs: runs(at, facing),
                    pigtail: None,
                    is_second: n > 0,
                };
                let tie = cable.shield_at(end).filter(|_| n == 0);
                if let Some(pin) = tie.and_then(|tie| near(pins, tie, &cable_end)) {
                    let pigtail = cable_end.lane(pin, &mut lanes).map_or_else(
                        || {
                            jobs.push(cable_end.pigtail_job(pin, u32::MAX - jobs.len() as u32));
                            Pigtail::Job(jobs.len() - 1)
                        },
                        Pigtail::Lane,
                    );
                    if let Pigtail::Lane(path) = &pigtail {
                        // A number no job has: wires may cross it, none may run along it.
                        grid.lay_path(&path[1..], u32::MAX, |_| true);
                    }
                    cable_end.pigtail = Some(pigtail);
                }
                if cable.shield.is_some() {
                    for sleeve in cable_end.sleeves(cable) {
                        // Its edges are lines of their own.
                        grid.shade(sleeve.grown(SLEEVE_EDGE_MM));
                    }
                }
                ends.push(cable_end);
            }
        }
    }
    ends
}

/// Pieces of lanes taken, by side of a device (facing and line) and lane: from, to, pin.
type Lanes = Map<(Facing, i64, u32), Vec<(f64, f64, End)>>;

fn shield_end(cable: &Cable, end: WireEnd) -> Option<&ShieldEnd> {
    Some(cable.shield.as_ref()?.end(end))
}

/// Pins of the cores at one end, by the side of the device they are on.
fn core_pins(
    document: &Document,
    cable: &Cable,
    end: WireEnd,
    pins: &Pins,
) -> Vec<(Facing, Vec<Point>)> {
    let mut sides: Map<(Facing, i64), Vec<Point>> = Map::new();
    for wire in cable
        .wires
        .iter()
        .filter_map(|wire| document.wires.get(wire))
    {
        let at = wire.end(end);
        let Some(pin) = pins.values().find(|pin| pin.end == *at) else {
            continue;
        };
        if matches!(pin.end, End::Splice(_)) {
            continue;
        }
        let line = match pin.facing {
            Facing::Left | Facing::Right => pin.at.x,
            Facing::Up | Facing::Down => pin.at.y,
        };
        sides
            .or_default((pin.facing, (line * 10.0) as i64))
            .push(pin.at);
    }
    sides
        .into_iter()
        .map(|((facing, _), at)| (facing, at))
        .collect()
}

/// Pins as runs of adjacent pins.
fn runs(mut at: Vec<Point>, facing: Facing) -> Vec<Vec<Point>> {
    at.order_by(|a, b| across(*a, facing).total_cmp(&across(*b, facing)));
    at.dedup();
    let mut runs: Vec<Vec<Point>> = Vec::new();
    for point in at {
        match runs.last_mut() {
            Some(run)
                if across(point, facing) - across(run[run.len() - 1], facing) <= PITCH_MM + 0.1 =>
            {
                run.push(point);
            }
            _ => runs.push(vec![point]),
        }
    }
    runs
}

/// Coordinate along the side of the device.
fn across(at: Point, facing: Facing) -> f64 {
    match facing {
        Facing::Left | Facing::Right => at.y,
        Facing::Up | Facing::Down => at.x,
    }
}

/// The closest pin with this end.
fn near<'a>(pins: &'a Pins, end: &End, cable_end: &CableEnd) -> Option<&'a PinSpot> {
    let first = cable_end.runs.first()?.first()?;
    let found = pins.values().filter(|pin| pin.end == *end);
    found.min_by(|a, b| a.at.distance(*first).total_cmp(&b.at.distance(*first)))
}

impl CableEnd {
    /// Where a pigtail leaves the sleeve: the core nearest to the pin, and whether the pin comes after it (below or
    /// to the right).
    fn exit(&self, pin: &PinSpot) -> Option<(&Vec<Point>, bool)> {
        let level = across(pin.at, self.facing);
        let gap = |run: &&Vec<Point>| (level - across(run[0], self.facing)).abs();
        let run = self.runs.iter().min_by(|a, b| gap(a).total_cmp(&gap(b)))?;
        Some((run, level > across(run[0], self.facing)))
    }

    /// A path along a free lane to a pin on the same side; none if the pin is elsewhere or no lane is free.
    fn lane(&self, pin: &PinSpot, lanes: &mut Lanes) -> Option<Vec<Point>> {
        let (run, after) = self.exit(pin)?;
        let is_level = matches!(self.facing, Facing::Left | Facing::Right);
        let line = |at: Point| if is_level { at.x } else { at.y };
        if pin.facing != self.facing || line(pin.at) != line(run[0]) {
            return None;
        }
        // Between the last two cores on that side, or next to the only one.
        let sign = if after { 1.0 } else { -1.0 };
        let last = if after { run[run.len() - 1] } else { run[0] };
        let shift = if run.len() > 1 { -LATTICE_MM } else { ROOM_MM } * sign;
        let (begin, end) = (
            across(last, self.facing) + shift,
            across(pin.at, self.facing),
        );
        let (low, high) = (begin.min(end), begin.max(end));
        let key = (self.facing, (line(pin.at) * 10.0) as i64);
        let lane = (1..=LANES).find(|lane| {
            let taken = lanes
                .get(&(key.0, key.1, *lane))
                .map_or(&[][..], Vec::as_slice);
            taken
                .iter()
                .all(|(a, b, to)| *to == pin.end || high < *a || *b < low)
        })?;
        lanes
            .or_default((key.0, key.1, lane))
            .push((low, high, pin.end.clone()));
        let at = |across: f64, ahead: f64| {
            let base = if is_level {
                pt(pin.at.x, across)
            } else {
                pt(across, pin.at.y)
            };
            base.ahead(self.facing, ahead)
        };
        let lane_mm = f64::from(lane) * LATTICE_MM;
        // An oval around one core is as long as it is flat: its near end is round.
        let edge_mm = if run.len() > 1 { 0.0 } else { ROOM_MM };
        Some(vec![
            at(begin, SLEEVE_MM + edge_mm),
            at(begin, lane_mm),
            at(end, lane_mm),
            pin.at,
        ])
    }

    fn pigtail_job(&self, pin: &PinSpot, joint: u32) -> Job {
        let (core, after) = match self.exit(pin) {
            Some((run, true)) => (run[run.len() - 1], true),
            Some((run, false)) => (run[0], false),
            None => (pin.at, true),
        };
        let is_level = matches!(self.facing, Facing::Left | Facing::Right);
        let out = match (is_level, after) {
            (true, true) => Facing::Down,
            (true, false) => Facing::Up,
            (false, true) => Facing::Right,
            (false, false) => Facing::Left,
        };
        let from = Stop {
            at: core.ahead(self.facing, 3.0 * LATTICE_MM),
            facing: Some(out),
            straight: 1,
            joint,
        };
        let to = Stop {
            at: pin.at,
            facing: (!matches!(pin.end, End::Splice(_))).then_some(pin.facing),
            straight: 1,
            joint,
        };
        Job {
            ends: [from, to],
            by: None,
        }
    }

    /// The path of the pigtail as painted, if it has one.
    fn pigtail_path(&self, laid: &[Vec<Point>]) -> Option<Vec<Point>> {
        match self.pigtail.as_ref()? {
            Pigtail::Lane(path) => Some(path.clone()),
            Pigtail::Job(job) => {
                let mut path = laid.get(*job)?.clone();
                if let [first, second, ..] = path.as_mut_slice() {
                    // It begins at the sleeve, not at the core inside.
                    *first = first.ahead(super::paths::grid::way(*first, *second), ROOM_MM);
                }
                Some(path)
            }
        }
    }

    /// The sleeve's boxes, one around each run of cores.
    fn sleeves(&self, cable: &Cable) -> Vec<Rect> {
        let (begin, long) = match cable.shield {
            Some(_) => (SLEEVE_MM, SLEEVE_MM + LONG_MM),
            None => (0.6, LATTICE_MM),
        };
        let around = |run: &Vec<Point>| {
            let corners = run
                .iter()
                .flat_map(|at| [at.ahead(self.facing, begin), at.ahead(self.facing, long)]);
            let rect = Rect::around(corners);
            match self.facing {
                Facing::Left | Facing::Right => {
                    Rect::new(rect.x, rect.y - ROOM_MM, rect.w, rect.h + 2.0 * ROOM_MM)
                }
                Facing::Up | Facing::Down => {
                    Rect::new(rect.x - ROOM_MM, rect.y, rect.w + 2.0 * ROOM_MM, rect.h)
                }
            }
        };
        self.runs.iter().map(around).collect()
    }

    fn shapes(&self, document: &Document, cable: &Cable, grid: &mut Grid, shapes: &mut Vec<Shape>) {
        let sleeves = self.sleeves(cable);
        if cable.shield.is_some() {
            for sleeve in &sleeves {
                shapes.push(oval(*sleeve));
            }
            for pair in sleeves.windows(2) {
                let (a, b) = (pair[0].centre(), pair[1].centre());
                shapes.push(dashed(match self.facing {
                    Facing::Left | Facing::Right => {
                        vec![pt(a.x, pair[0].bottom()), pt(b.x, pair[1].y)]
                    }
                    Facing::Up | Facing::Down => vec![pt(pair[0].right(), a.y), pt(pair[1].x, b.y)],
                }));
            }
        }
        if is_twisted(cable) {
            let ahead = f64::from(steps_of(cable)) * LATTICE_MM - 2.0;
            for run in self.runs.iter().filter(|run| run.len() > 1) {
                twist(shapes, run, self.facing, ahead);
            }
        }
        if let Some(sleeve) = sleeves.first() {
            let shapes_label = self.label(document, cable, *sleeve, grid);
            shapes.extend(shapes_label);
        }
    }

    fn label(
        &self,
        document: &Document,
        cable: &Cable,
        sleeve: Rect,
        grid: &mut Grid,
    ) -> Option<Shape> {
        let label = cable.label.trim();
        let (full, short) = match (&self.pigtail, cable.shield_at(self.end)) {
            _ if self.is_second => (String::new(), String::new()),
            (None, Some(far)) => {
                let far = names::end(document, far);
                (
                    format!("{label}, shield to {far}"),
                    format!("{label} to {far}"),
                )
            }
            _ if self.floats(cable) => (
                format!("{label} shield cut and sleeved"),
                format!("{label} cut, sleeved"),
            ),
            _ => (String::new(), String::new()),
        };
        let texts = [full.trim(), short.trim(), label];
        let mut texts = texts.into_iter().filter(|text| !text.is_empty());
        texts.find_map(|text| self.written(cable, sleeve, text, grid))
    }

    /// True if the shield is connected to nothing at this end.
    fn floats(&self, cable: &Cable) -> bool {
        matches!(shield_end(cable, self.end), Some(ShieldEnd::Floating))
    }

    /// A text next to the sleeve, where there is room.
    fn written(&self, cable: &Cable, sleeve: Rect, text: &str, grid: &mut Grid) -> Option<Shape> {
        let last = self.sleeves(cable).last().copied().unwrap_or(sleeve);
        let (x, anchor, beyond) = match self.facing {
            Facing::Left => (sleeve.right(), Anchor::End, sleeve.x),
            _ => (sleeve.x, Anchor::Start, sleeve.right()),
        };
        let middle = f64::midpoint(sleeve.y, last.bottom()) + text::SMALL_MM / 3.0;
        let spots = [
            pt(x, sleeve.y - 0.5),
            pt(x, last.bottom() + 2.0),
            pt(beyond, sleeve.y - 0.5),
            pt(beyond, last.bottom() + 2.0),
            pt(beyond, middle),
        ];
        let room = |at: &Point| text::bounds(*at, text, text::SMALL_MM, anchor, true, false);
        // Where there is room at neither end, the cable's name is in its details.
        let at = spots.into_iter().find(|at| grid.is_clear(room(at)))?;
        grid.write(room(&at));
        Some(Shape::Text {
            at,
            text: text.to_owned(),
            size_mm: text::SMALL_MM,
            anchor,
            ink: Ink::Shield,
            bold: true,
            upward: false,
        })
    }
}

/// The oval of a shield.
pub(super) fn oval(rect: Rect) -> Shape {
    Shape::Rect {
        rect,
        radius_mm: rect.w.min(rect.h) / 2.0,
        fill: None,
        ink: Ink::Shield,
        weight_mm: 0.35,
        dash: Dash::Dashed,
    }
}

fn dashed(points: Vec<Point>) -> Shape {
    Shape::Line {
        points,
        ink: Ink::Shield,
        weight_mm: 0.35,
        dash: Dash::Dashed,
    }
}

/// Twisted cores: a slanting stroke across them, hooked at both ends (IEC 60617 03-01-08).
fn twist(shapes: &mut Vec<Shape>, run: &[Point], facing: Facing, ahead: f64) {
    let (first, last) = (
        run[0].ahead(facing, ahead),
        run[run.len() - 1].ahead(facing, ahead),
    );
    let points = match facing {
        Facing::Left | Facing::Right => vec![
            first.moved(-0.4, -1.6),
            first.moved(0.8, -1.2),
            last.moved(-0.8, 1.2),
            last.moved(0.4, 1.6),
        ],
        Facing::Up | Facing::Down => vec![
            first.moved(-1.6, -0.4),
            first.moved(-1.2, 0.8),
            last.moved(1.2, -0.8),
            last.moved(1.6, 0.4),
        ],
    };
    shapes.push(Shape::Line {
        points,
        ink: Ink::Shield,
        weight_mm: 0.35,
        dash: Dash::None,
    });
}

/// The group of each cable that is shown, and the boxes of its sleeves.
pub fn draw(
    document: &Document,
    ends: &[CableEnd],
    paths: &[Vec<Point>],
    grid: &mut Grid,
    crossings: &mut Crossings,
) -> Map<CableId, (Group, Vec<Rect>)> {
    let mut drawn: Map<CableId, (Vec<Shape>, Vec<Rect>)> = Map::new();
    for cable_end in ends {
        let Some(cable) = document.cables.get(&cable_end.cable) else {
            continue;
        };
        let (shapes, sleeves) = drawn.or_default(cable_end.cable.clone());
        cable_end.shapes(document, cable, grid, shapes);
        for sleeve in cable_end.sleeves(cable) {
            if cable.shield.is_some() {
                // No wire's text is written on it.
                grid.write(sleeve);
            }
            sleeves.push(sleeve);
        }
        if let Some(path) = cable_end.pigtail_path(paths) {
            crossings.add(&path[1..]);
            shapes.push(Shape::Line {
                points: path,
                ink: Ink::Shield,
                weight_mm: 0.5,
                dash: Dash::None,
            });
        }
    }
    let group = |id: &CableId, shapes| {
        let label = document
            .cables
            .get(id)
            .map_or("", |cable| cable.label.as_str());
        Group::new(shapes, format!("Cable {label}"))
    };
    drawn
        .into_iter()
        .map(|(id, (shapes, sleeves))| (id.clone(), (group(&id, shapes), sleeves)))
        .collect()
}
