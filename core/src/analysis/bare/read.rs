//! Reads a bare network. Errors name the element and the field.

use std::collections::BTreeMap;

use serde_json::{Map, Value};

use super::{BareError, BareNetwork};
use crate::solve::{Element, Law, Network, NetworkError};

impl BareNetwork {
    /// Reads a network from JSON text.
    pub fn parse(text: &str) -> Result<Self, BareError> {
        let value: Value =
            serde_json::from_str(text).map_err(|e| BareError::Json(e.to_string()))?;
        Self::from_value(&value)
    }

    /// Reads a network from a JSON value.
    pub fn from_value(value: &Value) -> Result<Self, BareError> {
        network(value)
    }
}

fn network(value: &Value) -> Result<BareNetwork, BareError> {
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
    bare.network.check().map_err(|e| named(&bare, e))?;
    Ok(bare)
}

/// Converts an error about an element's number to one about its name.
fn named(bare: &BareNetwork, error: NetworkError) -> BareError {
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
        id: bare.element_ids[element].clone(),
        field,
        found: value.to_string(),
        wanted,
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

/// Numbers names in order of appearance.
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

/// One element of the file, with the id used in its errors.
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
