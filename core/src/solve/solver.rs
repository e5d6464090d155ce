//! From a network to its operating point.

use super::assemble::{From, System, straight};
use super::constant_power;
use super::drops::{Verdict, no_load_point, settle_loads};
use super::ideal;
use super::islands::{self, Islands};
use super::network::{Law, Network, NetworkError};
use super::piecewise::state_of;
use super::solution::{NoPoint, Solution};

/// Allowed error of the current sum at a node, in ampere, plus [`BALANCE_PART`] of the largest
/// current.
const BALANCE_A: f64 = 1e-6;
/// See [`BALANCE_A`].
const BALANCE_PART: f64 = 1e-9;

/// Solves networks of one topology repeatedly: the structure of the equations is reused, values and
/// off flags may change. For a network of another shape the structure is rebuilt.
pub struct Solver {
    system: System,
}

/// Solves a network once.
pub fn solve(network: &Network) -> Result<Solution, NetworkError> {
    Solver::new(network)?.solve(network)
}

impl Solver {
    /// Builds the structure of the equations.
    pub fn new(network: &Network) -> Result<Self, NetworkError> {
        network.check()?;
        Ok(Self {
            system: System::new(network)?,
        })
    }

    /// The operating point. The same network gives the same figures, independent of earlier solves.
    pub fn solve(&mut self, network: &Network) -> Result<Solution, NetworkError> {
        self.solve_from(network, From::Rest)
    }

    /// The operating point, starting from the last solve's diodes, alternators and batteries:
    /// quicker if little has changed. The figures may differ from [`Self::solve`]'s in their last
    /// digits.
    pub fn solve_on(&mut self, network: &Network) -> Result<Solution, NetworkError> {
        self.solve_from(network, From::Last)
    }

    fn solve_from(&mut self, network: &Network, from: From) -> Result<Solution, NetworkError> {
        let islands = self.prepare(network)?;
        let without_path = self.system.take(network, &islands, from);
        let verdict = settle_loads(&mut self.system, without_path);
        Ok(read_out(network, &self.system, islands, verdict))
    }

    /// Constant power that the supply could carry over the demand, ignoring cut-offs; below 1 it
    /// cannot carry the demand. `None` if there is no such load with a path, or no limit.
    pub fn margin(&mut self, network: &Network) -> Result<Option<f64>, NetworkError> {
        let islands = self.prepare(network)?;
        self.system.take(network, &islands, From::Rest);
        let has_point = no_load_point(&mut self.system, &mut Verdict::default());
        Ok(if has_point {
            constant_power::margin(&mut self.system)
        } else {
            None
        })
    }

    fn prepare(&mut self, network: &Network) -> Result<Islands, NetworkError> {
        network.check()?;
        if !self.system.structure.fits(network) {
            self.system = System::new(network)?;
        }
        Ok(islands::find(network))
    }
}

/// Reads voltages, currents and states from the accepted point.
fn read_out(network: &Network, system: &System, islands: Islands, verdict: Verdict) -> Solution {
    let mut no_point = verdict.no_point;
    let mut currents = vec![Some(0.0); network.elements.len()];
    let mut states = vec![None; network.elements.len()];
    let no_path: Vec<usize> = verdict.dropped.iter().map(|d| d.element).collect();
    for (element, e) in network.elements.iter().enumerate().filter(|(_, e)| !e.off) {
        if let Some(line) = straight(&e.law) {
            currents[element] = Some(line.at(system.across(system.structure.places[element])));
        }
    }
    for &element in &no_path {
        currents[element] = Some(0.0);
    }
    for bent in &system.bent {
        let at = bent.pieces.line(bent.at);
        currents[bent.element] = Some(at.at(system.across(bent.place)));
        states[bent.element] = state_of(&network.elements[bent.element].law, bent.at);
    }
    for load in &system.loads {
        currents[load.element] = Some(system.load_amp(load));
    }
    if !balances(system, &currents) {
        no_point = Some(NoPoint::Numerical);
    }
    let undetermined = ideal::share(network, &mut currents);
    for (e, current) in network.elements.iter().zip(&mut currents) {
        if let (Law::Battery { .. } | Law::Alternator { .. }, Some(amp)) = (e.law, current) {
            // Out of `a`; 0 - x so that no current reads 0, not -0.
            *amp = 0.0 - *amp;
        }
    }
    let zero_v: Vec<f64> = islands
        .list
        .iter()
        .map(|island| system.volts[system.structure.row_of_node[island.reference]])
        .collect();
    let node_volts = (0..network.node_count)
        .map(|node| {
            system.volts[system.structure.row_of_node[node]] - zero_v[islands.of_node[node]]
        })
        .collect();
    Solution {
        converged: no_point.is_none(),
        no_point,
        node_volts,
        currents,
        states,
        dropped: verdict.dropped,
        islands: islands.list,
        node_island: islands.of_node,
        undetermined,
        margin: verdict.margin,
    }
}

/// True if the currents at every row sum to zero, each part by its true law at its voltage.
fn balances(system: &System, currents: &[Option<f64>]) -> bool {
    let mut sums = vec![0.0; system.volts.len()];
    let mut largest: f64 = 0.0;
    let mut add = |place: super::structure::Place, amp: f64| {
        sums[place.a] += amp;
        sums[place.b] -= amp;
        largest = largest.max(amp.abs());
    };
    for (place, amp) in system.structure.places.iter().zip(currents) {
        add(*place, amp.unwrap_or(0.0));
    }
    for bent in &system.bent {
        // The error of its current from the piece compared with its law.
        let u = system.across(bent.place);
        let held = bent.pieces.line(bent.pieces.holding(u));
        add(bent.place, held.at(u) - bent.pieces.line(bent.at).at(u));
    }
    let allowed = BALANCE_A + BALANCE_PART * largest;
    // Written so that NaN fails.
    sums.iter().all(|sum| sum.abs() <= allowed)
}
