//! The nodal equations: structure once per topology, values per state.
//!
//! Every source stands as its Norton equivalent, so the unknowns are node voltages alone and the matrix is
//! symmetric positive definite. The structure covers every element in every state, off or on; one pin of
//! 1 S per island ties it to 0 V and carries no current, as nothing else leaves the island.

use petgraph::unionfind::UnionFind;

use super::factor::{BadPivot, Factor, Pattern, Pivots, sparse_order};
use super::islands::Islands;
use super::network::{Law, Network, NetworkError};
use super::piecewise::{Kind, Line, Pieces, kind};
use super::solution::{DropReason, Dropped};

/// Conductance of an island's tie to 0 V, in siemens.
const PIN_S: f64 = 1.0;

/// What a constant-power load draws while its no-load voltage is found, in ampere.
///
/// A microampere through any real feed is nothing; through a leak of 1e-9 S it is 1,000 V. So a bus that
/// only a blocked diode's leak reaches reads as dead, not as a full bus that collapses (reasoned).
const TRICKLE_A: f64 = 1e-6;

/// Rows of an element's two nodes, and the cell between them if they differ.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) a: usize,
    pub(super) b: usize,
    slot: Option<usize>,
}

/// A part of several pieces, and the piece it is on.
#[derive(Clone, Debug)]
pub(super) struct Bent {
    pub(super) element: usize,
    pub(super) place: Place,
    pub(super) pieces: Pieces,
    pub(super) at: usize,
}

/// What a load with a cut-off draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Draw {
    Current { amp: f64 },
    Power { watt: f64 },
}

/// A load with a cut-off.
#[derive(Clone, Debug)]
pub(super) struct Load {
    pub(super) element: usize,
    pub(super) place: Place,
    pub(super) draw: Draw,
    pub(super) v_cut: f64,
    pub(super) on: bool,
    /// Its voltage at the last accepted point.
    pub(super) port_v: f64,
}

impl Load {
    pub(super) fn is_power(&self) -> bool {
        matches!(self.draw, Draw::Power { .. })
    }
}

/// How constant-power loads enter the equations of one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PowerAs {
    /// By [`TRICKLE_A`] each: as good as off.
    Trickle,
    /// By the tangent of watt / V at the last voltage (a negative conductance).
    Tangent,
    /// By the current they drew at the last voltage.
    Current,
}

/// A place to come back to.
#[derive(Clone, Debug, Default)]
pub(super) struct Point {
    volts: Vec<f64>,
    pieces: Vec<usize>,
}

/// Equations of one network.
pub(super) struct System {
    /// What the structure was made for: node count, and per element its nodes and whether they are one.
    node_count: usize,
    shape: Vec<(usize, usize, bool)>,
    pub(super) row_of_node: Vec<usize>,
    pub(super) places: Vec<Place>,
    diagonal: Vec<usize>,
    factor: Factor,
    /// Pieces the last factorisation was made for, if it holds no tangents.
    factored_for: Option<Vec<usize>>,
    /// Values and right side of what never changes during a solve.
    base_cells: Vec<f64>,
    base_right: Vec<f64>,
    cells: Vec<f64>,
    /// Accepted voltages by row.
    pub(super) volts: Vec<f64>,
    /// Result of the last step by row.
    pub(super) next: Vec<f64>,
    pub(super) bent: Vec<Bent>,
    pub(super) loads: Vec<Load>,
    /// Common factor on the power of all constant-power loads.
    pub(super) power_scale: f64,
}

fn shape(network: &Network) -> impl Iterator<Item = (usize, usize, bool)> {
    network
        .elements
        .iter()
        .map(|e| (e.a, e.b, !e.off && e.law.is_ideal()))
}

impl System {
    /// Works out the structure. The network has been checked.
    pub(super) fn new(network: &Network) -> Result<Self, NetworkError> {
        let shape: Vec<_> = shape(network).collect();
        let mut merged = UnionFind::<usize>::new(network.node_count);
        for &(a, b, _) in shape.iter().filter(|(_, _, ideal)| *ideal) {
            merged.union(a, b);
        }
        // Rows numbered by first appearance, then put in an order that keeps the factor sparse.
        let root_of_node = merged.into_labeling();
        let mut row_of_root = vec![usize::MAX; network.node_count];
        let mut rows = 0;
        for &root in &root_of_node {
            if row_of_root[root] == usize::MAX {
                row_of_root[root] = rows;
                rows += 1;
            }
        }
        let mut row_of_node: Vec<usize> =
            root_of_node.iter().map(|&root| row_of_root[root]).collect();
        let pairs = |row_of_node: &[usize]| -> Vec<(usize, usize)> {
            shape
                .iter()
                .map(|&(a, b, _)| (row_of_node[a], row_of_node[b]))
                .collect()
        };
        let order = sparse_order(&Pattern::new(rows, pairs(&row_of_node).into_iter()))?;
        for row in &mut row_of_node {
            *row = order[*row];
        }
        let pairs = pairs(&row_of_node);
        let pattern = Pattern::new(rows, pairs.iter().copied());
        let places = pairs
            .iter()
            .map(|&(a, b)| Place {
                a,
                b,
                slot: if a == b { None } else { pattern.slot(a, b) },
            })
            .collect();
        Ok(Self {
            node_count: network.node_count,
            shape,
            row_of_node,
            places,
            diagonal: (0..rows)
                .map(|row| pattern.col_start[row + 1] - 1)
                .collect(),
            factor: Factor::new(&pattern)?,
            factored_for: None,
            base_cells: vec![0.0; pattern.row.len()],
            base_right: vec![0.0; rows],
            cells: vec![0.0; pattern.row.len()],
            volts: vec![0.0; rows],
            next: vec![0.0; rows],
            bent: Vec::new(),
            loads: Vec::new(),
            power_scale: 1.0,
        })
    }

    /// Was the structure made for a network of this shape?
    pub(super) fn fits(&self, network: &Network) -> bool {
        self.node_count == network.node_count
            && self.shape.len() == network.elements.len()
            && self.shape.iter().copied().eq(shape(network))
    }

    /// Takes over the values of a network of the right shape. Returns what has no path (rule 1 of `drops`).
    pub(super) fn take(&mut self, network: &Network, islands: &Islands) -> Vec<Dropped> {
        self.base_cells.fill(0.0);
        self.base_right.fill(0.0);
        self.volts.fill(0.0);
        self.bent.clear();
        self.loads.clear();
        self.factored_for = None;
        self.power_scale = 1.0;
        for island in &islands.list {
            self.base_cells[self.diagonal[self.row_of_node[island.reference]]] += PIN_S;
        }
        let mut dropped = Vec::new();
        for (element, e) in network.elements.iter().enumerate().filter(|(_, e)| !e.off) {
            let place = self.places[element];
            let has_path = islands.of_node[e.a] == islands.of_node[e.b];
            if !has_path
                && !e.law.conducts()
                && !matches!(e.law, Law::Resistor { .. } | Law::LoadResistance { .. })
            {
                dropped.push(Dropped {
                    element,
                    reason: DropReason::NoPath,
                });
                continue;
            }
            let mut load = |draw, v_cut| {
                self.loads.push(Load {
                    element,
                    place,
                    draw,
                    v_cut,
                    on: true,
                    port_v: 0.0,
                });
            };
            match kind(&e.law) {
                Kind::Open | Kind::Ideal => {}
                Kind::Straight(line) => {
                    stamp(&mut self.base_cells, &self.diagonal, place, line.slope_s);
                    inject(&mut self.base_right, place, line.at_zero_a);
                }
                Kind::Bent(pieces) => {
                    self.bent.push(Bent {
                        element,
                        place,
                        at: pieces.start,
                        pieces,
                    });
                }
                Kind::Current { amp, v_cut } => load(Draw::Current { amp }, v_cut),
                Kind::Power { watt, v_cut } => load(Draw::Power { watt }, v_cut),
            }
        }
        dropped
    }

    /// Voltage over a place at the accepted point.
    pub(super) fn across(&self, place: Place) -> f64 {
        self.volts[place.a] - self.volts[place.b]
    }

    /// Solves the linear equations of the present pieces; the result stands in `next`.
    pub(super) fn step(&mut self, power: PowerAs) -> Result<(), BadPivot> {
        self.next.copy_from_slice(&self.base_right);
        for bent in &self.bent {
            inject(
                &mut self.next,
                bent.place,
                bent.pieces.line(bent.at).at_zero_a,
            );
        }
        for load in self.loads.iter().filter(|load| load.on) {
            let amp = match load.draw {
                Draw::Current { amp } => amp,
                Draw::Power { .. } if power == PowerAs::Trickle => TRICKLE_A,
                Draw::Power { watt } if power == PowerAs::Current => {
                    self.power_scale * watt / load.port_v
                }
                Draw::Power { watt } => 2.0 * self.power_scale * watt / load.port_v,
            };
            inject(&mut self.next, load.place, amp);
        }
        if power == PowerAs::Tangent || !self.is_factored() {
            self.refactor(power)?;
        }
        self.factor.solve(&mut self.next);
        Ok(())
    }

    fn is_factored(&self) -> bool {
        self.factored_for
            .as_ref()
            .is_some_and(|pieces| pieces.iter().copied().eq(self.bent.iter().map(|b| b.at)))
    }

    fn refactor(&mut self, power: PowerAs) -> Result<(), BadPivot> {
        let mut key = self.factored_for.take().unwrap_or_default();
        self.cells.copy_from_slice(&self.base_cells);
        for bent in &self.bent {
            stamp(
                &mut self.cells,
                &self.diagonal,
                bent.place,
                bent.pieces.line(bent.at).slope_s,
            );
        }
        if power != PowerAs::Tangent {
            key.clear();
            key.extend(self.bent.iter().map(|bent| bent.at));
            self.factored_for = Some(key);
            return self.factor.factor(&self.cells, Pivots::Lift);
        }
        for load in self.loads.iter().filter(|load| load.on) {
            if let Draw::Power { watt } = load.draw {
                let slope_s = -self.power_scale * watt / (load.port_v * load.port_v);
                stamp(&mut self.cells, &self.diagonal, load.place, slope_s);
            }
        }
        self.factor.factor(&self.cells, Pivots::Tell)
    }

    /// Makes the result of the last step the accepted point.
    pub(super) fn accept(&mut self) {
        std::mem::swap(&mut self.volts, &mut self.next);
    }

    /// Reads the load voltages off the accepted point; returns the largest change of a constant-power load.
    pub(super) fn read_ports(&mut self) -> f64 {
        let mut largest: f64 = 0.0;
        for load in &mut self.loads {
            let port_v = self.volts[load.place.a] - self.volts[load.place.b];
            if load.on && load.is_power() {
                largest = largest.max((port_v - load.port_v).abs());
            }
            load.port_v = port_v;
        }
        largest
    }

    pub(super) fn save(&self) -> Point {
        Point {
            volts: self.volts.clone(),
            pieces: self.bent.iter().map(|b| b.at).collect(),
        }
    }

    pub(super) fn restore(&mut self, point: &Point) {
        self.volts.copy_from_slice(&point.volts);
        for (bent, &at) in self.bent.iter_mut().zip(&point.pieces) {
            bent.at = at;
        }
        self.read_ports();
    }

    /// Current from `a` to `b` of a load at the accepted point.
    pub(super) fn load_amp(&self, load: &Load) -> f64 {
        match load.draw {
            _ if !load.on => 0.0,
            Draw::Current { amp } => amp,
            Draw::Power { watt } => watt / self.across(load.place),
        }
    }
}

/// Adds a conductance between the two rows of a place.
fn stamp(cells: &mut [f64], diagonal: &[usize], place: Place, slope_s: f64) {
    if let Some(slot) = place.slot {
        cells[diagonal[place.a]] += slope_s;
        cells[diagonal[place.b]] += slope_s;
        cells[slot] -= slope_s;
    }
}

/// Adds a current that flows from row `a` through the element to row `b`.
fn inject(right: &mut [f64], place: Place, amp: f64) {
    right[place.a] -= amp;
    right[place.b] += amp;
}

/// Current of a straight element; used when the figures are read out.
pub(super) fn straight(law: &Law) -> Option<Line> {
    match kind(law) {
        Kind::Straight(line) => Some(line),
        _ => None,
    }
}
