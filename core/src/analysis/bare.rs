//! A bare network as JSON, with named nodes and elements, and its operating point in the same form.
//!
//! ```json
//! { "reference": "AF",
//!   "elements": [
//!     { "id": "BAT", "type": "battery", "pos": "B+", "neg": "AF", "emf": 12.8, "ohm": 0.01 },
//!     { "id": "L", "type": "load_r", "a": "B+", "b": "AF", "ohm": 4.0 } ],
//!   "off": [] }
//! ```
//!
//! All figures are in volt, ampere, ohm and watt. The types are those of [`TYPES`]; other fields
//! are ignored.

mod read;

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;
use thiserror::Error;

use crate::solve::{Network, NetworkError, NoPoint, PartState, Solution, Solver};

/// The element types, as in the file.
pub const TYPES: [&str; 9] = [
    "resistor",
    "ideal",
    "load_r",
    "load_i",
    "load_p",
    "battery",
    "alternator",
    "diode",
    "isource",
];

/// Why a bare network cannot be read or computed.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum BareError {
    /// The text is not JSON.
    #[error("not valid JSON: {0}")]
    Json(String),
    /// A field outside the elements is missing or of the wrong kind.
    #[error("field \"{field}\": found {found}, wanted {wanted}")]
    Field {
        /// The field.
        field: String,
        /// What was found.
        found: String,
        /// What was expected.
        wanted: &'static str,
    },
    /// A field of an element is missing or of the wrong kind.
    #[error("element \"{id}\", field \"{field}\": found {found}, expected {wanted}")]
    ElementField {
        /// Id of the element, or its index in the list if it has none.
        id: String,
        /// The field.
        field: &'static str,
        /// What was found.
        found: String,
        /// What was expected.
        wanted: &'static str,
    },
    /// An element of an unknown type.
    #[error("element \"{id}\": unknown type \"{found}\", expected one of {}", TYPES.join(", "))]
    UnknownType {
        /// Id of the element.
        id: String,
        /// Its type.
        found: String,
    },
    /// Two elements with the same id.
    #[error("element \"{id}\" appears twice; give each element its own id")]
    DuplicateId {
        /// The id.
        id: String,
    },
    /// `off` names a missing element.
    #[error("field \"off\": there is no element \"{id}\"")]
    UnknownOff {
        /// The id.
        id: String,
    },
    /// The reference is not a node of any element.
    #[error("field \"reference\": no element has the node \"{node}\"")]
    UnknownReference {
        /// The node.
        node: String,
    },
    /// The network cannot be computed.
    #[error(transparent)]
    Network(#[from] NetworkError),
}

/// A network with named nodes and elements.
#[derive(Clone, Debug, PartialEq)]
pub struct BareNetwork {
    /// The network by numbers.
    pub network: Network,
    /// Name of each node, in order of first appearance.
    pub node_names: Vec<String>,
    /// Id of each element.
    pub element_ids: Vec<String>,
}

/// The operating point by names.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BareSolution {
    /// See [`Solution::converged`].
    pub converged: bool,
    /// Short name of the reason, if not converged.
    pub reason: Option<&'static str>,
    /// The reason as a sentence.
    pub message: Option<String>,
    /// Constant power that the supply could carry over the demand, ignoring cut-offs.
    pub margin: Option<f64>,
    /// Volt by node.
    pub node_volts: BTreeMap<String, f64>,
    /// Ampere by element; elements off or dropped are absent. Parallel elements without resistance
    /// are listed by their ids joined by `+`, with their sum.
    pub currents: BTreeMap<String, f64>,
    /// `on`, `off` or `limit` of each diode and alternator; a regulating alternator is `on`.
    pub states: BTreeMap<String, &'static str>,
    /// Loads that cannot run, in the order in which they went off.
    pub dropped: Vec<String>,
    /// The reason, in words, by element.
    pub drop_reasons: BTreeMap<String, &'static str>,
    /// Connected parts of the network.
    pub islands: Vec<BareIsland>,
    /// Elements without resistance whose share of a current is not determined.
    pub undetermined: Vec<String>,
}

/// An island by names.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BareIsland {
    /// Its node at 0 V.
    pub reference: String,
    /// `referenced`, `floating, sourced` or `floating, unsourced`.
    pub status: &'static str,
    /// All its nodes.
    pub nodes: Vec<String>,
}

impl BareNetwork {
    /// The operating point, with the margin of the supply if any constant-power load has a path.
    pub fn solve(&self) -> Result<BareSolution, BareError> {
        let mut solver = Solver::new(&self.network)?;
        let solution = solver.solve(&self.network)?;
        let margin = match solution.margin {
            Some(margin) => Some(margin),
            None => solver.margin(&self.network)?,
        };
        Ok(self.name(&solution, margin))
    }

    fn name(&self, solution: &Solution, margin: Option<f64>) -> BareSolution {
        let id = |element: usize| self.element_ids[element].clone();
        let dropped: BTreeSet<usize> = solution.dropped.iter().map(|d| d.element).collect();
        let runs =
            |element: usize| !self.network.elements[element].off && !dropped.contains(&element);
        let by_element = solution
            .currents
            .iter()
            .enumerate()
            .filter(|(element, _)| runs(*element));
        let mut currents: BTreeMap<_, _> = by_element
            .filter_map(|(element, amp)| Some((id(element), (*amp)?)))
            .collect();
        for group in &solution.undetermined {
            if let Some(sum_amp) = group.sum_amp {
                let ids: Vec<String> = group.elements.iter().map(|&element| id(element)).collect();
                currents.insert(ids.join("+"), sum_amp);
            }
        }
        let states = solution.states.iter().enumerate();
        let islands = solution
            .islands
            .iter()
            .enumerate()
            .map(|(at, island)| BareIsland {
                reference: self.node_names[island.reference].clone(),
                status: island.status.words(),
                nodes: (0..self.node_names.len())
                    .filter(|&node| solution.node_island[node] == at)
                    .map(|node| self.node_names[node].clone())
                    .collect(),
            });
        BareSolution {
            converged: solution.converged,
            reason: solution.no_point.map(reason),
            message: solution.sentence(),
            margin,
            node_volts: self
                .node_names
                .iter()
                .cloned()
                .zip(solution.node_volts.iter().copied())
                .collect(),
            currents,
            states: states
                .filter_map(|(element, state)| Some((id(element), word((*state)?))))
                .collect(),
            dropped: solution.dropped.iter().map(|d| id(d.element)).collect(),
            drop_reasons: solution
                .dropped
                .iter()
                .map(|d| (id(d.element), d.reason.words()))
                .collect(),
            islands: islands.collect(),
            undetermined: solution
                .undetermined
                .iter()
                .flat_map(|g| &g.elements)
                .map(|&e| id(e))
                .collect(),
        }
    }
}

fn reason(no_point: NoPoint) -> &'static str {
    match no_point {
        NoPoint::SupplyCannotCarry => "supply_cannot_carry_load",
        NoPoint::Numerical => "figures_do_not_add_up",
    }
}

fn word(state: PartState) -> &'static str {
    match state {
        PartState::Off => "off",
        PartState::On | PartState::Regulating => "on",
        PartState::Limit => "limit",
    }
}
