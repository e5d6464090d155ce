//! Positions for the items of a sheet, from the circuit alone: sources to the left, loads to the right of what feeds
//! them, grounds below. The same circuit gives the same sheet, wherever the items were before.
//!
//! A layered drawing with pins on sides (Sugiyama, Tagawa, Toda 1981; Gansner et al. 1993), begun in several ways; each
//! is improved by small changes, judged by wires laid on it; the best, with its wires laid with care, is kept.

mod arrange;
mod graph;
mod layers;
#[cfg(test)]
mod tests;

use self::{
    arrange::{Arrangement, room},
    graph::Node,
    layers::{Flow, Grounds, layers},
};
use super::{
    compose,
    geometry::{LATTICE_MM, Rect, snap},
    measure,
};
use crate::{
    document::{Document, Sheet, SheetItem, SheetSize, Shown},
    ids::{ItemId, SheetId, TerminalId},
    order::{InOrder, Map},
};

pub(super) use self::arrange::{GAP_MM, LANES_MM};

/// What a text on something costs, in the same units.
const UNREADABLE: u64 = 400;
/// What each unusual thing costs, in the same units.
const UNUSUAL: u64 = 200;
/// How many arrangements are looked at, times the wires on the sheet: what is more takes too long.
const LOOKS: usize = 6_000;
/// How many of the beginnings are improved, and then laid with care.
const FINAL: usize = 3;
/// What a crossing costs, in the units of the router, where a bend costs 100.
const CROSSING: u64 = 160;

/// A copy of the project in which items of one sheet are moved.
pub(super) struct Trial {
    pub(super) document: Document,
    pub(super) sheet: SheetId,
    /// The items that are placed, in the order of the arrangement.
    ids: Vec<ItemId>,
}

impl Trial {
    /// Puts items where an arrangement has them.
    fn put(&mut self, items: &[SheetItem]) {
        if let Some(sheet) = self.document.sheets.get_mut(&self.sheet) {
            for (id, item) in self.ids.iter().zip(items) {
                sheet.items.insert(id.clone(), item.clone());
            }
        }
    }

    /// What the wires cost where the items are, laid in a moment.
    fn rough(&self) -> u64 {
        let cost = compose::rough(&self.document, &self.sheet);
        cost.paths + CROSSING * cost.crossings + UNREADABLE * cost.unclear
    }

    /// What the sheet costs as it would be drawn.
    fn careful(&self) -> u64 {
        let scene = compose::scene(&self.document, &self.sheet);
        let it = measure::measure(&self.document, &self.sheet, &scene);
        let length = (it.length_mm / LATTICE_MM).round() as u64;
        let small = (it.texts_on + it.close) as u64;
        CROSSING * it.crossings as u64 + 100 * it.bends as u64 + 2 * length + UNREADABLE * small
    }
}

/// The best positions for these items of a sheet, the others staying; none if there is no room for them.
pub fn tidy(
    document: &Document,
    sheet: &SheetId,
    items: &[ItemId],
) -> Option<Map<ItemId, SheetItem>> {
    let shown = document.sheets.get(sheet)?;
    let chosen = shown.items.iter().filter(|(id, _)| items.contains(id));
    let (ids, items): (Vec<_>, Vec<_>) = chosen
        .map(|(id, item)| (id.clone(), in_order(document, item)))
        .unzip();
    let others = shown.items.iter().filter(|(id, _)| !ids.contains(id));
    let others = others.filter_map(|(_, item)| super::item::place(document, shown, item, None));
    let others: Vec<Rect> = others.map(|it| it.rect).collect();
    let mut trial = Trial {
        document: document.clone(),
        sheet: sheet.clone(),
        ids: ids.clone(),
    };
    let stood = stood(shown, &ids);
    trial.put(&items);
    let placed = best(&mut trial, &items, shown.size, &others, stood)?;
    Some(ids.into_iter().zip(placed).collect())
}

/// Upper left corner of all that is placed, before.
fn stood(sheet: &Sheet, ids: &[ItemId]) -> (f64, f64) {
    let least = |of: fn(&SheetItem) -> f64| {
        let items = ids.iter().filter_map(|id| sheet.items.get(id));
        items.map(of).fold(f64::INFINITY, f64::min)
    };
    (least(|it| it.x_mm), least(|it| it.y_mm))
}

/// The item with its terminals in the order of the device: the order that they have now does not count.
fn in_order(document: &Document, item: &SheetItem) -> SheetItem {
    let mut item = item.clone();
    if let Shown::Device {
        device, terminals, ..
    } = &mut item.shows
        && let Some(device) = document.devices.get(device)
    {
        let of = |id: &TerminalId| device.terminals.iter().position(|it| it.id == *id);
        terminals.order_by(|a, b| of(a).cmp(&of(b)));
    }
    item
}

/// The positions for the items of a new sheet of this paper; none if there is no room for them.
pub(super) fn placed(
    document: &Document,
    items: &[SheetItem],
    size: SheetSize,
    is_final: bool,
) -> Option<Vec<SheetItem>> {
    let ids: Vec<ItemId> = (0..items.len())
        .map(|n| ItemId::new(format!("new-{n}")))
        .collect();
    let mut trial = Trial {
        document: document.clone(),
        sheet: SheetId::new("new-sheet"),
        ids,
    };
    let sheet = Sheet {
        size,
        ..Sheet::default()
    };
    trial.document.sheets.insert(trial.sheet.clone(), sheet);
    trial.put(items);
    if is_final {
        return best(&mut trial, items, size, &[], (0.0, 0.0));
    }
    let nodes = graph::nodes(&trial, items);
    let room = room(size.size_mm());
    start(
        &trial,
        (items, &nodes),
        (Flow::Distance, Grounds::Middle),
        room,
    )
    .placed(room, true)
}

/// An arrangement in layers.
fn start(
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
fn best(
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
