//! A new wire from one point to another, and a wire put to another point.

use super::{
    Change, EditError, Key, Record,
    copy::{on_copy, put_one},
    free,
};
use crate::{
    document::{Document, End, Role, Wire, WireEnd},
    ids::WireId,
};

/// Draws a wire from one point to another. A wire that continues another takes its gauge, insulation and color, and
/// the next segment letter. Otherwise it is white (black for a return), and its gauge and insulation are not set.
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
        // A wire with a number says more than one without.
        let all = document.wires.values().filter(at);
        all.min_by_key(|wire| wire.number.is_empty())
    };
    // A splice carries the circuit on; so does a passive terminal, unless it is a common point.
    let goes_on_from = [&from, &to].into_iter().find_map(|end| match end {
        End::Splice(_) => neighbour(end),
        End::Terminal(..) if is_through(document, end) => neighbour(end),
        _ => None,
    });
    let is_return = roles.contains(&Some(Role::Return)) || matches!(to, End::Structure(_));
    let colour = match goes_on_from {
        Some(wire) => wire.colour.clone(),
        None if is_return => "black".into(),
        None => "white".into(),
    };
    let number = free::wire_number(document, goes_on_from);
    let mut wire = Wire {
        number,
        gauge_awg: goes_on_from.and_then(|wire| wire.gauge_awg),
        insulation_c: goes_on_from.and_then(|wire| wire.insulation_c),
        colour,
        ..Wire::between(from, to)
    };
    for field in ["gauge_awg", "insulation_c"] {
        let origin = goes_on_from.and_then(|it| it.origins.of(field));
        wire.origins.set(field, origin);
    }
    wire
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

/// Draws a wire between each pair of points, as one step.
pub fn connect_all(document: &Document, pairs: &[(End, End)]) -> Result<Change, EditError> {
    on_copy(document, |copy| {
        for (from, to) in pairs {
            if from == to {
                return Err(same_point(copy, from));
            }
            let wire = new_wire(copy, from.clone(), to.clone());
            let id: WireId = free::key(&copy.wires, "w1");
            copy.wires.insert(id, wire);
        }
        Ok(())
    })
}

/// The pin that follows one in its connector, or among the loose terminals of its device, and takes one
/// more wire.
pub fn next_pin(document: &Document, end: &End) -> Option<End> {
    let End::Terminal(id, terminal) = end else {
        return None;
    };
    let device = document.devices.get(id)?;
    let at = device.terminals.iter().position(|it| it.id == *terminal)?;
    let connector = &device.terminals[at].connector;
    let mut following = device.terminals[at + 1..].iter();
    following.find_map(|it| {
        let end = End::Terminal(id.clone(), it.id.clone());
        (it.connector == *connector && has_room(document, &end)).then_some(end)
    })
}

/// True for a terminal that takes one more wire.
pub(super) fn has_room(document: &Document, end: &End) -> bool {
    let End::Terminal(id, terminal) = end else {
        return false;
    };
    let device = document.devices.get(id);
    let Some(terminal) = device.and_then(|device| device.terminal(terminal)) else {
        return false;
    };
    let ends = document.wires.values().flat_map(|it| [&it.from, &it.to]);
    ends.filter(|it| *it == end).count() < terminal.fits() as usize
}

/// Draws a wire like this one between the pins that follow its ends, with the next number. An end
/// without a pin to follow it, a splice, metal or the last pin of a bar, stays.
///
/// # Errors
/// [`EditError::Cannot`] if no pin follows either end.
pub fn repeat(document: &Document, id: &WireId) -> Result<Change, EditError> {
    let wire = document.wires.get(id);
    let wire = wire.ok_or_else(|| EditError::not_there("wire", id))?;
    let ends = [&wire.from, &wire.to];
    let next = ends.map(|end| next_pin(document, end));
    if next.iter().all(Option::is_none) {
        return Err(EditError::cannot(
            "no free pin follows either end of the wire",
            "draw the next one from pin to pin",
        ));
    }
    let [from, to] = next;
    let again = Wire {
        number: free::number_after(document, None, &wire.number),
        from: from.unwrap_or_else(|| wire.from.clone()),
        to: to.unwrap_or_else(|| wire.to.clone()),
        status: crate::document::BuildStatus::Planned,
        ..wire.clone()
    };
    if again.from == again.to {
        return Err(same_point(document, &again.from));
    }
    let key = Key::Wire(free::key(&document.wires, "w1"));
    put_one(document, key, Record::Wire(again))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::document;
    use crate::units::Gauge;

    const UNITS: &str = "
        unit COM1 P1 P2 P3 P4
        unit IC1 Q1 Q2 Q3
        wire A1A22 COM1.P1 IC1.Q1 22 1.5m
        wire A9 COM1.P3 IC1.Q3";

    #[test]
    fn pins_are_wired_in_order_as_one_step() {
        let mut document = document("unit COM1 P1 P2 P3\n unit IC1 Q1 Q2 Q3");
        let pair = |n: usize| {
            let [from, to] = [("COM1", "P"), ("IC1", "Q")]
                .map(|(device, pin)| End::terminal(device, format!("{pin}{n}")));
            (from, to)
        };
        let change = connect_all(&document, &[pair(1), pair(2), pair(3)]).expect("sound pairs");
        change.apply(&mut document).expect("made for this");
        let numbers: Vec<_> = document.wires.values().map(|it| &it.number).collect();
        assert_eq!(numbers, ["W1", "W2", "W3"]);
        let twice = connect_all(&document, &[pair(1), (pair(1).0, pair(1).0)]);
        assert!(twice.is_err(), "and none of them if one cannot be");
    }

    #[test]
    fn a_gauge_that_nobody_gave_is_not_set() {
        let document =
            document("unit COM1 P1 P2\n unit IC1 Q1 Q2\n splice SP1\n wire A1 COM1.P2 SP1 18");
        let end = |device, pin| End::terminal(device, pin);
        let drawn = new_wire(&document, end("COM1", "P1"), end("IC1", "Q1"));
        assert_eq!(
            (drawn.gauge_awg, drawn.size().as_str()),
            (None, "gauge not set")
        );
        let goes_on = new_wire(&document, End::Splice("SP1".into()), end("IC1", "Q2"));
        assert_eq!(goes_on.gauge_awg, Some(Gauge(18)), "as the wire it joins");
        // What an earlier program assumed, and said in the note, is not set either.
        let mut old = Wire {
            gauge_awg: Some(Gauge(20)),
            note: "Gauge not chosen: 20 AWG is assumed".into(),
            ..drawn
        };
        old.drop_assumed_gauge();
        assert_eq!((old.gauge_awg, old.note.as_str()), (None, ""));
        old.gauge_awg = Some(Gauge(20));
        old.drop_assumed_gauge();
        assert_eq!(old.gauge_awg, Some(Gauge(20)));
    }

    #[test]
    fn a_wire_is_repeated_for_the_next_free_pins() {
        let mut document = document(UNITS);
        let change = repeat(&document, &"A1A22".into()).expect("free pins follow");
        let Some(Key::Wire(id)) = change.added().next().cloned() else {
            panic!("no new wire")
        };
        change.apply(&mut document).expect("made for this");
        let wire = &document.wires[&id];
        assert_eq!(wire.number, "A2A22");
        let ends = [&wire.from, &wire.to].map(|end| document.end_label(end));
        assert_eq!(ends, ["COM1 P2", "IC1 Q2"]);
        assert_eq!(wire.length_m, Some(1.5));
        // P3 is wired, so P4 is next; after Q2 no pin is free, so the end stays.
        let change = repeat(&document, &id).expect("a free pin follows one end");
        change.apply(&mut document).expect("made for this");
        let wire = (document.wires.values()).find(|it| it.number == "A3A22");
        let wire = wire.expect("the next number");
        let ends = [&wire.from, &wire.to].map(|end| document.end_label(end));
        assert_eq!(ends, ["COM1 P4", "IC1 Q2"]);
        let last = repeat(&document, &"A9".into());
        assert!(last.is_err(), "every pin after P3 and Q3 is wired");
    }
}
