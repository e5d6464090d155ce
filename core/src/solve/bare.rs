//! A network alone as JSON, with named nodes and elements, and its operating point the same way.
//!
//! ```json
//! { "reference": "AF",
//!   "elements": [
//!     { "id": "BAT", "type": "battery", "pos": "B+", "neg": "AF", "emf": 12.8, "ohm": 0.01 },
//!     { "id": "L", "type": "load_r", "a": "B+", "b": "AF", "ohm": 4.0 } ],
//!   "off": [] }
//! ```
//!
//! Volt, ampere, ohm and watt throughout. The types are those of [`TYPES`]; other fields are passed over.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;
use serde_json::{Map, Value};
use thiserror::Error;

use super::network::{Element, Law, Network, NetworkError};
use super::solution::{NoPoint, PartState, Solution};
use super::solver::Solver;

/// The types of element, as they stand in the file.
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
    /// A field beside the elements is missing or of the wrong kind.
    #[error("field \"{field}\": found {found}, wanted {wanted}")]
    Field {
        /// The field.
        field: String,
        /// What stands there.
        found: String,
        /// What should.
        wanted: &'static str,
    },
    /// A field of an element is missing or of the wrong kind.
    #[error("element \"{id}\", field \"{field}\": found {found}, wanted {wanted}")]
    ElementField {
        /// Id of the element, or its place in the list if it has none.
        id: String,
        /// The field.
        field: &'static str,
        /// What stands there.
        found: String,
        /// What should.
        wanted: &'static str,
    },
    /// An element of a type there is not.
    #[error("element \"{id}\": unknown type \"{found}\", wanted one of {}", TYPES.join(", "))]
    UnknownType {
        /// Id of the element.
        id: String,
        /// Its type.
        found: String,
    },
    /// Two elements of the same id.
    #[error("element \"{id}\" is there twice; give each element an id of its own")]
    DuplicateId {
        /// The id.
        id: String,
    },
    /// `off` names an element that is not there.
    #[error("field \"off\": there is no element \"{id}\"")]
    UnknownOff {
        /// The id.
        id: String,
    },
    /// The reference is no node of any element.
    #[error("field \"reference\": no element has the node \"{node}\"")]
    UnknownReference {
        /// The node.
        node: String,
    },
    /// The network as a whole cannot be computed.
    #[error(transparent)]
    Network(#[from] NetworkError),
}

/// A network whose nodes and elements have names.
#[derive(Clone, Debug, PartialEq)]
pub struct BareNetwork {
    /// The network by numbers.
    pub network: Network,
    /// Name of each node, numbered as they first appear.
    pub node_names: Vec<String>,
    /// Id of each element.
    pub element_ids: Vec<String>,
}

/// The operating point by names.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BareSolution {
    /// See [`Solution::converged`].
    pub converged: bool,
    /// Short name of the reason if not.
    pub reason: Option<&'static str>,
    /// The same as a sentence.
    pub message: Option<String>,
    /// How many times the demanded constant power the supply could carry, cut-offs left aside.
    pub margin: Option<f64>,
    /// Volt by node.
    pub node_volts: BTreeMap<String, f64>,
    /// Ampere by element; elements off or dropped are absent. Parallel elements without resistance stand
    /// under their ids joined by `+`, with their sum.
    pub currents: BTreeMap<String, f64>,
    /// `on`, `off` or `limit` of each diode and alternator; an alternator that regulates is `on`.
    pub states: BTreeMap<String, &'static str>,
    /// Loads that cannot run, in the order in which they went off.
    pub dropped: Vec<String>,
    /// Why, in words, by element.
    pub drop_reasons: BTreeMap<String, &'static str>,
    /// What hangs together.
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
    /// Reads a network from JSON text.
    pub fn parse(text: &str) -> Result<Self, BareError> {
        let value: Value =
            serde_json::from_str(text).map_err(|e| BareError::Json(e.to_string()))?;
        Self::from_value(&value)
    }

    /// Reads a network from JSON already taken apart.
    pub fn from_value(value: &Value) -> Result<Self, BareError> {
        let reference = text_at(value, "reference", "the name of a node")?;
        let mut reader = Reader::default();
        for (place, element) in list_at(value, "elements", "a list of elements")?
            .iter()
            .enumerate()
        {
            reader.element(place, element)?;
        }
        let mut bare = reader.bare;
        for id in value.get("off").map_or(Ok(&[][..]), |_| {
            list_at(value, "off", "a list of element ids")
        })? {
            let id = id
                .as_str()
                .ok_or_else(|| wrong("off", Some(id), "a list of element ids"))?;
            let at = reader
                .element_at
                .get(id)
                .ok_or_else(|| BareError::UnknownOff { id: id.into() })?;
            bare.network.elements[*at].off = true;
        }
        bare.network.reference =
            *reader
                .node_at
                .get(reference)
                .ok_or_else(|| BareError::UnknownReference {
                    node: reference.into(),
                })?;
        bare.network.check().map_err(|e| bare.named(e))?;
        Ok(bare)
    }

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

    /// An error about an element by number as one about the element by name.
    fn named(&self, error: NetworkError) -> BareError {
        let NetworkError::Value {
            element,
            field,
            value,
            wanted,
        } = error
        else {
            return error.into();
        };
        let field = match field {
            "emf_v" => "emf",
            "vf_v" => "vf",
            other => other,
        };
        BareError::ElementField {
            id: self.element_ids[element].clone(),
            field,
            found: value.to_string(),
            wanted,
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

fn shown(found: Option<&Value>) -> String {
    found.map_or_else(|| "nothing".into(), Value::to_string)
}

fn wrong(field: &str, found: Option<&Value>, wanted: &'static str) -> BareError {
    BareError::Field {
        field: field.into(),
        found: shown(found),
        wanted,
    }
}

fn text_at<'v>(value: &'v Value, field: &str, wanted: &'static str) -> Result<&'v str, BareError> {
    let found = value.get(field);
    found
        .and_then(Value::as_str)
        .ok_or_else(|| wrong(field, found, wanted))
}

fn list_at<'v>(
    value: &'v Value,
    field: &str,
    wanted: &'static str,
) -> Result<&'v [Value], BareError> {
    let found = value.get(field);
    found
        .and_then(Value::as_array)
        .map(Vec::as_slice)
        .ok_or_else(|| wrong(field, found, wanted))
}

/// Numbers names as they come.
struct Reader {
    bare: BareNetwork,
    node_at: BTreeMap<String, usize>,
    element_at: BTreeMap<String, usize>,
}

impl Default for Reader {
    fn default() -> Self {
        let bare = BareNetwork {
            network: Network::default(),
            node_names: Vec::new(),
            element_ids: Vec::new(),
        };
        Self {
            bare,
            node_at: BTreeMap::new(),
            element_at: BTreeMap::new(),
        }
    }
}

/// One element of the file with the id its errors speak of.
struct Fields<'v> {
    id: &'v str,
    map: &'v Map<String, Value>,
}

impl Fields<'_> {
    fn wrong(&self, field: &'static str, wanted: &'static str) -> BareError {
        BareError::ElementField {
            id: self.id.into(),
            field,
            found: shown(self.map.get(field)),
            wanted,
        }
    }

    fn number(&self, field: &'static str) -> Result<f64, BareError> {
        self.map
            .get(field)
            .and_then(Value::as_f64)
            .ok_or_else(|| self.wrong(field, "a number"))
    }

    fn text(&self, field: &'static str, wanted: &'static str) -> Result<&str, BareError> {
        self.map
            .get(field)
            .and_then(Value::as_str)
            .ok_or_else(|| self.wrong(field, wanted))
    }

    fn law(&self) -> Result<Law, BareError> {
        Ok(match self.text("type", "one of the types of element")? {
            "resistor" => Law::Resistor {
                ohm: self.number("ohm")?,
            },
            "ideal" => Law::Ideal,
            "load_r" => Law::LoadResistance {
                ohm: self.number("ohm")?,
            },
            "load_i" => Law::LoadCurrent {
                amp: self.number("amp")?,
                v_cut: self.number("v_cut")?,
            },
            "load_p" => Law::LoadPower {
                watt: self.number("watt")?,
                v_cut: self.number("v_cut")?,
            },
            "battery" => Law::Battery {
                emf_v: self.number("emf")?,
                ohm: self.number("ohm")?,
                charge_ohm: self
                    .map
                    .get("charge_ohm")
                    .map(|_| self.number("charge_ohm"))
                    .transpose()?,
            },
            "alternator" => Law::Alternator {
                v_set: self.number("v_set")?,
                ohm_reg: self.number("ohm_reg")?,
                i_max: self.number("i_max")?,
            },
            "diode" => Law::Diode {
                vf_v: self.number("vf")?,
                ohm: self.number("ohm")?,
            },
            "isource" => Law::CurrentSource {
                amp: self.number("amp")?,
            },
            found => {
                return Err(BareError::UnknownType {
                    id: self.id.into(),
                    found: found.into(),
                });
            }
        })
    }

    /// Names of the two terminal fields.
    fn terminals(law: &Law) -> (&'static str, &'static str) {
        match law {
            Law::Battery { .. } | Law::Alternator { .. } => ("pos", "neg"),
            _ => ("a", "b"),
        }
    }
}

impl Reader {
    fn element(&mut self, place: usize, value: &Value) -> Result<(), BareError> {
        let field = || format!("elements[{place}]");
        let map = value
            .as_object()
            .ok_or_else(|| wrong(&field(), Some(value), "an element"))?;
        let found = map.get("id");
        let id = found
            .and_then(Value::as_str)
            .ok_or_else(|| wrong(&format!("{}.id", field()), found, "the id of the element"))?;
        let fields = Fields { id, map };
        let law = fields.law()?;
        let (a, b) = Fields::terminals(&law);
        let a = self.node(fields.text(a, "the name of a node")?);
        let b = self.node(fields.text(b, "the name of a node")?);
        if self.element_at.insert(id.into(), place).is_some() {
            return Err(BareError::DuplicateId { id: id.into() });
        }
        self.bare.element_ids.push(id.into());
        self.bare.network.elements.push(Element {
            law,
            a,
            b,
            off: false,
        });
        Ok(())
    }

    fn node(&mut self, name: &str) -> usize {
        if let Some(&node) = self.node_at.get(name) {
            return node;
        }
        let node = self.bare.network.node_count;
        self.bare.network.node_count += 1;
        self.bare.node_names.push(name.into());
        self.node_at.insert(name.into(), node);
        node
    }
}
