//! The search for the best arrangement: begun in several ways, each changed in small steps.

use super::{
    arrange::{Arrangement, GAP_MM, room},
    graph::{self, Node},
    layers::{Flow, Grounds, layers},
    trial::Trial,
};
use crate::{
    document::{SheetItem, SheetSize, Shown},
    drawing::geometry::{LATTICE_MM, Rect, snap},
    order::InOrder,
};

/// How many arrangements are looked at, times the wires on the sheet: what is more takes too long.
const LOOKS: usize = 6_000;
/// How many of the beginnings are improved, and then laid with care.
const FINAL: usize = 3;
/// What each unusual thing costs, in the same units.
const UNUSUAL: u64 = 200;

/// An arrangement in layers.
pub(super) fn start(
    trial: &Trial,
    (items, nodes): (&[SheetItem], &[Node]),
    (flow, grounds): (Flow, Grounds),
    room: (Rect, Rect),
) -> Arrangement {
    let layers = layers(nodes, flow, grounds);
    let mut it = Arrangement::new((items, nodes), layers, room.0.h);
    it.sort(trial);
    if it.placed(room, true).is_none() {
        it = it.packed(room);
        it.sort(trial);
    }
    it
}

/// The items at the best positions found.
pub(super) fn best(
    trial: &mut Trial,
    items: &[SheetItem],
    size: SheetSize,
    others: &[Rect],
    stood: (f64, f64),
) -> Option<Vec<SheetItem>> {
    let room = room(size.size_mm());
    let nodes = graph::nodes(trial, items);
    let place = |it: &Arrangement| {
        let items = it.placed(room, others.is_empty())?;
        match others.is_empty() {
            true => Some(items),
            false => beside(&it.nodes, items, room, others, stood),
        }
    };
    let flows = [Flow::Sides, Flow::Distance];
    let grounds = [
        Grounds::First,
        Grounds::Before,
        Grounds::Middle,
        Grounds::Beyond,
    ];
    let has_grounds = nodes.iter().any(|node| node.is_ground);
    let kinds = grounds.into_iter().take(if has_grounds { 4 } else { 1 });
    let kinds = kinds.flat_map(|it| flows.map(|flow| (flow, it)));
    let wires: usize = nodes.iter().map(|node| node.ties.len()).sum::<usize>() / 2;
    let looks = LOOKS / (wires + nodes.len()).max(1);
    let mut begun = Vec::new();
    for kind in kinds {
        let it = start(trial, (items, &nodes), kind, room);
        begun.extend(judged(trial, &it, &place).map(|(cost, _)| (cost, it)));
    }
    begun.order_by_key(|it| it.0);
    begun.truncate(FINAL);
    let mut found: Vec<(u64, Vec<SheetItem>)> = Vec::new();
    for (_, it) in begun {
        let Some((_, items)) = improved(trial, it, &place, looks) else {
            continue;
        };
        trial.put(&items);
        found.push((trial.careful(), items));
    }
    found.into_iter().min_by_key(|it| it.0).map(|it| it.1)
}

/// What an arrangement costs, and its items at their positions.
fn judged(
    trial: &mut Trial,
    it: &Arrangement,
    place: &impl Fn(&Arrangement) -> Option<Vec<SheetItem>>,
) -> Option<(u64, Vec<SheetItem>)> {
    let items = place(it)?;
    trial.put(&items);
    Some((trial.rough() + UNUSUAL * unusual(it) as u64, items))
}

/// What a draughtsman would not do without need: a ground above what is none, a source or bus that faces left, a node
/// out of its layer.
fn unusual(it: &Arrangement) -> usize {
    let is_ground = |at: usize| it.nodes[at].is_ground;
    let above = it.columns.iter().map(|column| {
        let pairs = column.windows(2);
        let is_above = |pair: &&[usize]| is_ground(pair[0]) && !is_ground(pair[1]);
        pairs.filter(is_above).count()
    });
    let nodes = it.nodes.iter().zip(&it.mirrored);
    let back = nodes.filter(|(node, mirrored)| **mirrored && node.protects());
    above.sum::<usize>() + back.count() + it.strays.len()
}

/// An arrangement changed in small ways as long as it gets cheaper, within so many looks: its items, and then the order
/// of its pins.
fn improved(
    trial: &mut Trial,
    mut now: Arrangement,
    place: &impl Fn(&Arrangement) -> Option<Vec<SheetItem>>,
    mut looks: usize,
) -> Option<(u64, Vec<SheetItem>)> {
    let mut best = judged(trial, &now, place)?;
    for changes in [changes, pin_changes] {
        let mut is_better = true;
        while std::mem::take(&mut is_better) {
            for change in changes(&now) {
                if looks == 0 {
                    return Some(best);
                }
                looks -= 1;
                let Some(next) = change.made(&now, trial) else {
                    continue;
                };
                if let Some(judged) = judged(trial, &next, place)
                    && judged.0 < best.0
                {
                    (best, now, is_better) = (judged, next, true);
                }
            }
        }
    }
    Some(best)
}

/// A small change of an arrangement.
#[derive(Clone, Copy)]
enum Step {
    /// A node turned around.
    Turn(usize),
    /// A node swapped with the next one of its column.
    Swap(usize),
    /// A node in the column to the left or right.
    Move(usize, isize),
    /// A pin swapped with the next one of its node.
    Pin(usize, usize),
}

fn changes(it: &Arrangement) -> Vec<Step> {
    let nodes = 0..it.nodes.len();
    let of = |at| {
        [
            Step::Turn(at),
            Step::Swap(at),
            Step::Move(at, -1),
            Step::Move(at, 1),
        ]
    };
    nodes.flat_map(of).collect()
}

fn pin_changes(it: &Arrangement) -> Vec<Step> {
    let pins = it
        .items
        .iter()
        .enumerate()
        .map(|(at, item)| match &item.shows {
            Shown::Device { terminals, .. } => (at, terminals.len()),
            _ => (at, 0),
        });
    pins.flat_map(|(at, count)| (1..count).map(move |pin| Step::Pin(at, pin - 1)))
        .collect()
}

impl Step {
    /// The arrangement with this change; none if it cannot be made.
    fn made(self, it: &Arrangement, trial: &Trial) -> Option<Arrangement> {
        let mut next = it.clone();
        match self {
            Self::Turn(at) => next.mirrored[at] = !next.mirrored[at],
            Self::Swap(at) => {
                let column = next.column_of(at);
                let column = &mut next.columns[column];
                let row = column.iter().position(|it| *it == at)?;
                if row + 1 == column.len() {
                    return None;
                }
                column.swap(row, row + 1);
            }
            Self::Move(at, by) => {
                let from = next.column_of(at);
                let to = from
                    .checked_add_signed(by)
                    .filter(|to| *to < next.columns.len())?;
                let heights = next.heights();
                next.columns[from].retain(|it| *it != at);
                let row = next.columns[to]
                    .iter()
                    .position(|it| heights[*it] > heights[at]);
                let row = row.unwrap_or(next.columns[to].len());
                next.columns[to].insert(row, at);
                next.strays.insert(at);
                next.columns.retain(|column| !column.is_empty());
            }
            Self::Pin(at, pin) => {
                let (item, node) = (&mut next.items[at], &mut next.nodes[at]);
                return graph::swap_pins(&trial.document, item, node, pin).then_some(next);
            }
        }
        next.sort_pins(trial);
        Some(next)
    }
}

/// The same arrangement moved to where it covers nothing else, as near as possible to its position.
fn beside(
    nodes: &[Node],
    items: Vec<SheetItem>,
    (inside, block): (Rect, Rect),
    others: &[Rect],
    stood: (f64, f64),
) -> Option<Vec<SheetItem>> {
    let rects: Vec<Rect> = (nodes.iter().zip(&items))
        .map(|(node, item)| Rect::new(item.x_mm, item.y_mm, node.w_mm, node.h_mm))
        .collect();
    let least = |of: fn(&Rect) -> f64| rects.iter().map(of).fold(f64::INFINITY, f64::min);
    let (left, top) = (least(|it| it.x), least(|it| it.y));
    let fits = |dx: f64, dy: f64| {
        rects.iter().all(|it| {
            let it = it.moved(dx, dy);
            let near = it.grown(GAP_MM[0] / 2.0);
            let on_sheet = it.x >= inside.x
                && it.y >= inside.y
                && it.right() <= inside.right()
                && it.bottom() <= inside.bottom();
            on_sheet && !near.overlaps(block) && !others.iter().any(|other| near.overlaps(*other))
        })
    };
    const STEP: f64 = 4.0 * LATTICE_MM;
    let steps = |from: f64, to: f64| {
        let count = ((to - from) / STEP).max(0.0) as usize;
        (0..=count).map(move |n| from + STEP * n as f64)
    };
    let spots = steps(inside.y, inside.bottom())
        .flat_map(|y| steps(inside.x, inside.right()).map(move |x| (x, y)));
    let far = |(x, y): &(f64, f64)| (x - stood.0).hypot(y - stood.1);
    let fitting = spots.filter(|(x, y)| fits(snap(x - left), snap(y - top)));
    let (x, y) = fitting.min_by(|a, b| far(a).total_cmp(&far(b)))?;
    let (dx, dy) = (snap(x - left), snap(y - top));
    let moved = items.into_iter().map(|item| SheetItem {
        x_mm: item.x_mm + dx,
        y_mm: item.y_mm + dy,
        ..item
    });
    Some(moved.collect())
}
