//! What a person calls a place, and the record that a part of the circuit stands for.

use petgraph::graph::NodeIndex;

use super::Facts;
use crate::{
    document::End,
    ids::WireId,
    markup::seen,
    netlist::{EdgeOf, Point},
    rules::{At, Spot},
};

impl Facts<'_> {
    /// What a person calls a node of the circuit.
    pub fn node_label(&self, node: NodeIndex) -> String {
        match self.netlist().point(node) {
            Point::Terminal(device, terminal) => self.label((device, terminal)),
            Point::Splice(splice) => self.label(splice),
            Point::Structure(place) => format!("the metal of {}", self.label(place)),
            Point::Shield(cable, _) => format!("the shield of {}", self.label(cable)),
            Point::WireOpen(wire, _) | Point::InFuse(wire) => self.label(wire),
        }
    }

    /// The record that an edge of the circuit stands for.
    pub fn spot_of(edge: &EdgeOf) -> Spot<'_> {
        match edge {
            EdgeOf::Wire(wire) | EdgeOf::InlineFuse(wire) => Spot::Wire(wire),
            EdgeOf::Shield(cable) | EdgeOf::ShieldEnd(cable, _) => Spot::Cable(cable),
            EdgeOf::Element(device, element, _) => Spot::Element(device, element),
            EdgeOf::Bond(place) => Spot::Place(place),
        }
    }

    /// The place with its label, as findings carry it.
    pub fn at<'a>(&self, spot: impl Into<Spot<'a>>) -> At {
        let (kind, id) = match spot.into() {
            Spot::Device(id) => ("device", id.to_string()),
            Spot::Terminal(device, terminal) => ("terminal", format!("{device}/{terminal}")),
            Spot::Element(device, element) => ("element", format!("{device}/{element}")),
            Spot::Wire(id) => ("wire", id.to_string()),
            Spot::Cable(id) => ("cable", id.to_string()),
            Spot::Splice(id) => ("splice", id.to_string()),
            Spot::Place(id) => ("place", id.to_string()),
            Spot::State(id) => ("state", id.to_string()),
            Spot::Accepted(id) => ("accepted", id.to_string()),
        };
        let label = seen(&self.document.record_label(kind, &id)).into_owned();
        At { kind, id, label }
    }

    /// What a person calls it.
    pub fn label<'a>(&self, spot: impl Into<Spot<'a>>) -> String {
        self.at(spot).label
    }

    /// What a person calls this end.
    pub fn end_label(&self, end: &End) -> String {
        self.document.end_label(end)
    }

    /// A wire by its ends: "the wire from COM1 J105-1 to MBUS CB22".
    pub fn run(&self, wire: &WireId) -> String {
        match self.wire(wire) {
            Some(wire) => format!(
                "the wire from {} to {}",
                self.end_label(&wire.from),
                self.end_label(&wire.to)
            ),
            None => format!("the wire {wire}"),
        }
    }
}
