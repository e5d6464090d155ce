//! The layers of a sheet from left to right: the first step of a layered drawing (Sugiyama, Tagawa, Toda 1981), with
//! sides for pins: what is wired to the right side of an item is right of it.

use super::graph::{Node, roots};
use crate::drawing::geometry::Facing;

/// How layers follow from the circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Flow {
    /// By the number of wires from the nearest source: all loads of a bus in one layer.
    Distance,
    /// By the sides of pins: an item with pins on both sides has neighbors on both.
    Sides,
}

/// Where grounds are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Grounds {
    /// Below the first layer.
    First,
    /// Below the layer in the middle of what they are wired to.
    Middle,
    /// Right of everything.
    Beyond,
    /// Left of everything.
    Before,
}

/// The layer of each node, from 0, and whether it is mirrored.
pub(super) fn layers(nodes: &[Node], flow: Flow, grounds: Grounds) -> (Vec<usize>, Vec<bool>) {
    let (found, mut mirrored) = match flow {
        Flow::Distance => (by_distance(nodes), vec![false; nodes.len()]),
        Flow::Sides => by_sides(nodes),
    };
    let all = || found.iter().flatten().copied();
    let (first, last) = (all().min().unwrap_or(0), all().max().unwrap_or(0));
    let mut layers: Vec<usize> = (found.iter())
        .map(|layer| layer.map_or(0, |layer| (layer - first) as usize))
        .collect();
    let beyond = (last - first) as usize + 1;
    if grounds == Grounds::Before {
        for layer in &mut layers {
            *layer += 1;
        }
    }
    for (at, node) in nodes.iter().enumerate() {
        if found[at].is_some() {
            continue;
        }
        layers[at] = match grounds {
            Grounds::First | Grounds::Before => 0,
            Grounds::Beyond => beyond,
            Grounds::Middle => {
                let others = node.ties.iter().filter(|tie| found[tie.other].is_some());
                let others: Vec<usize> = others.map(|tie| layers[tie.other]).collect();
                others.iter().sum::<usize>() / others.len().max(1)
            }
        };
        let to_right = node
            .ties
            .iter()
            .filter(|tie| layers[tie.other] >= layers[at]);
        mirrored[at] = 2 * to_right.count() >= node.ties.len().max(1)
            && node.pins.iter().any(|pin| pin.facing == Facing::Left)
            && !node.pins.iter().any(|pin| pin.facing == Facing::Right);
    }
    (layers, mirrored)
}

fn by_distance(nodes: &[Node]) -> Vec<Option<i32>> {
    let mut found: Vec<Option<i32>> = vec![None; nodes.len()];
    let all = roots(nodes);
    let starts: [Vec<usize>; 2] = [
        all.iter()
            .copied()
            .filter(|&at| nodes[at].is_source())
            .collect(),
        all.iter()
            .copied()
            .filter(|&at| nodes[at].protects())
            .collect(),
    ];
    // Each of what none of these reaches is reached from its first root.
    let rest = all.iter().map(|&at| vec![at]);
    for start in starts.into_iter().chain(rest) {
        let is_new = |at: &usize| found[*at].is_none() && !nodes[*at].is_ground;
        let mut front: Vec<usize> = start.into_iter().filter(is_new).collect();
        let mut layer = 0;
        while !front.is_empty() {
            let mut next = Vec::new();
            for at in front {
                if found[at].is_none() {
                    found[at] = Some(layer);
                    let others = nodes[at].ties.iter().map(|tie| tie.other);
                    next.extend(others.filter(|&it| found[it].is_none() && !nodes[it].is_ground));
                }
            }
            (front, layer) = (next, layer + 1);
        }
    }
    found
}

fn by_sides(nodes: &[Node]) -> (Vec<Option<i32>>, Vec<bool>) {
    let mut found: Vec<Option<i32>> = vec![None; nodes.len()];
    let mut mirrored = vec![false; nodes.len()];
    for root in roots(nodes) {
        if found[root].is_some() || nodes[root].is_ground {
            continue;
        }
        found[root] = Some(0);
        let mut open = std::collections::VecDeque::from([root]);
        let mut part = Vec::new();
        while let Some(at) = open.pop_front() {
            part.push(at);
            let layer = found[at].unwrap_or(0);
            for tie in &nodes[at].ties {
                let other = &nodes[tie.other];
                if found[tie.other].is_some() || other.is_ground {
                    continue;
                }
                let facing = turned(nodes[at].pins[tie.own].facing, mirrored[at]);
                let theirs = other.pins[tie.pin].facing;
                let ahead = match facing {
                    Facing::Left => -1,
                    Facing::Right => 1,
                    Facing::Up | Facing::Down => match theirs {
                        Facing::Right => -1,
                        _ => 1,
                    },
                };
                found[tie.other] = Some(layer + ahead);
                // It faces what it was found from.
                let wanted = if ahead > 0 {
                    Facing::Left
                } else {
                    Facing::Right
                };
                mirrored[tie.other] = theirs == wanted.mirrored();
                open.push_back(tie.other);
            }
        }
        // What no wire joins begins at the left.
        let first = part.iter().filter_map(|at| found[*at]).min().unwrap_or(0);
        for at in part {
            found[at] = found[at].map(|layer| layer - first);
        }
    }
    (found, mirrored)
}

/// A direction of an item as it is drawn.
pub(super) fn turned(facing: Facing, mirrored: bool) -> Facing {
    if mirrored { facing.mirrored() } else { facing }
}
