//! Positions for the items of a sheet, from the circuit alone: sources to the left, then protection and switches,
//! then loads, grounds to the right; each next to what it is wired to. The same circuit gives the same sheet,
//! wherever the items were before.

use super::{
    frame,
    geometry::{Facing, LATTICE_MM, Rect, snap, snap_up},
    outlines,
    pen::Outline,
};
use crate::order::InOrder;
use crate::{
    document::{
        DeviceKind, Document, End, Sheet, SheetItem, SheetSize, Shown, folded, natural_cmp,
    },
    ids::{ItemId, TerminalId},
    order::{Map, Sorted},
};

/// Least distance of items above each other, mm: room for a wire and its texts.
pub(super) const GAP_MM: f64 = 10.0;
/// Least and most distance of columns, mm; between them two lattice steps a wire and room for texts.
pub(super) const LANES_MM: [f64; 2] = [32.5, 70.0];
/// How often columns take their order from adjacent columns, there and back.
const SWEEPS: usize = 6;

/// The position of an item, as in [`SheetItem`].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Position {
    x_mm: f64,
    y_mm: f64,
    mirrored: bool,
}

impl Position {
    /// The item there.
    fn put(self, item: &SheetItem) -> SheetItem {
        SheetItem {
            x_mm: self.x_mm,
            y_mm: self.y_mm,
            mirrored: self.mirrored,
            ..item.clone()
        }
    }
}

/// An item that is being placed.
struct Node {
    outline: Outline,
    kind: Option<DeviceKind>,
    is_ground: bool,
    label: String,
    rank: usize,
    y: f64,
    /// Wires: own pin, the other node, its pin.
    wires: Vec<(usize, usize, usize)>,
}

impl Node {
    fn pin_y(&self, pin: usize) -> f64 {
        self.outline.pins.get(pin).map_or(0.0, |(_, at, _)| at.y)
    }
}

/// The best positions for these items of a sheet, the others staying; none if there is no room for them.
pub fn tidy(
    document: &Document,
    sheet: &Sheet,
    items: &[ItemId],
) -> Option<Map<ItemId, SheetItem>> {
    let shown: Vec<(&ItemId, &SheetItem)> = (sheet.items.iter())
        .filter(|(id, _)| items.contains(id))
        .collect();
    let others: Vec<Rect> = (sheet.items.iter())
        .filter(|(id, _)| !items.contains(id))
        .filter_map(|(_, item)| Some(super::item::place(document, sheet, item, None)?.rect))
        .collect();
    let (w, h) = sheet.size.size_mm();
    let inside = frame::inside(w, h);
    let block = frame::block(w, h);
    let nodes = shown.iter().map(|(_, item)| *item);
    let places = lay(document, &nodes.collect::<Vec<_>>(), inside, block, &others)?;
    let stands = shown.into_iter().zip(places);
    Some(
        stands
            .map(|((id, item), place)| (id.clone(), place.put(item)))
            .collect(),
    )
}

/// Places for items, one each.
fn lay(
    document: &Document,
    items: &[&SheetItem],
    inside: Rect,
    block: Rect,
    others: &[Rect],
) -> Option<Vec<Position>> {
    let mut nodes = nodes(document, items);
    rank(&mut nodes);
    let mut columns = columns(&nodes, inside.h);
    for sweep in 0..SWEEPS {
        let forth = sweep % 2 == 0;
        let order: Vec<usize> = match forth {
            true => (0..columns.len()).collect(),
            false => (0..columns.len()).rev().collect(),
        };
        for at in order {
            settle(&mut nodes, &mut columns, at, forth);
        }
    }
    let lefts = lefts(&nodes, &columns, inside.w)?;
    let wide = lefts.last().map_or(0.0, |(left, wide)| left + wide);
    // The arrangement is centered, a little high; among other items it goes where there is room.
    let spare = ((inside.w - wide) / 2.0).max(0.0);
    let mut places = vec![Position::default(); nodes.len()];
    let top = nodes
        .iter()
        .map(|node| node.y)
        .fold(f64::INFINITY, f64::min);
    let bottom = (nodes.iter())
        .map(|node| node.y + node.outline.h_mm)
        .fold(f64::NEG_INFINITY, f64::max);
    let down = (inside.h - (bottom - top)).max(0.0) / 3.0;
    for (column, (left, wide)) in columns.iter().zip(&lefts) {
        let x = inside.x + if others.is_empty() { spare } else { 0.0 } + left;
        let right = x + wide;
        let floor = match right > block.x {
            true => block.y - LATTICE_MM,
            false => inside.bottom(),
        };
        let mut limits: Vec<f64> = Vec::new();
        let mut below = floor;
        for &at in column.iter().rev() {
            let node = &nodes[at];
            let wanted = inside.y + down + node.y - top;
            let y = wanted.min(below - node.outline.h_mm);
            limits.push(y);
            below = y - GAP_MM;
        }
        let mut above = inside.y;
        for (&at, y) in column.iter().zip(limits.iter().rev()) {
            let node = &nodes[at];
            let y = snap_up(y.max(above));
            if y + node.outline.h_mm > floor + LATTICE_MM {
                return None;
            }
            above = y + node.outline.h_mm + GAP_MM;
            let x = snap(x + (wide - node.outline.w_mm) / 2.0);
            places[at] = Position {
                x_mm: x,
                y_mm: y,
                mirrored: false,
            };
        }
    }
    if !others.is_empty() {
        let least = |of: fn(&SheetItem) -> f64| {
            items
                .iter()
                .map(|item| of(item))
                .fold(f64::INFINITY, f64::min)
        };
        let stood = (least(|item| item.x_mm), least(|item| item.y_mm));
        places = beside(&nodes, places, (inside, block), others, stood)?;
    }
    for at in 0..nodes.len() {
        places[at].mirrored = looks_back(&nodes, &places, at);
    }
    Some(places)
}

/// The same arrangement moved to where it covers nothing else, as near as possible to its position.
fn beside(
    nodes: &[Node],
    places: Vec<Position>,
    (inside, block): (Rect, Rect),
    others: &[Rect],
    stood: (f64, f64),
) -> Option<Vec<Position>> {
    let rect = |node: &Node, place: &Position| {
        Rect::new(place.x_mm, place.y_mm, node.outline.w_mm, node.outline.h_mm)
    };
    let rects: Vec<Rect> = (nodes.iter().zip(&places))
        .map(|(node, place)| rect(node, place))
        .collect();
    let least = |of: fn(&Rect) -> f64| rects.iter().map(of).fold(f64::INFINITY, f64::min);
    let (left, top) = (least(|it| it.x), least(|it| it.y));
    let fits = |dx: f64, dy: f64| {
        rects.iter().all(|it| {
            let it = it.moved(dx, dy);
            let near = it.grown(GAP_MM / 2.0);
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
    let moved = places.into_iter().map(|place| Position {
        x_mm: place.x_mm + dx,
        y_mm: place.y_mm + dy,
        ..place
    });
    Some(moved.collect())
}

fn nodes(document: &Document, items: &[&SheetItem]) -> Vec<Node> {
    let mut nodes: Vec<Node> = Vec::new();
    let mut pins: Map<End, (usize, usize)> = Map::new();
    for (at, item) in items.iter().enumerate() {
        let outline = outlines::outline(document, item, None).unwrap_or_default();
        for (n, (terminal, ..)) in outline.pins.iter().enumerate() {
            pins.or_insert(end_of(&item.shows, terminal), (at, n));
        }
        let (kind, label) = match &item.shows {
            Shown::Device { device, .. } => {
                let device = document.devices.get(device);
                (device.map(|it| it.kind), device.map_or("", |it| &it.tag))
            }
            Shown::Splice(id) => (None, id.as_str()),
            Shown::Structure(id) => (None, id.as_str()),
        };
        nodes.push(Node {
            outline,
            kind,
            is_ground: kind == Some(DeviceKind::GroundBlock)
                || matches!(item.shows, Shown::Structure(_)),
            label: label.to_owned(),
            rank: 0,
            y: 0.0,
            wires: Vec::new(),
        });
    }
    for wire in document.wires.values() {
        if let (Some(&(a, from)), Some(&(b, to))) = (pins.get(&wire.from), pins.get(&wire.to))
            && a != b
        {
            nodes[a].wires.push((from, b, to));
            nodes[b].wires.push((to, a, from));
        }
    }
    nodes
}

fn end_of(shows: &Shown, terminal: &TerminalId) -> End {
    match shows {
        Shown::Device { device, .. } => End::Terminal(device.clone(), terminal.clone()),
        Shown::Splice(id) => End::Splice(id.clone()),
        Shown::Structure(id) => End::Structure(id.clone()),
    }
}

/// How many wires each item is from the nearest source; from the first that protects or, without
/// either, from the item with most wires. Grounds come last: everything is near them.
fn rank(nodes: &mut [Node]) {
    let is_source = |node: &Node| {
        matches!(
            node.kind,
            Some(DeviceKind::Battery | DeviceKind::Alternator)
        )
    };
    let protects = |node: &Node| {
        matches!(
            node.kind,
            Some(DeviceKind::Bus | DeviceKind::Breaker | DeviceKind::Fuse)
        ) || (node.kind == Some(DeviceKind::Unit) && folded(&node.label).contains("bus"))
    };
    let mut ranks: Vec<Option<usize>> = vec![None; nodes.len()];
    let mut by_wires: Vec<usize> = (0..nodes.len()).collect();
    // An in-line connector is placed between the two sides that it connects.
    let joins = |at: usize| nodes[at].kind == Some(DeviceKind::InlineConnector);
    by_wires.order_by(|&a, &b| {
        let more = joins(a).cmp(&joins(b));
        let more = more.then(nodes[b].wires.len().cmp(&nodes[a].wires.len()));
        more.then_with(|| natural_cmp(&nodes[a].label, &nodes[b].label))
    });
    let roots = |wanted: &dyn Fn(&Node) -> bool| {
        let roots = by_wires.iter().copied();
        roots.filter(|&at| wanted(&nodes[at])).collect::<Vec<_>>()
    };
    let firsts = [roots(&is_source), roots(&protects)];
    // Each of what no root reaches is reached from its item with most wires.
    let rest = by_wires.iter().map(|&at| vec![at]);
    for roots in firsts.into_iter().chain(rest) {
        let mut front: Vec<usize> = (roots.into_iter())
            .filter(|&at| ranks[at].is_none() && !nodes[at].is_ground)
            .collect();
        for &at in &front {
            ranks[at] = Some(0);
        }
        let mut rank = 0;
        while !front.is_empty() {
            rank += 1;
            let mut next = Vec::new();
            for at in front {
                for &(_, other, _) in &nodes[at].wires {
                    if ranks[other].is_none() && !nodes[other].is_ground {
                        ranks[other] = Some(rank);
                        next.push(other);
                    }
                }
            }
            front = next;
        }
    }
    let last = ranks.iter().flatten().max().map_or(0, |rank| rank + 1);
    for (node, rank) in nodes.iter_mut().zip(ranks) {
        node.rank = rank.unwrap_or(last);
    }
}

/// The items of each rank, by label; a rank too high for the sheet takes several columns.
fn columns(nodes: &[Node], high: f64) -> Vec<Vec<usize>> {
    let ranks: Sorted<usize> = nodes.iter().map(|node| node.rank).collect();
    let mut columns = Vec::new();
    for rank in ranks {
        let mut all: Vec<usize> = (0..nodes.len())
            .filter(|&at| nodes[at].rank == rank)
            .collect();
        all.order_by(|&a, &b| natural_cmp(&nodes[a].label, &nodes[b].label));
        let total: f64 = all.iter().map(|&at| nodes[at].outline.h_mm + GAP_MM).sum();
        let count = (total / high).ceil().max(1.0);
        let mut column = Vec::new();
        let mut filled = 0.0;
        for at in all {
            let h = nodes[at].outline.h_mm + GAP_MM;
            if !column.is_empty() && (filled + h > high || filled + h / 2.0 > total / count) {
                columns.push(std::mem::take(&mut column));
                filled = 0.0;
            }
            filled += h;
            column.push(at);
        }
        columns.push(column);
    }
    columns
}

/// Puts a column in the order, and at the height, that suits the adjacent columns.
fn settle(nodes: &mut [Node], columns: &mut [Vec<usize>], at: usize, forth: bool) {
    let column_of = |node: usize| columns.iter().position(|column| column.contains(&node));
    let wish = |&node: &usize| {
        let of = |&(own, other, pin): &(usize, usize, usize)| {
            let there = column_of(other)?;
            let counts = if forth { there < at } else { there > at };
            counts.then(|| nodes[other].y + nodes[other].pin_y(pin) - nodes[node].pin_y(own))
        };
        let wishes: Vec<f64> = nodes[node].wires.iter().filter_map(of).collect();
        match wishes.is_empty() {
            true => nodes[node].y,
            false => wishes.iter().sum::<f64>() / wishes.len() as f64,
        }
    };
    let mut wanted: Vec<(f64, usize)> = (columns[at].iter())
        .map(|node| (wish(node), *node))
        .collect();
    wanted.order_by(|a, b| a.0.total_cmp(&b.0));
    // Heights that keep their distances and are nearest to what is wished: where two would come too
    // close, they and what already leans on them share their wishes (isotonic regression).
    let mut offset = 0.0;
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    let mut offsets = Vec::new();
    for &(y, node) in &wanted {
        offsets.push(offset);
        let mut block = (y - offset, 1);
        while let Some(&(mean, count)) = blocks.last()
            && mean > block.0
        {
            blocks.pop();
            let sum = mean * count as f64 + block.0 * block.1 as f64;
            block = (sum / (count + block.1) as f64, count + block.1);
        }
        blocks.push(block);
        offset += nodes[node].outline.h_mm + GAP_MM;
    }
    let means = blocks
        .into_iter()
        .flat_map(|(mean, count)| std::iter::repeat_n(mean, count));
    for ((&(_, node), offset), mean) in wanted.iter().zip(offsets).zip(means) {
        nodes[node].y = mean + offset;
    }
    columns[at] = wanted.into_iter().map(|(_, node)| node).collect();
}

/// Left edge and width of each column; none if they need more than there is.
fn lefts(nodes: &[Node], columns: &[Vec<usize>], wide: f64) -> Option<Vec<(f64, f64)>> {
    let width = |column: &Vec<usize>| {
        let widths = column.iter().map(|&at| nodes[at].outline.w_mm);
        widths.fold(0.0, f64::max)
    };
    let widths: Vec<f64> = columns.iter().map(width).collect();
    let lanes = |before: usize| {
        let left: Vec<usize> = columns[..before].concat();
        let across = left.iter().flat_map(|&at| &nodes[at].wires);
        let across = across.filter(|(_, other, _)| !left.contains(other)).count();
        snap_up((2.0 * LATTICE_MM * across as f64 + 20.0).clamp(LANES_MM[0], LANES_MM[1]))
    };
    let mut gaps: Vec<f64> = (1..columns.len()).map(lanes).collect();
    let taken: f64 = widths.iter().sum();
    let wanted: f64 = gaps.iter().sum();
    if taken + wanted > wide {
        let least = LANES_MM[0] * gaps.len() as f64;
        let spare = wide - taken - least;
        if spare < 0.0 {
            return None;
        }
        let part = spare / (wanted - least).max(LATTICE_MM);
        for gap in &mut gaps {
            let more = (*gap - LANES_MM[0]) * part / LATTICE_MM;
            *gap = LANES_MM[0] + more.floor() * LATTICE_MM;
        }
    }
    let mut x = 0.0;
    let mut lefts = Vec::new();
    for (at, width) in widths.into_iter().enumerate() {
        lefts.push((x, width));
        x += width + gaps.get(at).copied().unwrap_or(0.0);
    }
    Some(lefts)
}

/// True if more of an item's wires leave to the side that it does not face.
fn looks_back(nodes: &[Node], places: &[Position], at: usize) -> bool {
    let middle = |at: usize| places[at].x_mm + nodes[at].outline.w_mm / 2.0;
    let mut score = 0;
    for &(own, other, _) in &nodes[at].wires {
        let to_right = middle(other) > middle(at);
        score += match nodes[at].outline.pins.get(own) {
            Some((.., Facing::Right)) if to_right => 1,
            Some((.., Facing::Left)) if !to_right => 1,
            Some((.., Facing::Right | Facing::Left)) => -1,
            _ => 0,
        };
    }
    score < 0
}

/// The positions for the items of a new sheet of this paper; none if there is no room for them.
pub(super) fn placed(
    document: &Document,
    items: &[SheetItem],
    size: SheetSize,
) -> Option<Vec<SheetItem>> {
    let (w, h) = size.size_mm();
    let (inside, block) = (frame::inside(w, h), frame::block(w, h));
    let all: Vec<&SheetItem> = items.iter().collect();
    let places = lay(document, &all, inside, block, &[])?;
    let stands = items.iter().zip(places);
    Some(stands.map(|(item, place)| place.put(item)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{edit, exchange, testing::aircraft};

    fn sample(name: &str) -> Document {
        let path = format!(
            "{}/../public/samples/{name}.json",
            env!("CARGO_MANIFEST_DIR")
        );
        let file = std::fs::read(path).expect("the sample is there");
        exchange::open(&file).expect("the sample opens").document
    }

    /// Every sheet of both samples and of a made aircraft, tidied.
    fn tidied() -> Vec<(Document, crate::ids::SheetId)> {
        let mut all = Vec::new();
        for document in [sample("sorrel"), sample("teasel"), aircraft(120)] {
            for (id, sheet) in &document.sheets {
                let items: Vec<ItemId> = sheet.items.keys().cloned().collect();
                let Some(stands) = tidy(&document, sheet, &items) else {
                    continue;
                };
                let mut after = document.clone();
                let change = edit::put_items(&after, id, &stands).expect("the sheet is there");
                change.apply(&mut after).expect("made for this");
                all.push((after, id.clone()));
            }
        }
        all
    }

    fn rects(document: &Document, sheet: &Sheet) -> Vec<Rect> {
        let items = sheet.items.values();
        let placed =
            items.filter_map(|item| crate::drawing::item::place(document, sheet, item, None));
        placed.map(|it| it.rect).collect()
    }

    #[test]
    fn tidied_items_lie_inside_the_border_and_on_nothing() {
        let all = tidied();
        assert!(all.len() >= 10, "only {} sheets had room", all.len());
        for (document, id) in all {
            let sheet = &document.sheets[&id];
            let (w, h) = sheet.size.size_mm();
            let (inside, block) = (frame::inside(w, h).grown(0.1), frame::block(w, h));
            let rects = rects(&document, sheet);
            for (n, rect) in rects.iter().enumerate() {
                assert_eq!(inside.union(*rect), inside, "{id}: {rect:?}");
                assert!(!rect.overlaps(block), "{id}: {rect:?} on the title block");
                for other in &rects[n + 1..] {
                    assert!(!rect.overlaps(*other), "{id}: {rect:?} on {other:?}");
                }
            }
        }
    }

    #[test]
    fn what_is_tidy_stays() {
        for (document, id) in tidied() {
            let sheet = &document.sheets[&id];
            let items: Vec<ItemId> = sheet.items.keys().cloned().collect();
            let again = tidy(&document, sheet, &items).expect("there was room");
            assert_eq!(again, sheet.items, "{id}");
        }
    }

    #[test]
    fn sources_stand_left_and_grounds_right() {
        for (document, id) in tidied() {
            let sheet = &document.sheets[&id];
            let x = |wanted: fn(DeviceKind) -> bool| -> Vec<f64> {
                let of = |item: &&SheetItem| match &item.shows {
                    Shown::Device { device, .. } => wanted(document.devices[device].kind),
                    _ => false,
                };
                sheet
                    .items
                    .values()
                    .filter(of)
                    .map(|item| item.x_mm)
                    .collect()
            };
            let sources = x(|kind| matches!(kind, DeviceKind::Battery | DeviceKind::Alternator));
            let grounds = x(|kind| kind == DeviceKind::GroundBlock);
            for source in &sources {
                assert!(grounds.iter().all(|ground| source < ground), "{id}");
            }
        }
    }

    #[test]
    fn a_selection_is_tidied_beside_what_stays() {
        let document = sample("teasel");
        let (_, sheet) = document.sheets.iter().next().expect("a sheet");
        let some: Vec<ItemId> = sheet.items.keys().take(2).cloned().collect();
        let stands = tidy(&document, sheet, &some).expect("two fit where they were");
        assert_eq!(stands.len(), 2);
        let mut after = sheet.clone();
        for (id, item) in stands {
            after.items.insert(id, item);
        }
        let rects = rects(&document, &after);
        for (n, rect) in rects.iter().enumerate() {
            assert!(!rects[n + 1..].iter().any(|other| rect.overlaps(*other)));
        }
    }
}
