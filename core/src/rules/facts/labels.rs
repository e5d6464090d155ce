//! What a person calls a place, and the record behind a part of the circuit.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::Facts;
use crate::{
    document::End,
    ids::WireId,
    markup::seen,
    netlist::{EdgeOf, Point},
    rules::{Location, Subject},
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

    /// The record behind an edge of the circuit.
    pub fn subject_of(edge: &EdgeOf) -> Subject<'_> {
        match edge {
            EdgeOf::Wire(wire) | EdgeOf::InlineFuse(wire) => Subject::Wire(wire),
            EdgeOf::Shield(cable) | EdgeOf::ShieldEnd(cable, _) => Subject::Cable(cable),
            EdgeOf::Element(device, element, _) => Subject::Element(device, element),
            EdgeOf::Bond(place) => Subject::Place(place),
        }
    }

    /// The place with its label, as findings carry it.
    pub fn at<'a>(&self, spot: impl Into<Subject<'a>>) -> Location {
        let (kind, id) = spot.into().place();
        let label = seen(&self.document.record_label(kind, &id)).into_owned();
        Location { kind, id, label }
    }

    /// What a person calls it.
    pub fn label<'a>(&self, spot: impl Into<Subject<'a>>) -> String {
        self.at(spot).label
    }

    /// Why a check of a breaker or fuse is not done: "the rating of CB1 is missing".
    pub fn rating_missing(&self, protector: EdgeIndex) -> String {
        let of = self.netlist().of(protector);
        let label = self.label(Self::subject_of(of));
        match of {
            EdgeOf::InlineFuse(_) => format!("the rating of the fuse in {label} is missing"),
            _ => format!("the rating of {label} is missing"),
        }
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
