//! The nodal equations of one state: values on a reused structure.
//!
//! Every source is its Norton equivalent, so the only unknowns are node voltages and the matrix is
//! symmetric positive definite. One conductance of 1 S per island holds it at 0 V; it carries no
//! current, because nothing else leaves the island.

use super::factor::{BadPivot, Pivots};
use super::islands::Islands;
use super::network::{Law, Network, NetworkError};
use super::piecewise::{Kind, Line, Pieces, kind};
use super::solution::{DropReason, Dropped};
use super::structure::{Place, Structure};

/// Conductance of an island's connection to 0 V, in siemens.
const PIN_S: f64 = 1.0;

/// Current of a constant-power load while its no-load voltage is found, in ampere.
///
/// A microampere through a real feed causes no drop; through a leak of 1e-9 S it is 1,000 V. So a
/// bus reached only by a blocked diode's leak reads as dead, not as a full bus that collapses
/// (reasoned).
const TRICKLE_A: f64 = 1e-6;

/// A part with several pieces, and its present piece.
#[derive(Clone, Debug)]
pub(super) struct BentPart {
    pub(super) element: usize,
    pub(super) place: Place,
    pub(super) pieces: Pieces,
    pub(super) at: usize,
}

/// Demand of a load with a cut-off.
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

/// Treatment of constant-power loads in the equations of one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PowerAs {
    /// By [`TRICKLE_A`] each: practically off.
    Trickle,
    /// By the tangent of watt / V at the last voltage (a negative conductance).
    Tangent,
    /// By their current at the last voltage.
    Current,
}

/// A saved point to return to.
#[derive(Clone, Debug, Default)]
pub(super) struct Point {
    volts: Vec<f64>,
    pieces: Vec<usize>,
}

/// Equations of one network.
pub(super) struct System {
    pub(super) structure: Structure,
    /// Cells of the present factor; `None` before the first and after a failed factorization. Most
    /// solves while relays settle and loads change reuse the previous matrix.
    factored: Option<Vec<f64>>,
    /// Values and right side of the parts that do not change during a solve.
    base_cells: Vec<f64>,
    base_right: Vec<f64>,
    cells: Vec<f64>,
    /// Accepted voltages by row.
    pub(super) volts: Vec<f64>,
    /// Result of the last step by row.
    pub(super) next: Vec<f64>,
    pub(super) bent: Vec<BentPart>,
    pub(super) loads: Vec<Load>,
    /// Common factor on the power of all constant-power loads.
    pub(super) power_scale: f64,
    /// By element: its piece after the last solve.
    last_piece: Vec<Option<usize>>,
}

/// Start pieces of parts with several pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum From {
    /// Their own start.
    Rest,
    /// The pieces of the last solve.
    Last,
}

impl System {
    /// Builds the structure. The network is already checked.
    pub(super) fn new(network: &Network) -> Result<Self, NetworkError> {
        let structure = Structure::new(network)?;
        let (rows, cells) = (structure.diagonal.len(), structure.cells);
        Ok(Self {
            structure,
            factored: None,
            base_cells: vec![0.0; cells],
            base_right: vec![0.0; rows],
            cells: vec![0.0; cells],
            volts: vec![0.0; rows],
            next: vec![0.0; rows],
            bent: Vec::new(),
            loads: Vec::new(),
            power_scale: 1.0,
            last_piece: vec![None; network.elements.len()],
        })
    }

    /// Loads the values of a network of the same shape. Returns the loads without a path (rule 1 of
    /// `drops`).
    pub(super) fn take(
        &mut self,
        network: &Network,
        islands: &Islands,
        from: From,
    ) -> Vec<Dropped> {
        for bent in self.bent.drain(..) {
            self.last_piece[bent.element] = Some(bent.at);
        }
        self.base_cells.fill(0.0);
        self.base_right.fill(0.0);
        self.volts.fill(0.0);
        self.loads.clear();
        self.power_scale = 1.0;
        for island in &islands.list {
            self.base_cells
                [self.structure.diagonal[self.structure.row_of_node[island.reference]]] += PIN_S;
        }
        let mut dropped = Vec::new();
        for (element, e) in network.elements.iter().enumerate().filter(|(_, e)| !e.off) {
            let place = self.structure.places[element];
            let holds_no_node = matches!(
                e.law,
                Law::LoadCurrent { .. } | Law::LoadPower { .. } | Law::CurrentSource { .. }
            );
            if holds_no_node && islands.of_node[e.a] != islands.of_node[e.b] {
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
                    stamp(
                        &mut self.base_cells,
                        &self.structure.diagonal,
                        place,
                        line.slope_s,
                    );
                    inject(&mut self.base_right, place, line.at_zero_a);
                }
                Kind::Polyline(pieces) => {
                    let last = self.last_piece[element].filter(|_| from == From::Last);
                    self.bent.push(BentPart {
                        element,
                        place,
                        at: last.unwrap_or(pieces.start),
                        pieces,
                    });
                }
                Kind::Current { amp, v_cut } => load(Draw::Current { amp }, v_cut),
                Kind::Power { watt, v_cut } => load(Draw::Power { watt }, v_cut),
            }
        }
        dropped
    }

    /// Voltage across a place at the accepted point.
    pub(super) fn across(&self, place: Place) -> f64 {
        self.volts[place.a] - self.volts[place.b]
    }

    /// Solves the linear equations of the present pieces; the result is in `next`.
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
        self.refactor(power)?;
        self.structure.factor.solve(&mut self.next);
        Ok(())
    }

    /// Fills the cells and factors them, unless the factor is already of these values.
    fn refactor(&mut self, power: PowerAs) -> Result<(), BadPivot> {
        self.cells.copy_from_slice(&self.base_cells);
        for bent in &self.bent {
            stamp(
                &mut self.cells,
                &self.structure.diagonal,
                bent.place,
                bent.pieces.line(bent.at).slope_s,
            );
        }
        let mut pivots = Pivots::Lift;
        if power == PowerAs::Tangent {
            pivots = Pivots::Tell;
            for load in self.loads.iter().filter(|load| load.on) {
                if let Draw::Power { watt } = load.draw {
                    let slope_s = -self.power_scale * watt / (load.port_v * load.port_v);
                    stamp(
                        &mut self.cells,
                        &self.structure.diagonal,
                        load.place,
                        slope_s,
                    );
                }
            }
        }
        if self.factored.as_ref() == Some(&self.cells) {
            return Ok(());
        }
        let mut factored = self.factored.take().unwrap_or_default();
        self.structure.factor.factor(&self.cells, pivots)?;
        factored.clone_from(&self.cells);
        self.factored = Some(factored);
        Ok(())
    }

    /// Accepts the result of the last step.
    pub(super) fn accept(&mut self) {
        std::mem::swap(&mut self.volts, &mut self.next);
    }

    /// Reads the load voltages of the accepted point; returns the largest change of a
    /// constant-power load.
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

/// Current of a linear element; used to read out the results.
pub(super) fn straight(law: &Law) -> Option<Line> {
    match kind(law) {
        Kind::Straight(line) => Some(line),
        _ => None,
    }
}
