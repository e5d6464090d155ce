//! What wires are built together: those of one route, or, where none is drawn, those that run between
//! the same two places.

use crate::document::{Device, Document, End, Place, Wire};

/// The harness of a wire, as a person names it: "tunnel, left", "Firewall to Instrument panel",
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
        // The same either way round.
        (Some(a), Some(b)) if a < b => format!("{a} to {b}"),
        (Some(a), Some(b)) => format!("{b} to {a}"),
        (Some(a), None) | (None, Some(a)) => format!("{a} to a place not given"),
        (None, None) => "no place given".into(),
    }
}

/// The routes a wire lies in, by name.
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
