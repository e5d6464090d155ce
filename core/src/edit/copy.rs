//! Edits of several records work on a copy, which is compared with the original afterwards. A copy of a document of
//! 5,000 wires costs a few milliseconds, once an edit; in return no such edit can omit a record from its change, or
//! leave a reference to a missing record. Frequent edits change one record and need no copy.

use super::{Change, EditError, Key, Record};
use crate::{
    document::{Document, ElementKind, End, ShieldEnd, Shown, invariants},
    ids::TerminalId,
};

/// The change that `edit` makes to a copy of the document.
///
/// # Errors
/// The error of `edit`, or [`EditError::Breaks`] if the copy is no longer a valid document.
pub(super) fn on_copy(
    document: &Document,
    edit: impl FnOnce(&mut Document) -> Result<(), EditError>,
) -> Result<Change, EditError> {
    let mut copy = document.clone();
    edit(&mut copy)?;
    match invariants::broken(&copy).into_iter().next() {
        Some(broken) => Err(EditError::Breaks(broken)),
        None => Ok(Change::between(document, &copy)),
    }
}

/// The change that sets one record, when nothing else in the document depends on it: neither its place in a cable
/// nor a reference to one of its parts.
///
/// # Errors
/// [`EditError::Breaks`] if the record is not valid.
pub(super) fn put_one(document: &Document, key: Key, record: Record) -> Result<Change, EditError> {
    match invariants::broken_record(document, &key, &record)
        .into_iter()
        .next()
    {
        Some(broken) => Err(EditError::Breaks(broken)),
        None => Ok(Change::set(document, key, Some(record))),
    }
}

/// The document without references to missing records.
pub fn settled(mut document: Document) -> Document {
    let_go(&mut document);
    document
}

/// Removes references to missing records: ends become open, shields are cut back, items leave their sheets, phases
/// drop the entry.
pub(super) fn let_go(document: &mut Document) {
    let whole = document.clone();
    let has = |end: &End| match end {
        End::Terminal(device, terminal) => has_terminal(&whole, device.as_str(), terminal),
        End::Splice(id) => whole.splices.contains_key(id),
        End::Structure(id) => whole.places.contains_key(id),
        End::Open => true,
    };
    for wire in document.wires.values_mut() {
        for end in [&mut wire.from, &mut wire.to] {
            if !has(end) {
                *end = End::Open;
            }
        }
        wire.route.retain(|id| {
            whole.routes.get(id).is_some_and(|route| {
                whole.places.contains_key(&route.from) && whole.places.contains_key(&route.to)
            })
        });
        wire.via.retain(|id| whole.places.contains_key(id));
    }
    for cable in document.cables.values_mut() {
        cable.wires.retain(|id| whole.wires.contains_key(id));
        for end in cable
            .shield
            .iter_mut()
            .flat_map(|s| [&mut s.from, &mut s.to])
        {
            if end.at().is_some_and(|at| !has(at)) {
                *end = ShieldEnd::Floating;
            }
        }
    }
    document.cables.retain(|_, cable| !cable.wires.is_empty());
    document.routes.retain(|_, route| {
        whole.places.contains_key(&route.from) && whole.places.contains_key(&route.to)
    });
    let device_places = document
        .devices
        .values_mut()
        .map(|device| &mut device.place);
    let splice_places = document
        .splices
        .values_mut()
        .map(|splice| &mut splice.place);
    let bonds = document
        .places
        .values_mut()
        .map(|place| &mut place.bonded_to);
    for place in device_places.chain(splice_places).chain(bonds) {
        place.take_if(|id| !whole.places.contains_key(id));
    }
    // A reading at a removed point no longer belongs to this wiring.
    (document.readings).retain(|_, reading| has(&reading.from) && has(&reading.to));
    let_go_on_sheets(document, &whole);
    let_go_in_states(document, &whole);
}

fn has_terminal(document: &Document, device: &str, terminal: &TerminalId) -> bool {
    (document.devices.get(device)).is_some_and(|device| device.terminal(terminal).is_some())
}

fn let_go_on_sheets(document: &mut Document, whole: &Document) {
    for sheet in document.sheets.values_mut() {
        sheet.held.retain(|wire, _| whole.wires.contains_key(wire));
        sheet.items.retain(|_, item| match &mut item.shows {
            Shown::Device {
                device, terminals, ..
            } => {
                let showed_all = terminals.is_empty();
                terminals.retain(|terminal| has_terminal(whole, device.as_str(), terminal));
                whole.devices.contains_key(device) && (showed_all || !terminals.is_empty())
            }
            Shown::Splice(id) => whole.splices.contains_key(id),
            Shown::Structure(id) => whole.places.contains_key(id),
        });
    }
}

fn let_go_in_states(document: &mut Document, whole: &Document) {
    let element = |key: &str| whole.element_at(key).map(|(_, _, element)| &element.is);
    for state in document.states.values_mut() {
        state.switches.retain(|key, position| match element(key) {
            Some(ElementKind::Switch(switch)) => *position < switch.positions.len(),
            _ => false,
        });
        (state.pulled).retain(|key| matches!(element(key), Some(ElementKind::Protector(_))));
        (state.loads).retain(|key, _| matches!(element(key), Some(ElementKind::Load(_))));
    }
}
