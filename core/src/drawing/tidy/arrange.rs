//! Columns of items and their positions: each column in an order with few crossings, each item at the height at which
//! most of its wires run straight, columns as far apart as lanes and texts need.

use super::{
    graph::{Node, Tie, sort_pins},
    layers::turned,
    trial::Trial,
};
use crate::{
    document::{DeviceKind, SheetItem, natural_cmp},
    drawing::{
        frame,
        geometry::{Facing, LATTICE_MM, Rect, snap, snap_up},
    },
    order::{InOrder, Sorted},
};

/// Distance of items above each other, mm: room for a wire and its texts; and the least where a column is full.
pub(in crate::drawing) const GAP_MM: [f64; 2] = [12.5, 5.0];
/// Least and most distance of columns for their lanes alone, mm.
pub(in crate::drawing) const LANES_MM: [f64; 2] = [42.5, 80.0];
/// Least distance of columns between which cables run, mm.
const SLEEVES_MM: f64 = 70.0;
/// Distance of columns where the sheet is full, mm.
const FULL_MM: f64 = 15.0;
/// How texts of stubs are counted between columns, until all fit: in full on both sides, short, in full on the side
/// that needs more, short there, not at all.
const LEVELS: usize = 5;
const FULL: usize = LEVELS - 1;
/// How often columns take their order from adjacent columns, there and back.
const SWEEPS: usize = 8;

/// An arrangement: what a search changes.
#[derive(Clone)]
pub(super) struct Arrangement {
    pub items: Vec<SheetItem>,
    pub nodes: Vec<Node>,
    pub columns: Vec<Vec<usize>>,
    pub mirrored: Vec<bool>,
    /// Nodes that were taken out of their layer.
    pub strays: Sorted<usize>,
}

impl Arrangement {
    /// The nodes of each layer as columns, by label; a layer too high for the sheet takes several columns.
    pub fn new(
        (items, nodes): (&[SheetItem], &[Node]),
        (layers, mirrored): (Vec<usize>, Vec<bool>),
        high_mm: f64,
    ) -> Self {
        let mut columns = Vec::new();
        for layer in 0..=layers.iter().copied().max().unwrap_or(0) {
            let mut all: Vec<usize> = (0..nodes.len()).filter(|&at| layers[at] == layer).collect();
            all.order_by(|&a, &b| {
                let ground = nodes[a].is_ground.cmp(&nodes[b].is_ground);
                ground.then_with(|| natural_cmp(&nodes[a].label, &nodes[b].label))
            });
            columns.extend(wrapped(nodes, all, high_mm));
        }
        Self {
            items: items.to_vec(),
            nodes: nodes.to_vec(),
            columns,
            mirrored,
            strays: Sorted::new(),
        }
    }

    /// Puts every column in the order that suits the adjacent ones, and pins in the order that suits their wires.
    pub fn sort(&mut self, trial: &Trial) {
        for sweep in 0..SWEEPS {
            let heights = self.heights();
            let forth = sweep % 2 == 0;
            for at in 0..self.columns.len() {
                let at = if forth {
                    at
                } else {
                    self.columns.len() - 1 - at
                };
                let wish = |&node: &usize| {
                    let wishes = self.wishes(node, &heights, |other| {
                        let there = self.column_of(other);
                        if forth { there < at } else { there > at }
                    });
                    mean(&wishes).unwrap_or(heights[node])
                };
                let mut keyed: Vec<(bool, f64, usize)> = (self.columns[at].iter())
                    .map(|node| (self.nodes[*node].is_ground, wish(node), *node))
                    .collect();
                keyed.order_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
                self.columns[at] = keyed.into_iter().map(|(.., node)| node).collect();
            }
            self.sort_pins(trial);
        }
    }

    /// Pins in the order in which their wires arrive.
    pub fn sort_pins(&mut self, trial: &Trial) {
        for at in 0..self.nodes.len() {
            let heights = self.heights();
            let node = &self.nodes[at];
            let own = self.column_of(at);
            let wanted: Vec<Option<(bool, f64)>> = (0..node.pins.len())
                .map(|pin| {
                    let ties = || node.ties.iter().filter(|tie| tie.own == pin);
                    let far = ties().map(|tie| heights[tie.other] + self.pin_y(tie.other, tie.pin));
                    let is_right = self.column_of(ties().next()?.other) > own;
                    let is_second =
                        node.kind == Some(DeviceKind::Unit) && is_right != self.mirrored[at];
                    Some((is_second, mean(&far.collect::<Vec<_>>())?))
                })
                .collect();
            sort_pins(
                &trial.document,
                &mut self.items[at],
                &mut self.nodes[at],
                &wanted,
            );
        }
    }

    fn pin_y(&self, node: usize, pin: usize) -> f64 {
        self.nodes[node].pins.get(pin).map_or(0.0, |pin| pin.at.y)
    }

    pub fn column_of(&self, node: usize) -> usize {
        let mut columns = self.columns.iter();
        columns.position(|it| it.contains(&node)).unwrap_or(0)
    }

    /// The heights at which single wires of a node would be straight.
    fn wishes(&self, node: usize, heights: &[f64], counts: impl Fn(usize) -> bool) -> Vec<f64> {
        let ties = self.nodes[node].ties.iter();
        let ties = ties.filter(|tie| counts(tie.other));
        ties.map(|tie| {
            heights[tie.other] + self.pin_y(tie.other, tie.pin) - self.pin_y(node, tie.own)
        })
        .collect()
    }

    /// The height of each node, mm from any line, in the order of its column: where most of its wires are straight.
    pub fn heights(&self) -> Vec<f64> {
        let mut heights = vec![0.0; self.nodes.len()];
        for column in &self.columns {
            let mut y = 0.0;
            for &node in column {
                heights[node] = y;
                y += self.nodes[node].h_mm + GAP_MM[0];
            }
        }
        let count = self.columns.len();
        let forth = || (0..count).map(|at| (at, [true, false]));
        let back = || (0..count).rev().map(|at| (at, [false, true]));
        let both = || (0..count).map(|at| (at, [true, true]));
        for (at, [left, right]) in forth().chain(back()).chain(both()).chain(both()) {
            self.settle(at, &mut heights, |there| {
                there < at && left || there > at && right
            });
        }
        heights
    }

    /// Heights of a column that keep its distances and are nearest to what its wires wish: where two items would come
    /// too close, they and what already leans on them share their wishes (isotonic regression by medians).
    fn settle(&self, at: usize, heights: &mut [f64], counts: impl Fn(usize) -> bool) {
        let mut offset = 0.0;
        let mut offsets = Vec::new();
        let mut blocks: Vec<(Vec<f64>, f64, usize)> = Vec::new();
        for &node in &self.columns[at] {
            offsets.push(offset);
            let mut wishes = self.wishes(node, heights, |other| counts(self.column_of(other)));
            if wishes.is_empty() {
                wishes.push(heights[node]);
            }
            for wish in &mut wishes {
                *wish -= offset;
            }
            let mut block = (wishes, 0.0, 1);
            block.1 = median(&mut block.0);
            while blocks.last().is_some_and(|it| it.1 > block.1) {
                if let Some((mut wishes, _, count)) = blocks.pop() {
                    wishes.extend(block.0);
                    block = (wishes, 0.0, count + block.2);
                    block.1 = median(&mut block.0);
                }
            }
            blocks.push(block);
            offset += self.nodes[node].h_mm + GAP_MM[0];
        }
        let medians = blocks.into_iter();
        let medians = medians.flat_map(|(_, median, count)| std::iter::repeat_n(median, count));
        for ((&node, offset), median) in self.columns[at].iter().zip(offsets).zip(medians) {
            heights[node] = median + offset;
        }
    }

    /// The items at their positions, inside the border and clear of the title block; none if they do not fit.
    pub fn placed(&self, (inside, block): (Rect, Rect), centered: bool) -> Option<Vec<SheetItem>> {
        let (lefts, wide) = self.lefts(inside.w)?;
        let spare = if centered {
            snap((inside.w - wide) / 2.0)
        } else {
            0.0
        };
        let heights = self.heights();
        let all = || self.nodes.iter().zip(&heights);
        let top = heights.iter().copied().fold(f64::INFINITY, f64::min);
        let bottom = all().fold(f64::NEG_INFINITY, |it, (node, y)| it.max(y + node.h_mm));
        let down = ((inside.h - (bottom - top)).max(0.0) / 3.0).min(40.0);
        let mut items = self.items.clone();
        for (column, (left, wide)) in self.columns.iter().zip(&lefts) {
            let x = inside.x + spare + left;
            let floor = if x + wide > block.x - LATTICE_MM {
                block.y - 2.0 * LATTICE_MM
            } else {
                inside.bottom()
            };
            let floor = (floor / LATTICE_MM).floor() * LATTICE_MM;
            let total: f64 = column.iter().map(|&at| self.nodes[at].h_mm).sum();
            let gaps = column.len().saturating_sub(1).max(1) as f64;
            let gap = (floor - inside.y - total) / gaps;
            let gap = (gap / LATTICE_MM).floor() * LATTICE_MM;
            if column.len() > 1 && gap < GAP_MM[1] || total > floor - inside.y {
                return None;
            }
            let gap = gap.min(GAP_MM[0]);
            let mut below = floor;
            let mut limits = Vec::new();
            for &at in column.iter().rev() {
                let wanted = inside.y + down + heights[at] - top;
                below = wanted.min(below - self.nodes[at].h_mm);
                limits.push(below);
                below -= gap;
            }
            let mut above = inside.y;
            for (&at, y) in column.iter().zip(limits.into_iter().rev()) {
                let y = snap(y).max(snap_up(above)).min(floor - self.nodes[at].h_mm);
                above = y + self.nodes[at].h_mm + gap;
                let item = &mut items[at];
                item.x_mm = snap(x + self.shift(at, *wide));
                item.y_mm = y;
                item.mirrored = self.mirrored[at];
            }
        }
        Some(items)
    }

    /// Where a node is in its column: at the side that faces its wires, or in the middle.
    fn shift(&self, at: usize, wide: f64) -> f64 {
        let node = &self.nodes[at];
        let spare = wide - node.w_mm;
        let faces = |wanted: Facing| {
            let ties = node.ties.iter();
            ties.filter(|tie| turned(node.pins[tie.own].facing, self.mirrored[at]) == wanted)
                .count()
        };
        match faces(Facing::Left).cmp(&faces(Facing::Right)) {
            std::cmp::Ordering::Greater => 0.0,
            std::cmp::Ordering::Equal => spare / 2.0,
            std::cmp::Ordering::Less => spare,
        }
    }

    /// Left edge and width of each column, and the width of all; none if they need more than there is.
    fn lefts(&self, wide: f64) -> Option<(Vec<(f64, f64)>, f64)> {
        let reach = |column: &Vec<usize>, side: usize, short: bool| {
            let nodes = column.iter();
            let of = |&at: &usize| self.nodes[at].reach_mm(self.mirrored[at], short)[side];
            nodes.map(of).fold(0.0, f64::max)
        };
        let lanes = |before: usize| {
            let left = self.columns[..before].concat();
            let ties = left.iter().flat_map(|&at| &self.nodes[at].ties);
            let across = ties.filter(|tie| !left.contains(&tie.other)).count();
            LATTICE_MM * (across as f64 + 1.0)
        };
        // Sleeves at both ends, and a number between them.
        let is_shielded = |before: usize| {
            let is_left = |tie: &Tie| self.column_of(tie.other) == before;
            let in_cable = |node: &Node, tie: &Tie| {
                node.pins
                    .get(tie.own)
                    .is_some_and(|pin| pin.cable.is_some())
            };
            self.columns[before - 1].iter().any(|&at| {
                let node = &self.nodes[at];
                node.ties
                    .iter()
                    .any(|tie| is_left(tie) && in_cable(node, tie))
            })
        };
        for level in 0..LEVELS {
            let (mut x, mut lefts) = (0.0, Vec::new());
            let is_short = level % 2 == 1;
            for (at, column) in self.columns.iter().enumerate() {
                let right = match at {
                    0 => 0.0,
                    _ => reach(&self.columns[at - 1], 1, is_short),
                };
                let left = reach(column, 0, is_short);
                let texts = if level < 2 {
                    right + left
                } else {
                    right.max(left)
                };
                let lanes_mm = lanes(at);
                let gap = match (at, level) {
                    (0, FULL) => 0.0,
                    (0, _) => left,
                    (_, FULL) => FULL_MM,
                    _ => {
                        let least = if is_shielded(at) {
                            SLEEVES_MM
                        } else {
                            LANES_MM[0]
                        };
                        let room = (lanes_mm + 20.0).clamp(least, LANES_MM[1]);
                        (texts + lanes_mm).max(room)
                    }
                };
                x += snap_up(gap);
                let widths = column.iter().map(|&at| self.nodes[at].w_mm);
                let width = widths.fold(0.0, f64::max);
                lefts.push((x, width));
                x += width;
            }
            let last = self.columns.last().map_or(0.0, |it| reach(it, 1, is_short));
            let all = x + if level == FULL { 0.0 } else { snap_up(last) };
            if all <= wide {
                return Some((lefts, all));
            }
        }
        None
    }

    /// The same items in as few columns as hold them.
    pub fn packed(mut self, (inside, block): (Rect, Rect)) -> Self {
        let all = self.columns.concat();
        self.columns = wrapped(&self.nodes, all, block.y - inside.y - 10.0);
        self
    }
}

/// Nodes in columns no higher than this, and about as high as each other.
fn wrapped(nodes: &[Node], all: Vec<usize>, high_mm: f64) -> Vec<Vec<usize>> {
    let height = |at: usize| nodes[at].h_mm + GAP_MM[1];
    let high_mm = high_mm + GAP_MM[1];
    let total: f64 = all.iter().map(|&at| height(at)).sum();
    let count = (total / high_mm).ceil().max(1.0);
    let (mut columns, mut column, mut filled) = (Vec::new(), Vec::new(), 0.0);
    for at in all {
        let h = height(at);
        if !column.is_empty() && (filled + h > high_mm || filled + h / 2.0 > total / count) {
            columns.push(std::mem::take(&mut column));
            filled = 0.0;
        }
        filled += h;
        column.push(at);
    }
    if !column.is_empty() {
        columns.push(column);
    }
    columns
}

fn mean(all: &[f64]) -> Option<f64> {
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}

/// The middle value, one of those given.
fn median(all: &mut [f64]) -> f64 {
    all.order_by(f64::total_cmp);
    all.get(all.len().saturating_sub(1) / 2)
        .copied()
        .unwrap_or(0.0)
}

/// The area inside the border and the title block of a paper.
pub(super) fn room((w, h): (f64, f64)) -> (Rect, Rect) {
    (frame::inside(w, h), frame::block(w, h))
}
