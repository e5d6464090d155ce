//! Which wires are built together as a harness (those of one route, or without a route those between the same
//! two places), which wires end at each terminal, and names of switch positions.

use crate::order::InOrder;
use crate::{
    document::{Device, Document, ElementKind, End, Place, Wire, natural_cmp},
    ids::WireId,
    order::Map,
};

/// The name of a wire's harness: "tunnel, left", "Firewall to Instrument panel",
/// "within Cabin".
pub fn harness(document: &Document, wire: &Wire) -> String {
    let routes = bundles(document, wire);
    if !routes.is_empty() {
        return routes.join(" + ");
    }
    let title = |end| place(document, end).map(|place| place.title.as_str());
    let [a, b] = [&wire.from, &wire.to].map(title);
    match (a, b) {
        (Some(a), Some(b)) if a == b => format!("within {a}"),
        // The same for both directions.
        (Some(a), Some(b)) if a < b => format!("{a} to {b}"),
        (Some(a), Some(b)) => format!("{b} to {a}"),
        (Some(a), None) | (None, Some(a)) => format!("{a} to a place not set"),
        (None, None) => "place not set".into(),
    }
}

/// The titles of a wire's routes.
pub fn bundles(document: &Document, wire: &Wire) -> Vec<String> {
    let routes = wire.route.iter().filter_map(|id| document.routes.get(id));
    routes.map(|route| route.title.clone()).collect()
}

/// The place of an end.
pub fn place<'d>(document: &'d Document, end: &'d End) -> Option<&'d Place> {
    let id = match end {
        End::Terminal(id, _) => document.devices.get(id)?.place.as_ref()?,
        End::Splice(id) => document.splices.get(id)?.place.as_ref()?,
        End::Structure(id) => id,
        End::Open => return None,
    };
    document.places.get(id)
}

/// The device of an end.
pub fn device<'d>(document: &'d Document, end: &End) -> Option<&'d Device> {
    document.devices.get(end.device()?)
}

/// Every wire, in the order of its number.
pub fn in_order(document: &Document) -> Vec<(&WireId, &Wire)> {
    let mut wires: Vec<_> = document.wires.iter().collect();
    wires.order_by(|(a_id, a), (b_id, b)| {
        natural_cmp(&a.number, &b.number).then_with(|| a_id.cmp(b_id))
    });
    wires
}

/// What ends at each terminal.
pub struct Ends<'d> {
    wires: Map<&'d End, Vec<(&'d WireId, &'d Wire, &'d End)>>,
    shields: Map<&'d End, Vec<&'d str>>,
}

impl<'d> Ends<'d> {
    /// All ends of a document, wires by number.
    pub fn new(document: &'d Document) -> Self {
        let (mut wires, mut shields): (Map<_, Vec<_>>, Map<_, Vec<_>>) = (Map::new(), Map::new());
        for (id, wire) in in_order(document) {
            for (end, far) in [(&wire.from, &wire.to), (&wire.to, &wire.from)] {
                wires.or_default(end).push((id, wire, far));
            }
        }
        for cable in document.cables.values() {
            let Some(shield) = &cable.shield else {
                continue;
            };
            for end in [&shield.from, &shield.to] {
                if let Some(end) = end.at() {
                    shields.or_default(end).push(cable.label.as_str());
                }
            }
        }
        Self { wires, shields }
    }

    /// Wires at an end, with their far ends.
    pub fn at(&self, end: &End) -> &[(&'d WireId, &'d Wire, &'d End)] {
        self.wires.get(end).map_or(&[], Vec::as_slice)
    }

    /// Cables whose shields end here.
    pub fn shields_at(&self, end: &End) -> &[&'d str] {
        self.shields.get(end).map_or(&[], Vec::as_slice)
    }

    /// True if a wire or shield ends here.
    pub fn is_used(&self, end: &End) -> bool {
        !self.at(end).is_empty() || !self.shields_at(end).is_empty()
    }

    /// The wires and shields that end here, in one line.
    pub fn described(&self, document: &Document, end: &End) -> String {
        let wires = self.at(end).iter().map(|(id, ..)| document.wire_label(id));
        let shields = self.shields_at(end).iter();
        let all: Vec<String> = wires
            .chain(shields.map(|label| format!("shield of {label}")))
            .collect();
        all.join(", ")
    }
}

/// "S5: ON".
pub(super) fn position(document: &Document, key: &str, at: usize) -> String {
    let label = document.record_label("element", key);
    let position = document
        .element_at(key)
        .and_then(|(.., element)| match &element.is {
            ElementKind::Switch(switch) => switch.positions.get(at),
            _ => None,
        });
    match position.map(|it| it.label.as_str()) {
        None | Some("") => format!("{label}: position {}", at + 1),
        Some(named) => format!("{label}: {named}"),
    }
}
