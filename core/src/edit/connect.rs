//! A new wire from one point to another, and a wire put to another point.

use super::{Change, EditError, Key, Record, copy::put_one, free};
use crate::{
    document::{Document, End, Role, Wire, WireEnd},
    ids::WireId,
    units::Gauge,
};

/// Draws a wire from one point to another. It takes gauge, insulation and colour from a wire that is
/// already at one of its ends, and where it goes on from one, the next segment letter; else it is
/// white (black for a return) and AWG 20 (AWG 22 for a signal; common practice, no source). A person
/// changes them in the details.
pub fn connect(document: &Document, from: End, to: End) -> Result<Change, EditError> {
    if from == to {
        return Err(same_point(document, &from));
    }
    let key = Key::Wire(free::key(&document.wires, "w1"));
    let wire = new_wire(document, from, to);
    put_one(document, key, Record::Wire(wire))
}

/// Puts one end of a wire to another point.
pub fn set_end(
    document: &Document,
    id: &WireId,
    which: WireEnd,
    end: &End,
) -> Result<Change, EditError> {
    let wire = document.wires.get(id).cloned();
    let mut wire = wire.ok_or_else(|| EditError::not_there("wire", id))?;
    match which {
        WireEnd::From => wire.from = end.clone(),
        WireEnd::To => wire.to = end.clone(),
    }
    if wire.from == wire.to && *end != End::Open {
        return Err(same_point(document, end));
    }
    put_one(document, Key::Wire(id.clone()), Record::Wire(wire))
}

fn same_point(document: &Document, end: &End) -> EditError {
    EditError::cannot(
        format!("both ends of the wire are at {}", document.end_label(end)),
        "choose another point for one of them",
    )
}

/// The wire that would be drawn between two points.
pub(super) fn new_wire(document: &Document, from: End, to: End) -> Wire {
    let roles = [&from, &to].map(|end| role(document, end));
    let neighbour = |end: &End| {
        let at = |wire: &&Wire| *end != End::Open && (wire.from == *end || wire.to == *end);
        // A wire with a number tells more than one without.
        let all = document.wires.values().filter(at);
        all.min_by_key(|wire| wire.number.is_empty())
    };
    // A splice carries the circuit on; so does a passive terminal, unless it is a common point.
    let goes_on_from = [&from, &to].into_iter().find_map(|end| match end {
        End::Splice(_) => neighbour(end),
        End::Terminal(..) if is_through(document, end) => neighbour(end),
        _ => None,
    });
    let like = goes_on_from.or_else(|| neighbour(&from).or_else(|| neighbour(&to)));
    let is_return = roles.contains(&Some(Role::Return)) || matches!(to, End::Structure(_));
    let (gauge_awg, insulation_c) = match (goes_on_from, like) {
        (Some(wire), _) => (wire.gauge_awg, wire.insulation_c),
        (None, Some(wire)) => (usual_gauge(&roles), wire.insulation_c),
        (None, None) => (usual_gauge(&roles), None),
    };
    let colour = match goes_on_from {
        Some(wire) => wire.colour.clone(),
        None if is_return => "black".into(),
        None => "white".into(),
    };
    let number = free::wire_number(document, goes_on_from);
    Wire {
        number,
        insulation_c,
        colour,
        ..Wire::between(from, to, gauge_awg)
    }
}

fn role(document: &Document, end: &End) -> Option<Role> {
    let End::Terminal(device, terminal) = end else {
        return None;
    };
    let device = document.devices.get(device)?;
    Some(device.terminal(terminal)?.role)
}

/// True for a pin of an in-line connector: the wire beyond it is the same circuit.
fn is_through(document: &Document, end: &End) -> bool {
    end.device()
        .and_then(|id| document.devices.get(id))
        .is_some_and(|device| device.kind == crate::document::DeviceKind::InlineConnector)
}

fn usual_gauge(roles: &[Option<Role>]) -> Gauge {
    let is_signal = roles.iter().flatten().any(|role| {
        !matches!(
            role,
            Role::Passive | Role::PowerIn | Role::PowerOut | Role::Return | Role::Spare
        )
    });
    Gauge(if is_signal { 22 } else { 20 })
}
