//! Cables: a dashed sleeve around the cores near their ends, closed where the shield is tied, open
//! where it floats; a slanting stroke where cores are twisted; the cable's label.

use std::collections::BTreeMap;

use super::{
    geometry::{Facing, LATTICE_MM, PITCH_MM, Point, Rect, pt},
    names,
    paths::{Job, Stop, grid::Grid},
    scene::{Anchor, Dash, Group, Ink, PinSpot, Shape},
    text,
    wires::Pins,
};
use crate::{
    document::{Cable, CableKind, Document, End, ShieldEnd, WireEnd},
    ids::{CableId, WireId},
};

/// From a core's line to the sleeve around it, mm.
const ROOM_MM: f64 = LATTICE_MM / 2.0;

/// The end of a cable where it is shown: its cores side by side.
#[derive(Clone, Debug)]
pub struct Loom {
    cable: CableId,
    end: WireEnd,
    facing: Facing,
    /// Pins of the cores, in runs of neighbours, along the side of the device.
    runs: Vec<Vec<Point>>,
    /// The job of the shield's pigtail, if it is tied to something on this sheet.
    pub pigtail: Option<usize>,
}

/// How many steps the cores of each cable go straight before they may turn.
pub fn straight(document: &Document) -> BTreeMap<WireId, u32> {
    let mut steps = BTreeMap::new();
    for cable in document.cables.values() {
        for wire in &cable.wires {
            steps.insert(wire.clone(), steps_of(cable));
        }
    }
    steps
}

fn is_twisted(cable: &Cable) -> bool {
    matches!(cable.kind, CableKind::Twisted | CableKind::TwistedShielded) && cable.wires.len() > 1
}

fn steps_of(cable: &Cable) -> u32 {
    1 + if cable.shield.is_some() { 3 } else { 0 } + if is_twisted(cable) { 2 } else { 0 }
}

/// The ends of all cables that are shown; adds a job for each pigtail.
pub fn looms(document: &Document, pins: &Pins, jobs: &mut Vec<Job>) -> Vec<Loom> {
    let mut looms = Vec::new();
    let mut joint = u32::MAX;
    for (id, cable) in &document.cables {
        for end in [WireEnd::From, WireEnd::To] {
            for (facing, at) in core_pins(document, cable, end, pins) {
                let mut loom = Loom {
                    cable: id.clone(),
                    end,
                    facing,
                    runs: runs(at, facing),
                    pigtail: None,
                };
                if let Some(pin) = tie(cable, end).and_then(|tie| near(pins, tie, &loom)) {
                    joint -= 1;
                    loom.pigtail = Some(jobs.len());
                    jobs.push(loom.pigtail_job(pin, joint));
                }
                looms.push(loom);
            }
        }
    }
    looms
}

fn tie(cable: &Cable, end: WireEnd) -> Option<&End> {
    shield_end(cable, end)?.at()
}

fn shield_end(cable: &Cable, end: WireEnd) -> Option<&ShieldEnd> {
    let shield = cable.shield.as_ref()?;
    Some(match end {
        WireEnd::From => &shield.from,
        WireEnd::To => &shield.to,
    })
}

/// Pins of the cores at one end, by the side of the device they are on.
fn core_pins(
    document: &Document,
    cable: &Cable,
    end: WireEnd,
    pins: &Pins,
) -> Vec<(Facing, Vec<Point>)> {
    let mut sides: BTreeMap<(Facing, i64), Vec<Point>> = BTreeMap::new();
    for wire in cable
        .wires
        .iter()
        .filter_map(|wire| document.wires.get(wire))
    {
        let at = match end {
            WireEnd::From => &wire.from,
            WireEnd::To => &wire.to,
        };
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
            .entry((pin.facing, (line * 10.0) as i64))
            .or_default()
            .push(pin.at);
    }
    sides
        .into_iter()
        .map(|((facing, _), at)| (facing, at))
        .collect()
}

/// Pins in runs of neighbours.
fn runs(mut at: Vec<Point>, facing: Facing) -> Vec<Vec<Point>> {
    at.sort_by(|a, b| across(*a, facing).total_cmp(&across(*b, facing)));
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
fn near<'a>(pins: &'a Pins, end: &End, loom: &Loom) -> Option<&'a PinSpot> {
    let first = loom.runs.first()?.first()?;
    let found = pins.values().filter(|pin| pin.end == *end);
    found.min_by(|a, b| a.at.distance(*first).total_cmp(&b.at.distance(*first)))
}

impl Loom {
    fn pigtail_job(&self, pin: &PinSpot, joint: u32) -> Job {
        let (level, target) = (across(pin.at, self.facing), pin.at);
        // Out of the side of the sleeve that is closest to the pin.
        let ends = self
            .runs
            .iter()
            .flat_map(|run| [(run[0], false), (run[run.len() - 1], true)]);
        let (core, after) = ends
            .min_by(|a, b| {
                let far = |(at, after): &(Point, bool)| {
                    let gap = level - across(*at, self.facing);
                    if (gap >= 0.0) == *after {
                        gap.abs()
                    } else {
                        gap.abs() + 1000.0
                    }
                };
                far(a).total_cmp(&far(b))
            })
            .unwrap_or((target, true));
        let is_level = matches!(self.facing, Facing::Left | Facing::Right);
        let out = match (is_level, after) {
            (true, true) => Facing::Down,
            (true, false) => Facing::Up,
            (false, true) => Facing::Right,
            (false, false) => Facing::Left,
        };
        let from = Stop {
            at: core.ahead(self.facing, 2.0 * LATTICE_MM),
            facing: Some(out),
            straight: 1,
            joint,
        };
        let to = Stop {
            at: target,
            facing: (!matches!(pin.end, End::Splice(_))).then_some(pin.facing),
            straight: 1,
            joint: joint / 2,
        };
        Job { ends: [from, to] }
    }

    /// The sleeve's boxes, one around each run of cores.
    fn sleeves(&self, cable: &Cable) -> Vec<Rect> {
        let begin = match shield_end(cable, self.end) {
            Some(ShieldEnd::Floating) => 3.2,
            _ => 2.0,
        };
        let long = if cable.shield.is_some() {
            4.0 * LATTICE_MM - 0.6
        } else {
            LATTICE_MM
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
        if let Some(end) = shield_end(cable, self.end) {
            let is_closed = !matches!(end, ShieldEnd::Floating);
            for sleeve in &sleeves {
                shapes.push(dashed(sleeve_line(*sleeve, self.facing, is_closed)));
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
        let mut text = cable.label.clone();
        if let (None, Some(far)) = (self.pigtail, tie(cable, self.end)) {
            text = format!("{text}, shield to {}", names::end(document, far));
        }
        if text.trim().is_empty() {
            return None;
        }
        let last = self.sleeves(cable).last().copied().unwrap_or(sleeve);
        let (x, anchor) = match self.facing {
            Facing::Left => (sleeve.right(), Anchor::End),
            _ => (sleeve.x, Anchor::Start),
        };
        let spots = [pt(x, sleeve.y - 0.5), pt(x, last.bottom() + 2.0)];
        let room = |at: &Point| text::bounds(*at, &text, text::SMALL_MM, anchor, true, false);
        let at = *spots
            .iter()
            .find(|at| grid.is_clear(room(at)))
            .unwrap_or(&spots[0]);
        grid.write(room(&at));
        Some(Shape::Text {
            at,
            text,
            size_mm: text::SMALL_MM,
            anchor,
            ink: Ink::Shield,
            bold: true,
            upward: false,
        })
    }
}

/// Both long sides of a sleeve, joined at the device's end if the shield is tied there.
fn sleeve_line(rect: Rect, facing: Facing, is_closed: bool) -> Vec<Point> {
    let (l, r, t, b) = (rect.x, rect.right(), rect.y, rect.bottom());
    // From the far end along one side to the device, and back along the other.
    let [a, near_a, near_b, z] = match facing {
        Facing::Right => [pt(r, t), pt(l, t), pt(l, b), pt(r, b)],
        Facing::Left => [pt(l, t), pt(r, t), pt(r, b), pt(l, b)],
        Facing::Down => [pt(l, b), pt(l, t), pt(r, t), pt(r, b)],
        Facing::Up => [pt(l, t), pt(l, b), pt(r, b), pt(r, t)],
    };
    // An open sleeve is closed at the far side instead, where the cable goes on under its jacket.
    if is_closed {
        vec![a, near_a, near_b, z]
    } else {
        vec![near_a, a, z, near_b]
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
    looms: &[Loom],
    paths: &[Vec<Point>],
    grid: &mut Grid,
) -> BTreeMap<CableId, (Group, Vec<Rect>)> {
    let mut drawn: BTreeMap<CableId, (Vec<Shape>, Vec<Rect>)> = BTreeMap::new();
    for loom in looms {
        let Some(cable) = document.cables.get(&loom.cable) else {
            continue;
        };
        let (shapes, sleeves) = drawn.entry(loom.cable.clone()).or_default();
        loom.shapes(document, cable, grid, shapes);
        sleeves.extend(loom.sleeves(cable));
        if let Some(path) = loom.pigtail.and_then(|job| paths.get(job)) {
            let mut path = path.clone();
            if let [first, second, ..] = path.as_mut_slice() {
                // It begins at the sleeve, not at the core inside.
                *first = first.ahead(super::paths::grid::way(*first, *second), ROOM_MM);
            }
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
