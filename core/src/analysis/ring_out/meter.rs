//! What an ohmmeter shows on wiring with one fault.
//!
//! What no drawing shows is taken at the value that hides most: points closed, antennas and probes grounded, parts
//! of unknown ohms nearly a short.

use std::{cell::RefCell, collections::VecDeque};

use petgraph::graph::NodeIndex;

use super::{faults::Change, least::BENCH_C};
use crate::{
    document::LoadLaw,
    netlist::{EdgeKind, Netlist},
    order::{Grouped, InOrder},
    solve::resistance::edge_ohm,
};

/// Metal that touches metal, ohm.
const TOUCH_OHM: f64 = 1e-6;
/// A part whose ohms nobody gave, ohm (reasoned: a motor at rest).
const LOW_OHM: f64 = 0.5;

/// Something that conducts between two nodes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    pub(super) ends: [usize; 2],
    pub(super) ohm: f64,
    /// False for a part that stays joined, such as a lamp.
    pub(super) is_metal: bool,
}

/// Everything that can conduct: the edges of the graph, then what is inside devices.
pub(super) struct Pieces {
    all: Vec<Piece>,
    at: Grouped<usize>,
    nodes: usize,
    /// By piece: true if it conducts with every switch at rest and nothing off.
    drawn: Vec<bool>,
    scratch: RefCell<Scratch>,
}

/// Ohms by node, and the nodes that have some: cleared after each walk, because most walks are short.
struct Scratch {
    ohm: Vec<f64>,
    known: Vec<usize>,
}

impl Scratch {
    fn new(nodes: usize) -> Self {
        Self {
            ohm: vec![f64::INFINITY; nodes],
            known: Vec::new(),
        }
    }

    fn set(&mut self, node: usize, ohm: f64) {
        self.ohm[node] = ohm;
        self.known.push(node);
    }

    fn clear(&mut self) {
        for node in self.known.drain(..) {
            self.ohm[node] = f64::INFINITY;
        }
    }
}

impl Pieces {
    /// By edge, and then what is inside devices: two nodes and their ohms.
    pub(super) fn new(
        netlist: &Netlist,
        inside: &[(NodeIndex, NodeIndex, f64)],
        drawn: Vec<bool>,
    ) -> Self {
        let edges = netlist.graph.edge_indices().map(|edge| {
            let (a, b) = netlist.ends(edge);
            let kind = &netlist.graph[edge].kind;
            let part = match kind {
                EdgeKind::Resistor { ohm } | EdgeKind::Coil { ohm, .. } => Some(*ohm),
                EdgeKind::Diode { .. } | EdgeKind::Alternator { .. } => Some(LOW_OHM),
                EdgeKind::Load => Some(load_ohm(netlist, edge).unwrap_or(LOW_OHM)),
                _ => None,
            };
            Piece {
                ends: [a.index(), b.index()],
                ohm: part.unwrap_or_else(|| edge_ohm(kind, BENCH_C).unwrap_or(0.0)),
                is_metal: part.is_none(),
            }
        });
        let inside = inside.iter().map(|(a, b, ohm)| Piece {
            ends: [a.index(), b.index()],
            ohm: *ohm,
            is_metal: false,
        });
        let mut all: Vec<Piece> = edges.chain(inside).collect();
        for piece in &mut all {
            piece.ohm = piece.ohm.max(TOUCH_OHM);
        }
        let nodes = netlist.graph.node_count();
        let ends = all.iter().enumerate();
        let ends = ends.flat_map(|(at, piece)| piece.ends.map(move |node| (node, at)));
        let at = Grouped::new(nodes, ends);
        Self {
            all,
            at,
            nodes,
            drawn,
            scratch: RefCell::new(Scratch::new(nodes)),
        }
    }

    /// True if a piece conducts with every switch at rest and nothing off.
    pub(super) fn is_drawn(&self, piece: usize) -> bool {
        self.drawn[piece]
    }
}

/// The ohms of a load that is a plain resistance, if it is known.
pub(super) fn load_ohm(netlist: &Netlist, edge: petgraph::graph::EdgeIndex) -> Option<f64> {
    let load = netlist.load(edge)?;
    let amps = load.continuous_a.or(load.intermittent_a).or(load.peak_a);
    let tells = |amps: &f64| load.law == LoadLaw::Resistance && *amps > 0.0;
    amps.filter(tells).map(|amps| load.at_v / amps)
}

/// A meter on wiring with a fault, set up for one line.
pub(super) struct Meter<'p> {
    pieces: &'p Pieces,
    /// The pieces that conduct on this line and not in the drawing at rest, or the other way round.
    flipped: &'p [usize],
    removed: Vec<usize>,
    added: Vec<Piece>,
}

impl<'p> Meter<'p> {
    pub(super) fn new(pieces: &'p Pieces, flipped: &'p [usize], change: &Change) -> Self {
        let added = change.added.iter().map(|(a, b, edge)| Piece {
            ends: [a.index(), b.index()],
            ohm: edge.map_or(TOUCH_OHM, |it| pieces.all[it.index()].ohm),
            is_metal: true,
        });
        Self {
            pieces,
            flipped,
            removed: change.removed.iter().map(|it| it.index()).collect(),
            added: added.collect(),
        }
    }

    /// What conducts at a node: the other node, and the piece.
    fn at(&self, node: usize) -> impl Iterator<Item = (usize, &Piece)> {
        let drawn = self.pieces.at.of(node).iter();
        let drawn = drawn.filter(|it| {
            self.pieces.drawn[**it] != self.flipped.contains(it) && !self.removed.contains(it)
        });
        let drawn = drawn.map(|it| &self.pieces.all[*it]);
        let all = drawn.chain(self.added.iter().filter(move |it| it.ends.contains(&node)));
        all.map(move |it| (it.ends[usize::from(it.ends[0] == node)], it))
    }

    /// True if the meter shows more than so many ohms between two nodes. Paths of few ohms, and circuits that few
    /// siemens leave, are decided without solving.
    pub(super) fn is_over(&self, from: usize, to: usize, limit_ohm: f64) -> bool {
        if self.is_path(from, to, limit_ohm) {
            return false;
        }
        self.least_out(from, to) > limit_ohm || self.ohms(from, to) > limit_ohm
    }

    /// True if one path alone has at most so many ohms.
    fn is_path(&self, from: usize, to: usize, limit_ohm: f64) -> bool {
        let mut scratch = self.pieces.scratch.borrow_mut();
        scratch.set(from, 0.0);
        let mut front = VecDeque::from([from]);
        let mut found = from == to;
        while let Some(node) = front.pop_front().filter(|_| !found) {
            for (next, piece) in self.at(node) {
                let sum = scratch.ohm[node] + piece.ohm;
                if sum <= limit_ohm && sum < scratch.ohm[next] {
                    scratch.set(next, sum);
                    front.push_back(next);
                    found |= next == to;
                }
            }
        }
        scratch.clear();
        found
    }

    /// The nodes that metal joins to one, in order.
    pub(super) fn circuit(&self, from: usize) -> Vec<usize> {
        let mut scratch = self.pieces.scratch.borrow_mut();
        scratch.set(from, 0.0);
        let mut metal = vec![from];
        let mut next = 0;
        while let Some(&node) = metal.get(next) {
            next += 1;
            for (other, piece) in self.at(node) {
                if piece.is_metal && scratch.ohm[other].is_infinite() {
                    scratch.set(other, 0.0);
                    metal.push(other);
                }
            }
        }
        scratch.clear();
        metal.order();
        metal
    }

    /// Fewer ohms than these cannot be between a node and another: 0 if metal joins them, else those of all parts
    /// that leave the metal of the first.
    fn least_out(&self, from: usize, to: usize) -> f64 {
        let metal = self.circuit(from);
        if metal.binary_search(&to).is_ok() {
            return 0.0;
        }
        let mut siemens = 0.0;
        for &node in &metal {
            for (other, piece) in self.at(node) {
                if !piece.is_metal && metal.binary_search(&other).is_err() {
                    siemens += 1.0 / piece.ohm;
                }
            }
        }
        1.0 / siemens
    }

    /// Ohms between two nodes; infinite if nothing joins them. Nodes are eliminated one at a time, those with the
    /// fewest neighbors first: exact, and quick where most wiring is a tree.
    pub(super) fn ohms(&self, from: usize, to: usize) -> f64 {
        if from == to {
            return 0.0;
        }
        let mut place = vec![usize::MAX; self.pieces.nodes];
        let mut order = vec![from];
        place[from] = 0;
        let mut next = 0;
        while let Some(&node) = order.get(next) {
            next += 1;
            for (other, _) in self.at(node) {
                if place[other] == usize::MAX {
                    place[other] = order.len();
                    order.push(other);
                }
            }
        }
        let far = place[to];
        if far == usize::MAX {
            return f64::INFINITY;
        }
        let mut star: Vec<Vec<(usize, f64)>> = vec![Vec::new(); order.len()];
        for (at, node) in order.iter().enumerate() {
            for (other, piece) in self.at(*node) {
                join(&mut star[at], place[other], 1.0 / piece.ohm);
            }
            star[at].retain(|it| it.0 != at);
        }
        eliminate(&mut star, far);
        let joined = star[0].iter().find(|it| it.0 == far);
        joined.map_or(f64::INFINITY, |it| 1.0 / it.1)
    }
}

fn join(row: &mut Vec<(usize, f64)>, to: usize, siemens: f64) {
    match row.iter_mut().find(|it| it.0 == to) {
        Some(it) => it.1 += siemens,
        None => row.push((to, siemens)),
    }
}

/// Eliminates every node but 0 and `far`: what it joins is then joined directly (star-mesh transformation).
fn eliminate(star: &mut [Vec<(usize, f64)>], far: usize) {
    let mut left: Vec<bool> = (0..star.len()).map(|it| it != 0 && it != far).collect();
    let mut ready: Vec<usize> = (0..star.len())
        .filter(|it| left[*it] && star[*it].len() <= 2)
        .collect();
    loop {
        let least = || {
            let nodes = (0..star.len()).filter(|it| left[*it]);
            nodes.min_by_key(|it| star[*it].len())
        };
        let Some(node) = ready.pop().or_else(least) else {
            return;
        };
        if !std::mem::take(&mut left[node]) {
            continue;
        }
        let arms = std::mem::take(&mut star[node]);
        let sum: f64 = arms.iter().map(|it| it.1).sum();
        for (other, siemens) in &arms {
            star[*other].retain(|it| it.0 != node);
            for (third, more) in arms.iter().filter(|it| it.0 != *other) {
                join(&mut star[*other], *third, siemens * more / sum);
            }
            if left[*other] && star[*other].len() <= 2 {
                ready.push(*other);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ohms(pieces: &[(usize, usize, f64)], from: usize, to: usize) -> f64 {
        let pieces: Vec<Piece> = (pieces.iter())
            .map(|(a, b, ohm)| Piece {
                ends: [*a, *b],
                ohm: *ohm,
                is_metal: true,
            })
            .collect();
        let ends = pieces.iter().enumerate();
        let ends = ends.flat_map(|(at, piece)| piece.ends.map(move |node| (node, at)));
        let at = Grouped::new(6, ends);
        let drawn = vec![true; pieces.len()];
        let pieces = Pieces {
            all: pieces,
            at,
            nodes: 6,
            drawn,
            scratch: RefCell::new(Scratch::new(6)),
        };
        Meter {
            pieces: &pieces,
            flipped: &[],
            removed: Vec::new(),
            added: Vec::new(),
        }
        .ohms(from, to)
    }

    /// Series, parallel, and a bridge that is neither: computed by hand.
    #[test]
    fn a_network_is_solved_exactly() {
        assert!((ohms(&[(0, 1, 1.0), (1, 2, 2.0), (2, 3, 9.0)], 0, 2) - 3.0).abs() < 1e-12);
        assert!((ohms(&[(0, 1, 3.0), (0, 1, 6.0)], 0, 1) - 2.0).abs() < 1e-12);
        // Bridge of 1, 2, 2, 1 with 1 across: 7/5 by mesh equations.
        let bridge = [
            (0, 1, 1.0),
            (0, 2, 2.0),
            (1, 3, 2.0),
            (2, 3, 1.0),
            (1, 2, 1.0),
        ];
        assert!((ohms(&bridge, 0, 3) - 1.4).abs() < 1e-12);
        assert_eq!(ohms(&[(0, 1, 1.0)], 0, 2), f64::INFINITY);
    }
}
